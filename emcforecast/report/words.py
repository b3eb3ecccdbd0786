"""Small pieces of language the answers share."""

import shutil
import textwrap
from collections.abc import Sequence
from datetime import date, timedelta

from emcforecast.dates import MONTHS

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
        return "over 99 in 100"
    return f"{share} in 100" if share else "under 1 in 100"


SHORT_MONTHS = tuple(name[:3] for name in MONTHS)


def part_of_month(slot: int) -> str:
    """Name a day of a 365-day year the way people speak of it.

    Examples
    --------
    >>> part_of_month(0), part_of_month(205)
    ('early January', 'late July')
    """
    number = _day_of(slot).day
    part = "early" if number <= 10 else "mid" if number <= 20 else "late"
    return f"{part} {month_name(slot)}"


def month_name(slot: int) -> str:
    """Name the month of a day of a 365-day year."""
    return MONTHS[_day_of(slot).month - 1]


def _day_of(slot: int) -> date:
    return date(2001, 1, 1) + timedelta(days=int(slot) % 365)


def listed(words: Sequence[str], joint: str = "and") -> str:
    """Join words as in speech.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def capital(text: str) -> str:
    """Give a phrase a capital."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """Give a phrase a capital and a full stop."""
    text = text.strip()
    return (
        f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?', '!')) else '.'}"
    )
