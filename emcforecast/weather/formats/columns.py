"""Which column of a table is which: the person's word, then names, never a guess."""

from __future__ import annotations

import re
from collections.abc import Sequence

from emcforecast.errors import WeatherError, did_you_mean
from emcforecast.weather.formats.cells import parse_number
from emcforecast.weather.formats.header_words import UNITS, WORDS
from emcforecast.weather.formats.headers import (
    TEMPERATURES,
    Column,
    allowed_units,
    read_header,
)
from emcforecast.weather.formats.table import Table
from emcforecast.weather.hints import Hints

_CLOCK_ONLY = r"\d{1,2}([:.h]\d{2}){1,2}(\s*[aApP]\.?[mM]\.?)?"
VALUES = tuple(name for name in WORDS if name not in ("site",))


def choose_columns(
    table: Table, hints: Hints
) -> tuple[dict[str, int], dict[str, str | None], list[str]]:
    """Choose a column for every quantity the table holds.

    Parameters
    ----------
    table : Table
        The table.
    hints : Hints
        ``columns`` settles what names leave open.

    Returns
    -------
    dict of str to int
        Index of the column, by quantity.
    dict of str to str or None
        Unit its name states, by quantity.
    list of str
        Choices made, in words.

    Raises
    ------
    WeatherError
        When several columns could be the temperature or the humidity.
    """
    chosen: dict[str, int] = {}
    units: dict[str, str | None] = {}
    notes: list[str] = []
    taken = _as_told(table.columns, hints)
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
            at, note = _one_of(table, quantity, free)
            notes += [note] if note else []
            units[quantity] = table.columns[at].unit
        chosen[quantity] = at
    return chosen, _with_preamble(units, table), notes


def _with_preamble(units: dict[str, str | None], table: Table) -> dict[str, str | None]:
    """Add the temperature unit that a line above the table states."""
    for line in table.preamble:
        match = re.search(
            r"(?i)temp\w*[^a-z]*(?:unit|scale|einheit)\w*\W*(?:deg\w*\W*)?([cfk])", line
        )
        if match:
            unit = match[1].upper()
            return {
                name: said or (unit if name in TEMPERATURES else None)
                for name, said in units.items()
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


def _as_told(columns: Sequence[Column], hints: Hints) -> dict[str, int]:
    names = {column.name.strip().lower(): i for i, column in enumerate(columns)}
    taken: dict[str, int] = {}
    for quantity, name in hints.columns:
        if quantity not in VALUES:
            raise WeatherError(
                f"'{quantity}' is nothing a weather file holds."
                f"{did_you_mean(quantity, VALUES)}"
            )
        if name.strip().lower() not in names:
            raise WeatherError(
                f"the file has no column '{name}'; its columns are "
                f"{', '.join(column.name for column in columns)[:200]}"
            )
        taken[quantity] = names[name.strip().lower()]
    return taken


def _one_of(table: Table, quantity: str, free: list[int]) -> tuple[int, str]:
    columns = table.columns
    if len(free) == 1:
        return free[0], ""
    if quantity in ("datetime", "date", "clock"):
        # A time that says UTC, in its name or its cells, beats one that does not.
        first = table.rows[0]
        whole = [i for i in free if not re.fullmatch(_CLOCK_ONLY, first[i].strip())]
        free = whole or free
        sure = [i for i in free if re.search(r"(?i)utc|gmt", columns[i].name)]
        sure += [i for i in free if re.search(r"\dZ\s*$", first[i])]
        return (sure or free)[0], ""
    full = [i for i in free if any(_filled(row[i]) for row in table.rows[:500])]
    free = full or free
    outdoor = [i for i in free if columns[i].where == "outdoor"]
    indoor = [i for i in free if columns[i].where == "indoor"]
    if len(outdoor) == 1 and len(outdoor) + len(indoor) == len(free):
        return outdoor[0], f"'{columns[outdoor[0]].name}' used for {_word(quantity)}"
    if len({columns[i].unit for i in free}) == len(free) and all(
        columns[i].unit for i in free
    ):
        best = next((i for i in free if columns[i].unit in ("C", "mm", "m/s")), free[0])
        return best, ""
    exact = [i for i in free if _is_plain(columns[i].name, quantity)]
    if len(exact) == 1:
        return exact[0], f"'{columns[exact[0]].name}' used for {_word(quantity)}"
    if len(free) == 1:
        return free[0], ""
    if quantity not in ("air_temperature", "relative_humidity", "dew_point"):
        return free[0], f"'{columns[free[0]].name}' used for {_word(quantity)}"
    names = ", ".join(f"'{columns[i].name}'" for i in free)
    raise WeatherError(
        f"several columns may be the {_word(quantity)}: {names}; choose one with "
        f"--column {quantity}=NAME"
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
    return quantity.replace("air_temperature", "temperature").replace("_", " ")
