"""Lines of words that fit a small screen, without loading anything heavy."""

import textwrap


def wrapped(text: str, *, first: str = "", rest: str = "") -> str:
    """Break text at 80 columns.

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
        80,
        break_long_words=False,
        break_on_hyphens=False,
        initial_indent=first,
        subsequent_indent=rest,
    )
