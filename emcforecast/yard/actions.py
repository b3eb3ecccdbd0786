"""What to do next with a stack: the values, and how a date is said."""

from dataclasses import dataclass
from datetime import date

from emcforecast.weather.series import MONTHS

UNHURRIED = ("wait", "describe", "stack")
"""Kinds of action that nobody has to do this week."""


@dataclass(frozen=True)
class Action:
    """One thing to do.

    Parameters
    ----------
    kind : str
        A short lasting word: "weigh", "reading", "move", "bring-in", "ready", "wait",
        "risk", "stack", "describe", "late".
    day : date
        The day to do it, or by which.
    words : str
        What to do, without the stack's name: "move to the loft before 24 August".
    why : str
        The reason, in a sentence.
    remind_days : int
        Days ahead for the calendar's reminder.
    """

    kind: str
    day: date
    words: str
    why: str = ""
    remind_days: int = 0

    @property
    def in_calendar(self) -> bool:
        """Whether it is something to put on a day."""
        return self.kind not in ("risk", "wait", "describe", "late")


def day_words(day: date, today: date) -> str:
    """Say a date, with its year unless that is this one.

    Examples
    --------
    >>> day_words(date(2026, 8, 24), date(2026, 5, 1))
    '24 August'
    >>> day_words(date(2027, 1, 24), date(2026, 12, 1))
    '24 January 2027'
    """
    text = f"{day.day} {MONTHS[day.month - 1]}"
    return text if day.year == today.year else f"{text} {day.year}"


def span_words(first: date, last: date, today: date) -> str:
    """Say a span of days; a year that both ends share is said once.

    Examples
    --------
    >>> span_words(date(2027, 1, 24), date(2027, 3, 2), date(2026, 12, 1))
    '24 January to 2 March 2027'
    >>> span_words(date(2026, 12, 24), date(2027, 3, 2), date(2026, 12, 1))
    '24 December 2026 to 2 March 2027'
    """
    begins = f"{first.day} {MONTHS[first.month - 1]}"
    if first.year != last.year:
        begins += f" {first.year}"
    return f"{begins} to {day_words(last, today)}"


def when_words(action: Action, today: date) -> str:
    """Return an action's words with its day, where they do not hold one.

    Parameters
    ----------
    action : Action
    today : date

    Returns
    -------
    str
    """
    words = action.words
    if action.kind in UNHURRIED or any(month in words for month in MONTHS):
        return words
    if action.day > today:
        return f"{day_words(action.day, today)}: {words}"
    timed = action.kind in ("ready", "late") or " now" in words or "this week" in words
    return words if timed else f"now: {words}"
