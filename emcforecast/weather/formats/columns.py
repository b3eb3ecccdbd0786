"""Which column of a table is which, and what the table says of its place."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from emcforecast import bounds
from emcforecast.errors import WeatherError
from emcforecast.language import _, did_you_mean
from emcforecast.weather.formats.headers import (
    TEMPERATURES,
    UNITS,
    WORDS,
    Column,
    allowed_units,
    read_header,
)
from emcforecast.weather.formats.table import Table, parse_number, parse_numbers
from emcforecast.weather.hints import Hints
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, repair

#: Ours, and the words that stand for it, the surer first.
PLACE_WORDS = {
    "latitude": ("latitude", "lat"),
    "longitude": ("longitude", "lon", "long"),
    "elevation": ("elevation", "altitude"),
    "utc_offset": ("local time zone", "time zone", "timezone", "utc offset"),
}
_SINGLE = ("latitude", "longitude", "elevation")
_CLOCK_ONLY = r"\d{1,2}([:.h]\d{2}){1,2}(\s*[aApP]\.?[mM]\.?)?"
VALUES = tuple(name for name in WORDS if name not in ("site",))


def with_place(hints: Hints, table: Table, chosen: dict[str, int]) -> Hints:
    """Return the hints with what the table itself says of its place."""
    found: dict[str, float] = {}
    for name in _SINGLE:
        if name in chosen:
            values = parse_numbers(table.cells(chosen[name])[:1000]).values
            known = np.unique(values[np.isfinite(values)])
            if known.size == 1:
                found[name] = float(known[0])
    found = {
        **_place_in_lines(table.preamble),
        **_place_in_pairs(table.preamble),
        **found,
    }
    if "longitude" in found:
        found["longitude"] = (found["longitude"] + 180.0) % 360.0 - 180.0
    given = {n: v for n, v in found.items() if getattr(hints, n) is None}
    return replace(hints, **given)  # type: ignore[arg-type]


def _place_in_lines(lines: Sequence[str]) -> dict[str, float]:
    found = {}
    for name in _SINGLE:
        for line in lines:
            match = re.search(
                rf"(?i:{name})[^\d\-]{{0,20}}(-?\d+(?:\.\d+)?)\s*°?\s*([NSEW]\b)?", line
            )
            if match and abs(float(match[1])) <= bounds.PLACE[name][1]:
                side = -1.0 if match[2] in ("S", "W") else 1.0
                found[name] = side * float(match[1])
    return found


def _place_in_pairs(lines: Sequence[str]) -> dict[str, float]:
    """Read lines of values under lines of names, as data services write them.

    Examples
    --------
    >>> _place_in_pairs(["Country,Latitude,Local Time Zone", "-,40.01,-7"])
    {'latitude': 40.01, 'utc_offset': -7.0}
    """
    found: dict[str, float] = {}
    for above, below in pairwise(lines):
        names = [part.strip().lower() for part in re.split(r"[,;\t]", above)]
        cells = re.split(r"[,;\t]", below)
        for ours, words in PLACE_WORDS.items():
            at = next(
                (names.index(word) for word in words if word in names), len(cells)
            )
            if at >= len(cells):
                continue
            value, unit = parse_number(cells[at])
            if unit == "" and abs(value) <= bounds.PLACE[ours][1]:
                found[ours] = value
    return found


def choose_columns(
    table: Table, hints: Hints
) -> tuple[dict[str, int], dict[str, str | None], list[Repair]]:
    """Choose a column for every quantity the table holds."""
    chosen: dict[str, int] = {}
    units: dict[str, str | None] = {}
    repairs: list[Repair] = []
    taken = _columns_given(table.columns, hints)
    named = [column.quantity for column in table.columns if column.quantity]
    for quantity in dict.fromkeys((*named, *taken)):
        if quantity in taken:
            at = taken[quantity]
            units[quantity] = _unit_of(table.columns[at], quantity)
        else:
            free = [
                i
                for i, column in enumerate(table.columns)
                if column.quantity == quantity and i not in taken.values()
            ]
            if not free:
                continue
            at, doubtful = _choose_column(table, quantity, free)
            if doubtful:
                name = table.columns[at].name
                chosen_kind = RepairKind.COLUMN_CHOSEN
                repairs.append(repair(chosen_kind, None, quantity, column=name))
            units[quantity] = table.columns[at].unit
        chosen[quantity] = at
    return chosen, _with_preamble(units, table), repairs


def _with_preamble(units: dict[str, str | None], table: Table) -> dict[str, str | None]:
    """Add the temperature unit that a line above the table states."""
    for line in table.preamble:
        match = re.search(
            r"(?i)temp\w*[^a-z]*(?:unit|scale|einheit)\w*\W*(?:deg\w*\W*)?([cfk])", line
        )
        if match:
            unit = match[1].upper()
            return {
                name: stated or (unit if name in TEMPERATURES else None)
                for name, stated in units.items()
            }
    return units


def _unit_of(column: Column, quantity: str) -> str | None:
    if column.quantity == quantity:
        return column.unit
    allowed = allowed_units(quantity) or set()
    low = column.name.lower()
    for sign, unit in UNITS:
        if unit in allowed and re.search(rf"(?<![a-z]){re.escape(sign)}(?![a-z])", low):
            return unit
    return None


def _columns_given(columns: Sequence[Column], hints: Hints) -> dict[str, int]:
    names = {column.name.strip().lower(): i for i, column in enumerate(columns)}
    taken: dict[str, int] = {}
    for quantity, name in hints.columns:
        if quantity not in VALUES:
            raise WeatherError(
                _(
                    "'{quantity}' is nothing a weather file holds.{near}",
                    quantity=quantity,
                    near=did_you_mean(quantity, VALUES),
                )
            )
        if name.strip().lower() not in names:
            raise WeatherError(
                _(
                    "the file has no column '{name}'; its columns are {columns}",
                    name=name,
                    columns=", ".join(column.name for column in columns)[:200],
                )
            )
        taken[quantity] = names[name.strip().lower()]
    return taken


def _choose_column(table: Table, quantity: str, free: list[int]) -> tuple[int, bool]:
    """Return a column, and whether the choice is to be said."""
    columns = table.columns
    if len(free) == 1:
        return free[0], False
    if quantity in ("datetime", "date", "clock"):
        # A time that says UTC, in its name or its cells, beats one that does not.
        first = table.rows[0]
        whole = [i for i in free if not re.fullmatch(_CLOCK_ONLY, first[i].strip())]
        free = whole or free
        sure = [i for i in free if re.search(r"(?i)utc|gmt", columns[i].name)]
        sure += [i for i in free if re.search(r"\dZ\s*$", first[i])]
        return (sure or free)[0], False
    full = [i for i in free if any(_filled(row[i]) for row in table.rows[:500])]
    free = full or free
    outdoor = [i for i in free if columns[i].where == "outdoor"]
    indoor = [i for i in free if columns[i].where == "indoor"]
    if len(outdoor) == 1 and len(outdoor) + len(indoor) == len(free):
        return outdoor[0], True
    if len({columns[i].unit for i in free}) == len(free) and all(
        columns[i].unit for i in free
    ):
        best = next((i for i in free if columns[i].unit in ("C", "mm", "m/s")), free[0])
        return best, False
    exact = [i for i in free if _is_plain(columns[i].name, quantity)]
    if len(exact) == 1:
        return exact[0], True
    if len(free) == 1:
        return free[0], False
    if quantity not in ("air_temperature", "relative_humidity", "dew_point"):
        return free[0], True
    names = ", ".join(f"'{columns[i].name}'" for i in free)
    raise WeatherError(
        _(
            "several columns may be the {word}: {names}; choose one with "
            "--column {quantity}=NAME",
            word=_word(quantity),
            names=names,
            quantity=quantity,
        )
    )


def _filled(cell: str) -> bool:
    value, unit = parse_number(cell)
    return unit != "?" and value == value


def _is_plain(name: str, quantity: str) -> bool:
    bare = re.sub(r"[\(\[\{].*$", "", name).strip().lower()
    return bare in ("temp", "temperature", "air temperature", "humidity", "rh") and (
        read_header(bare).quantity == quantity
    )


def _word(quantity: str) -> str:
    return quantity_name(quantity.replace("air_temperature", "temperature"))
