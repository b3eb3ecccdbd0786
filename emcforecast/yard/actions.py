"""What to do next with a stack: the values, and how a date is said."""

from dataclasses import dataclass
from datetime import date

from emcforecast.weather.series import MONTHS


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
    """Say a date, with its year where that is not plain.

    Examples
    --------
    >>> day_words(date(2026, 8, 24), date(2026, 5, 1))
    '24 August'
    >>> day_words(date(2027, 8, 24), date(2026, 5, 1))
    '24 August 2027'
    """
    month = MONTHS[day.month - 1]
    far = day.year != today.year and (abs((day - today).days) > 200)
    return f"{day.day} {month} {day.year}" if far else f"{day.day} {month}"
