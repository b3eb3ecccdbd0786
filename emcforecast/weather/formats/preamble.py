"""What the lines above a table, or its own columns, say of the place."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from emcforecast.weather.formats.cells import parse_number, parse_numbers
from emcforecast.weather.formats.table import Table
from emcforecast.weather.hints import Hints

#: Ours, and the words that stand for it, the surer first.
WORDS = {
    "latitude": ("latitude", "lat"),
    "longitude": ("longitude", "lon", "long"),
    "elevation": ("elevation", "altitude"),
    "utc_offset": ("local time zone", "time zone", "timezone", "utc offset"),
}
_LIMITS = {
    "latitude": 90.0,
    "longitude": 360.0,
    "elevation": 9000.0,
    "utc_offset": 14.0,
}
_SINGLE = ("latitude", "longitude", "elevation")


def with_place(hints: Hints, table: Table, chosen: dict[str, int]) -> Hints:
    """Return the hints with what the table itself says of its place.

    Parameters
    ----------
    hints : Hints
        What the person said; it goes before what the table says.
    table : Table
        The table.
    chosen : dict of str to int
        Columns by quantity.

    Returns
    -------
    Hints
        latitude, longitude, elevation and utc_offset filled in where they are told by
        a column that does not change, by a line such as "Latitude: 45.2", or by a line
        of values under a line of names.
    """
    found: dict[str, float] = {}
    for name in _SINGLE:
        if name in chosen:
            values = parse_numbers(table.cells(chosen[name])[:1000]).values
            known = np.unique(values[np.isfinite(values)])
            if known.size == 1:
                found[name] = float(known[0])
    found = {**_in_lines(table.preamble), **_in_pairs(table.preamble), **found}
    if "longitude" in found:
        found["longitude"] = (found["longitude"] + 180.0) % 360.0 - 180.0
    given = {n: v for n, v in found.items() if getattr(hints, n) is None}
    return replace(hints, **given)  # type: ignore[arg-type]


def _in_lines(lines: Sequence[str]) -> dict[str, float]:
    found = {}
    for name in _SINGLE:
        for line in lines:
            match = re.search(
                rf"(?i:{name})[^\d\-]{{0,20}}(-?\d+(?:\.\d+)?)\s*°?\s*([NSEW]\b)?", line
            )
            if match and abs(float(match[1])) <= _LIMITS[name]:
                side = -1.0 if match[2] in ("S", "W") else 1.0
                found[name] = side * float(match[1])
    return found


def _in_pairs(lines: Sequence[str]) -> dict[str, float]:
    """Read lines of values under lines of names, as data services write them.

    Examples
    --------
    >>> _in_pairs(["Country,Latitude,Local Time Zone", "-,40.01,-7"])
    {'latitude': 40.01, 'utc_offset': -7.0}
    """
    found: dict[str, float] = {}
    for above, below in pairwise(lines):
        names = [part.strip().lower() for part in re.split(r"[,;\t]", above)]
        cells = re.split(r"[,;\t]", below)
        for ours, words in WORDS.items():
            at = next(
                (names.index(word) for word in words if word in names), len(cells)
            )
            if at >= len(cells):
                continue
            value, unit = parse_number(cells[at])
            if unit == "" and abs(value) <= _LIMITS[ours]:
                found[ours] = value
    return found
