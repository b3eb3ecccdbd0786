"""Text -> a table: find the separator, the header under its preamble, the rows."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from emcforecast.errors import WeatherError
from emcforecast.weather.formats.cells import parse_number
from emcforecast.weather.formats.headers import PLACE, TIMES, Column, read_header
from emcforecast.weather.repairs import Repair, RepairKind, repair

SEPARATORS = ("\t", ";", "|", ",", " ")
_SEARCH = 60
"""How many lines may come before the header."""


@dataclass(frozen=True)
class Table:
    """A table of text.

    Attributes
    ----------
    columns : tuple of Column
        What each column is.
    rows : list of list of str
        Cells by row, every row as long as the header at least.
    preamble : tuple of str
        Lines above the header.
    repairs : tuple of Repair
        What was left out.
    """

    columns: tuple[Column, ...]
    rows: list[list[str]]
    preamble: tuple[str, ...]
    repairs: tuple[Repair, ...] = ()

    def cells(self, index: int) -> list[str]:
        """Return the cells of one column."""
        return [row[index] for row in self.rows]


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
            f"the text cannot be taken apart into cells ({error}); save it as plain CSV"
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
            if len(row) < 2:
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
    where = "its only line" if looked == 1 else f"its first {looked} lines"
    return (
        "no line names columns of temperature, humidity and time (looked at "
        f"{where}); put names in the first line, such as time_utc,temp_c,rh_pct"
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
    if any(len(row) > len(names) + 1 for row in rows):
        return None
    preamble = tuple(part for part in head[:begin].split("\n")[:-2] if part.strip())
    first = head[:begin].count("\n")
    return Table(_columns(names, unit_cells), rows, preamble), separator, first


def read_table(text: str) -> Table:
    """Read a table out of text."""
    lines = [line for line in text.split("\n") if line.strip()]
    if not lines:
        raise WeatherError("the file is empty")
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
        raise WeatherError("the file has a header but no readings")
    _check_commas(whole, names, separator)
    return Table(columns, whole, tuple(lines[:at]), repairs)


def _check_commas(rows: list[list[str]], names: Sequence[str], separator: str) -> None:
    wider = sum(len(row) > len(names) + 1 for row in rows[:200])
    if separator == "," and wider > 0.5 * len(rows[:200]):
        raise WeatherError(
            f"rows have {len(rows[0])} cells under {len(names)} column names: commas "
            "seem to be both separator and decimal mark; save it with semicolons"
        )


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
