"""Counts in words, for what was mended."""

from __future__ import annotations

import re
from collections.abc import Iterable


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


def added_up(groups: Iterable[Iterable[str]]) -> list[str]:
    """Add up equal sentences that hold a count.

    Parameters
    ----------
    groups : iterable of iterable of str
        Sentences of several parts.

    Returns
    -------
    list of str
        Each different sentence once, with the sum of its counts.

    Examples
    --------
    >>> added_up([["2 broken lines left out"], ["3 broken lines left out", "x"]])
    ['5 broken lines left out', 'x']
    """
    counts: dict[str, int | None] = {}
    for line in (line for group in groups for line in group):
        number = re.search(r"(?<![\w.])\d+(?![\w.%])", line)
        key = (
            line
            if number is None
            else f"{line[: number.start()]}{{}}{line[number.end() :]}"
        )
        before = counts.get(key, 0)
        counts[key] = None if number is None else (before or 0) + int(number.group())
    return [
        key if count is None else key.replace("{}", str(count), 1)
        for key, count in counts.items()
    ]
