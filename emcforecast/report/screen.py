"""How wide the reader's screen is, and words broken to fit it."""

import shutil
import textwrap

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


def wrapped(text: str, *, first: str = "", rest: str = "") -> str:
    """Break text at the width of the screen.

    Parameters
    ----------
    text : str
        A paragraph.
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
        width(),
        break_long_words=False,
        break_on_hyphens=False,
        initial_indent=first,
        subsequent_indent=rest,
    )
