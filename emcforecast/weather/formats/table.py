"""Text -> a table: separator, header under its preamble, rows, and numbers in cells."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.language import N_, _, n_
from emcforecast.weather.formats.headers import PLACE, TIMES, Column, read_header
from emcforecast.weather.repairs import Repair, RepairKind, counted, repair

#: Words that stand for "no value".

MISSING = frozenset(
    (
        *("", "-", "--", "---", "----", "-.-", "--.-", "na", "n/a", "nan", "null"),
        *("none", "m", "x", "?", "*", ".", "..", "...", "missing", "no data", "nodata"),
        *("#n/a", "#value!", "#div/0!", "lo", "hi", "low", "high", "err", "error"),
        *("ol", "fault", "fail", "inf", "-inf", "k.a.", "nd", "n.d.", "/", "///"),
    )
)
_NUMBER = re.compile(
    r"^([-+]?)(\d[\d\s'.,]*|[.,]\d+)(?:[eE]([-+]?\d+))?\s*([^\d\s].{0,12})?$"
)
LONGEST_NUMBER = 60
"""Letters of a cell with a number and its unit."""
_SUFFIX = {
    suffix: unit
    for unit, suffixes in {
        **{"C": "c|°c|ºc|℃|degc|celsius", "F": "f|°f|ºf|℉|degf|fahrenheit"},
        **{"K": "k", "percent": "%|%rh|% rh|%rf|% rf|%r.h.|pct|rh", "mm": "mm"},
        **{"in": "in", "m/s": "m/s", "km/h": "km/h", "mph": "mph", "kn": "kn"},
        **{"hPa": "hpa|mbar", "kPa": "kpa", "Pa": "pa", "W/m2": "w/m2|w/m²"},
        **{"g/m3": "g/m3|g/m³", "g/kg": "g/kg", "": "°"},
    }.items()
    for suffix in suffixes.split("|")
}


@dataclass(frozen=True)
class Numbers:
    """A column of numbers.

    `values`: shape (n,), NaN where there is no number; `units` that stood in the cells;
    `unreadable`: texts neither a number nor a known word for "missing"; `missing`:
    count.
    """

    values: FloatArray
    units: tuple[str, ...]
    unreadable: tuple[str, ...]
    missing: int


def parse_number(cell: str) -> tuple[float, str]:
    """Read one cell: its number (NaN for none) and unit, "?" when it cannot be read.

    Examples
    --------
    >>> parse_number("12,5 °C"), parse_number("1.013,2")
    ((12.5, 'C'), (1013.2, ''))
    """
    text = cell.strip().strip("\u00a0\"'").replace("\u2212", "-").strip()
    text = text.replace("\u00a0", " ").replace("\u202f", " ")
    if text.lower() in MISSING:
        return float("nan"), ""
    match = _NUMBER.match(text) if len(text) <= LONGEST_NUMBER else None
    if not match:
        return float("nan"), "?"
    sign, digits, power, suffix = match.groups()
    unit = _SUFFIX.get((suffix or "").strip().lower(), "?" if suffix else "")
    digits = re.sub(r"[\s']", "", digits)
    mark = max(digits.rfind("."), digits.rfind(","))
    if mark >= 0:
        whole = re.sub(r"[.,]", "", digits[:mark])
        digits = f"{whole or 0}.{digits[mark + 1 :] or 0}"
    value = float(f"{sign}{digits}e{power or 0}")
    return (value, unit) if unit != "?" and isfinite(value) else (float("nan"), "?")


def parse_numbers(cells: Sequence[str]) -> Numbers:
    """Read a column.

    Examples
    --------
    >>> parse_numbers(["1,5", "Err", "-2,0"]).values.tolist()
    [1.5, nan, -2.0]
    """
    # Weather columns repeat few different texts: each is read once.
    known: dict[str, tuple[float, str]] = {}
    values = np.empty(len(cells), dtype=np.float64)
    for index, cell in enumerate(cells):
        found = known.get(cell)
        if found is None:
            found = known[cell] = parse_number(cell)
        values[index] = found[0]
    units = {unit for _, unit in known.values() if unit not in ("", "?")}
    unreadable = [cell for cell, (_, unit) in known.items() if unit == "?"]
    return Numbers(
        values=values,
        units=tuple(sorted(units)),
        unreadable=tuple(unreadable[:20]),
        missing=int(np.count_nonzero(np.isnan(values))),
    )


SEPARATORS = ("\t", ";", "|", ",", " ")
_SEARCH = 60
"""How many lines may come before the header."""
MOST_COLUMNS = 500
LONGEST_CELL = 100
LONGEST_LINE = 1000
"""Of a line above the header, what is longer is not looked at."""


@dataclass(frozen=True)
class Table:
    """A table of text.

    `rows`: cells by row, each at least as long as the header; `preamble`: lines above
    it; `repairs`: what was left out.
    """

    columns: tuple[Column, ...]
    rows: list[list[str]]
    preamble: tuple[str, ...]
    repairs: tuple[Repair, ...] = ()

    def cells(self, index: int) -> list[str]:
        """Return the cells of one column; of one that is no value, its beginning."""
        cells = (row[index] for row in self.rows)
        return [c if len(c) <= LONGEST_CELL else f"{c[:40]}…" for c in cells]


def split_lines(lines: Iterable[str], separator: str) -> list[list[str]]:
    """Split lines at a separator, honouring quotes."""
    if separator == " ":
        return [line.split() for line in lines]
    given = list(lines)
    try:
        rows = list(csv.reader(given, delimiter=separator, skipinitialspace=True))
    except csv.Error:
        rows = []
    if len(rows) >= 0.9 * len(given):
        return rows
    # A quote that is never closed would swallow the rest of the file.
    bare = csv.reader(given, delimiter=separator, quoting=csv.QUOTE_NONE)
    try:
        return [[cell.strip(' "') for cell in row] for row in bare]
    except csv.Error as error:
        raise WeatherError(
            _(
                "the text cannot be taken apart into cells ({error}); save "
                "it as plain CSV",
                error=error,
            )
        ) from error


def _is_number(cell: str) -> bool:
    value, unit = parse_number(cell)
    return unit != "?" and value == value


def _score(row: Sequence[str]) -> int:
    """Count the columns a row would name, were it the header."""
    named = [cell for cell in row if cell.strip() and not _is_number(cell)]
    if len(named) < 0.6 * sum(bool(cell.strip()) for cell in row):
        return 0
    found = {q for cell in named if (q := read_header(cell).quantity)}
    # Names of a place alone are a line about the file.
    return len(found) if found - {*TIMES, *PLACE} else len(found & set(TIMES))


def find_layout(lines: Sequence[str]) -> tuple[str, int]:
    """Find the separator and the line of the header."""
    best = (0, 0, "", -1)
    for rank, separator in enumerate(SEPARATORS):
        if separator == " " and best[0] >= 3:
            continue  # names hold spaces too: only where nothing else separates
        rows = split_lines(lines[: _SEARCH + 5], separator)
        for index, row in enumerate(rows[:_SEARCH]):
            if not 2 <= len(row) <= MOST_COLUMNS:
                continue
            score = _score(row)
            follower = next((r for r in rows[index + 1 :] if any(r)), None)
            if score and follower is not None and len(follower) >= 2:
                score += 1
            if score > best[0]:
                best = (score, -rank, separator, index)
    if best[3] < 0:
        raise WeatherError(_no_header(lines))
    return best[2], best[3]


def _no_header(lines: Sequence[str]) -> str:
    # What the file says instead is nobody's business: it may be no weather at all.
    looked = min(len(lines), _SEARCH)
    return n_(
        "no line names columns of temperature, humidity and time (looked at its only "
        "line); put names in the first line, such as time_utc,temp_c,rh_pct",
        "no line names columns of temperature, humidity and time (looked at its first "
        "{count} lines); put names in the first line, such as time_utc,temp_c,rh_pct",
        looked,
    )


def begin_table(text: str) -> tuple[Table, str, int] | None:
    """Read the first rows of a table, and say where its rows begin."""
    head = text[: text.rfind("\n") + 1]
    if not head:
        return None
    separator, at = find_layout(
        [line for line in head.split("\n") if line.strip()][: _SEARCH + 5]
    )
    begin = 0
    seen = -1
    while seen < at:
        end = head.index("\n", begin)
        seen += bool(head[begin:end].strip())
        line, begin = head[begin:end], end + 1
    names = split_lines([line], separator)[0]
    some = [row for row in split_lines(head[begin:].split("\n")[:60], separator) if row]
    unit_cells, rows = _unit_row(names, some)
    if not rows or len(rows) < len(some):
        return None
    if any(_wider(row, names) for row in rows):
        return None
    above = [part for part in head[:begin].split("\n")[:-2] if part.strip()]
    first = head[:begin].count("\n")
    return Table(_columns(names, unit_cells), rows, _above(above)), separator, first


def _above(lines: Sequence[str]) -> tuple[str, ...]:
    return tuple(line[:LONGEST_LINE] for line in lines)


def read_table(text: str) -> Table:
    """Read a table out of text."""
    lines = [line for line in text.split("\n") if line.strip()]
    if not lines:
        raise WeatherError(_("the file is empty"))
    separator, at = find_layout(lines[: _SEARCH + 5])
    names = split_lines(lines[at : at + 1], separator)[0]
    rows = split_lines(lines[at + 1 :], separator)
    unit_cells, rows = _unit_row(names, rows)
    columns = _columns(names, unit_cells)
    # What the first row of readings shows beyond the header is nameless.
    width = max((i + 1 for i, c in enumerate(columns) if c.quantity), default=0)
    whole = [row for row in rows if len(row) >= width]
    repairs: tuple[Repair, ...] = ()
    if len(whole) < len(rows):
        odd = next(row for row in rows if len(row) < width)
        such = separator.join(odd)[:40]
        short = len(rows) - len(whole)
        repairs = (repair(RepairKind.SHORT_LINES, short, example=such),)
    if not whole:
        raise WeatherError(_("the file has a header but no readings"))
    _check_width(whole, names, separator)
    if separator != " ":
        # A number more than names: those before it stand under the wrong ones. Words
        # at the end of a line are a note.
        beyond = len(names)
        fitting = [row for row in whole if not any(map(_is_number, row[beyond:]))]
        more = counted(RepairKind.BROKEN_LINES, len(whole) - len(fitting))
        whole, repairs = fitting, (*repairs, *more)
    return Table(columns, whole, _above(lines[:at]), repairs)


def _wider(row: Sequence[str], names: Sequence[str]) -> bool:
    """Whether a row says more than the header names; a separator at its end is none."""
    return any(cell.strip() for cell in row[len(names) :])


def _check_width(rows: list[list[str]], names: Sequence[str], separator: str) -> None:
    """Refuse rows with more cells than names: nobody can say which is which."""
    some = rows[:200]
    wider = next((row for row in some if _wider(row, names)), None)
    if separator == " " or wider is None:
        return
    if sum(_wider(row, names) for row in some) <= 0.5 * len(some):
        return
    by_comma = N_(
        "rows have {cells} cells under {names} column names: commas seem to be both "
        "separator and decimal mark, or a column has no name; save it with semicolons, "
        "or name every column"
    )
    other = N_(
        "rows have {cells} cells under {names} column names; give every column a name "
        "in the first line"
    )
    why = by_comma if separator == "," else other
    raise WeatherError(_(why, cells=len(wider), names=len(names)))


def _unit_row(
    names: Sequence[str], rows: list[list[str]]
) -> tuple[list[str], list[list[str]]]:
    blank = [""] * len(names)
    if not rows or any(_is_number(cell) for cell in rows[0] if cell.strip()):
        return blank, rows
    found = False
    for name, cell in zip(names, rows[0], strict=False):
        column = read_header(name)
        if column.quantity in TIMES and re.search(r"\d", cell):
            return blank, rows
        if read_header(name, cell).unit and cell.strip():
            found = True
    if not found:
        return blank, rows
    return [*rows[0], *blank][: len(names)], rows[1:]


def _columns(names: Sequence[str], unit_cells: Sequence[str]) -> tuple[Column, ...]:
    columns = [
        read_header(name, unit) for name, unit in zip(names, unit_cells, strict=True)
    ]
    quantities = {column.quantity for column in columns}
    # "HR" is the hour beside a date in parts, else humidité or humedad relativa.
    if {"year", "day"} & quantities and "hour" not in quantities:
        columns = [
            Column(c.name, "hour", None, "") if c.name.strip().lower() == "hr" else c
            for c in columns
        ]
    return tuple(columns)
