"""Small pieces of language the answers share."""

from collections.abc import Sequence

import numpy as np

from emcforecast.dates import MONTHS
from emcforecast.report import screen

SHORT_MONTHS = tuple(name[:3] for name in MONTHS)


def part_of_month(slot: int) -> str:
    """Name a day of a 365-day year the way people speak of it.

    Examples
    --------
    >>> part_of_month(0), part_of_month(205)
    ('early January', 'late July')
    """
    day = np.datetime64("2001-01-01") + int(slot) % 365
    number = int(str(day)[8:10])
    part = "early" if number <= 10 else "mid" if number <= 20 else "late"
    return f"{part} {month_name(slot)}"


def month_name(slot: int) -> str:
    """Name the month of a day of a 365-day year."""
    day = np.datetime64("2001-01-01") + int(slot) % 365
    return MONTHS[int(str(day)[5:7]) - 1]


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


def wrapped(text: str, width: int | None = None) -> str:
    """Break a sentence at a width, or at that of the screen."""
    import textwrap

    return textwrap.fill(text, width or screen.width(), break_long_words=False)


def capital(text: str) -> str:
    """Give a phrase a capital."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """Give a phrase a capital and a full stop."""
    text = text.strip()
    return (
        f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?', '!')) else '.'}"
    )
