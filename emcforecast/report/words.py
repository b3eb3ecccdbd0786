"""Small pieces of language the answers share."""

import shutil
import textwrap
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Literal

from emcforecast import dates
from emcforecast.language import N_, _, p_

WIDEST, NARROWEST = 80, 30
TABLE = 78
"""Columns the widest tables take; below, they are laid out for a phone."""


def width() -> int:
    """Return the columns to write in: 80, or fewer on a narrower screen.

    Examples
    --------
    >>> NARROWEST <= width() <= WIDEST
    True
    """
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))


def is_narrow() -> bool:
    """Say whether a whole table does not fit the screen."""
    return width() < TABLE


def wrapped(
    text: str, columns: int | None = None, *, first: str = "", rest: str = ""
) -> str:
    """Break text at a width, or at that of the screen.

    Parameters
    ----------
    text : str
        A paragraph.
    columns : int, optional
        The width.
    first, rest : str
        What the first line and the others begin with.

    Returns
    -------
    str

    Examples
    --------
    >>> wrapped("dry it", first="1. ")
    '1. dry it'
    """
    return textwrap.fill(
        text,
        columns or width(),
        break_long_words=False,
        break_on_hyphens=False,
        initial_indent=first,
        subsequent_indent=rest,
    )


ENOUGH_YEARS = 8
"""Below so many weather years the lowest and highest are said, not 8 years in 10."""


def in_hundred(chance: float) -> str:
    """Return a chance in hundreds, rounded down; neither certainty is promised.

    Examples
    --------
    >>> in_hundred(0.896), in_hundred(1.0), in_hundred(0.0)
    ('89 in 100', 'over 99 in 100', 'under 1 in 100')
    """
    share = int(100.0 * chance + 1e-6)
    if share > 99:
        return _("over 99 in 100")
    return _("{share} in 100", share=share) if share else _("under 1 in 100")


def part_of_month(slot: int) -> str:
    """Name a day of a 365-day year the way people speak of it.

    Examples
    --------
    >>> part_of_month(0), part_of_month(205)
    ('early January', 'late July')
    """
    return dates.part_of_month(_day_of(slot))


def _day_of(slot: int) -> date:
    return date(2001, 1, 1) + timedelta(days=int(slot) % 365)


Joint = Literal["and", "and, of numbers", "or", "then", "and then"]
_LISTS: dict[Joint, str] = {
    "and": N_("{others} and {last}"),
    "and, of numbers": N_("{others} and {last}"),
    "or": N_("{others} or {last}"),
    "then": N_("{others} then {last}"),
    "and then": N_("{others} and then {last}"),
}


def listed(words: Sequence[str], joint: Joint = "and") -> str:
    """Join words as in speech.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    if len(words) < 2:
        return "".join(words)
    mark = p_("between numbers", ", ") if "numbers" in joint else ", "
    return _(_LISTS[joint], others=mark.join(words[:-1]), last=words[-1])


def capital(text: str) -> str:
    """Give a phrase a capital."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """Give a phrase a capital and a full stop."""
    text = text.strip()
    return (
        f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?', '!')) else '.'}"
    )
