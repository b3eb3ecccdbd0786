"""Counts in words, for what was mended."""

from __future__ import annotations


def plain_count(count: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun.

    Parameters
    ----------
    count : int
        How many.
    one, many : str
        The noun for one and for more (default: with an s).

    Returns
    -------
    str
        Such as "1 hour" or "3 hours".

    Examples
    --------
    >>> plain_count(1, "hour"), plain_count(3, "hour")
    ('1 hour', '3 hours')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
