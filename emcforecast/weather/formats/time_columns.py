"""Which columns hold the times, and what the clock showed in each row."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from emcforecast._types import TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.formats.cells import parse_numbers
from emcforecast.weather.formats.table import Table
from emcforecast.weather.hints import Hints
from emcforecast.weather.times.clock_times import parse_clock
from emcforecast.weather.times.date_parts import MONTH_NAMES
from emcforecast.weather.times.day_order import assemble, century
from emcforecast.weather.times.stamps import parse_stamps
from emcforecast.weather.times.years import in_nanoseconds, refuse_early

Ints = npt.NDArray[np.int64]

_DATE = re.compile(r"\s*(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}\b|\d{4}-\d{2}\s*$)")


def with_dates(table: Table, chosen: dict[str, int]) -> dict[str, int]:
    """Take a column of plain dates for the time where no name says which it is.

    Parameters
    ----------
    table : Table
        The table.
    chosen : dict of str to int
        Columns by quantity, as their names say.

    Returns
    -------
    dict of str to int
        The same, with the dates found.
    """
    if {"year", "month", "date"} <= set(chosen) and "day" not in chosen:
        # One word means both date and day in several languages.
        days = [row[chosen["date"]].strip() for row in table.rows[:50]]
        if all(re.fullmatch(r"\d{1,2}", day) for day in days):
            kept = {name: at for name, at in chosen.items() if name != "date"}
            return {**kept, "day": chosen["date"]}
    if {"datetime", "date"} & set(chosen):
        return chosen
    if {"year", "month"} <= set(chosen) or {"year", "day_of_year"} <= set(chosen):
        return chosen
    free = [
        index
        for index in range(len(table.columns))
        if index not in chosen.values()
        or index in (chosen.get("month"), chosen.get("clock"), chosen.get("hour"))
    ]
    for index in free:
        cells = [row[index] for row in table.rows[:50] if index < len(row)]
        if cells and all(_DATE.match(cell) for cell in cells):
            kept = {name: at for name, at in chosen.items() if at != index}
            return {**kept, "datetime": index}
    return chosen


def clock_times(
    table: Table, chosen: dict[str, int], hints: Hints
) -> tuple[TimeArray, bool, list[str], list[str]]:
    """Read what the clock showed in each row.

    Parameters
    ----------
    table : Table
        The table.
    chosen : dict of str to int
        Columns by quantity.
    hints : Hints
        Day order, when given.

    Returns
    -------
    ndarray of datetime64, shape (n,)
        NaT where unreadable.
    bool
        Whether they are UTC.
    list of str
        What was decided.
    list of str
        Names of the columns, which may state an offset.

    Raises
    ------
    WeatherError
        When no column holds times, or they stay ambiguous.
    """
    columns = table.columns
    if "datetime" in chosen or ("date" in chosen and "clock" not in chosen):
        at = chosen.get("datetime", chosen.get("date", -1))
        cells = table.cells(at)
        # A column named "Time" beside one named "Date" is the time of day.
        if "date" in chosen and "datetime" in chosen and _is_clock(cells):
            return _date_and_clock(table, chosen["date"], at, hints)
        if all(re.fullmatch(r"\s*\d{4}-\d{1,2}\s*", cell) for cell in cells[:50]):
            cells = [cell.strip() + "-01" for cell in cells]
        found = parse_stamps(cells, day_first=hints.day_first, header=columns[at].name)
        time = found.time
        if "datetime" not in chosen and "hour" in chosen:
            hour, words = _from_zero(parse_numbers(table.cells(chosen["hour"])).values)
            time = time + _hours_of(hour)
            return time, found.utc, [*found.notes, *words], [columns[at].name]
        return time, found.utc, list(found.notes), [columns[at].name]
    if "date" in chosen:
        return _date_and_clock(table, chosen["date"], chosen["clock"], hints)
    if {"year", "month"} <= set(chosen) or {"year", "day_of_year"} <= set(chosen):
        return _split(table, chosen)
    names = ", ".join(f"'{column.name}'" for column in columns)
    raise WeatherError(
        f"no column is recognised as the time (columns: {names[:160]}); rename it "
        "time_utc or say --column datetime=NAME"
    )


_CLOCK = re.compile(r"\d{1,2}([:.h]\d{2}){0,2}\s*([aApP]\.?\s?[mM]\.?)?")
_FRACTION = re.compile(r"0|1|[01]?[.,]\d+")


def _is_clock(cells: list[str]) -> bool:
    seen = [cell.strip() for cell in cells[:50] if cell.strip()]
    return bool(seen) and (
        all(_CLOCK.fullmatch(cell) for cell in seen)
        or all(_FRACTION.fullmatch(cell) for cell in seen)
    )


def _date_and_clock(
    table: Table, date: int, clock: int, hints: Hints
) -> tuple[TimeArray, bool, list[str], list[str]]:
    days, times = table.cells(date), table.cells(clock)
    joined = [
        f"{day.strip()} {time.strip()}" for day, time in zip(days, times, strict=True)
    ]
    names = [table.columns[date].name, table.columns[clock].name]
    header = " ".join(names)
    if all(
        re.search(r"\d[:h]\d", cell) for cell in times[:50] if cell.strip()
    ) and not (re.fullmatch(r"\s*\d+\s*", days[0])):
        found = parse_stamps(joined, day_first=hints.day_first, header=header)
        return found.time, found.utc, list(found.notes), names
    found = parse_stamps(days, day_first=hints.day_first, header=header)
    return found.time + parse_clock(times), False, list(found.notes), names


def _split(
    table: Table, chosen: dict[str, int]
) -> tuple[TimeArray, bool, list[str], list[str]]:
    def numbers(name: str) -> Ints:
        values = parse_numbers(table.cells(chosen[name])).values
        whole: Ints = np.where(np.isfinite(values), values, -1.0).astype(np.int64)
        return whole

    refuse_early(table.cells(chosen["year"]))
    year = century(numbers("year"))
    names = [table.columns[chosen[n]].name for n in ("year", "hour") if n in chosen]
    if "day_of_year" in chosen and "month" not in chosen:
        start = assemble(year, np.ones_like(year), np.ones_like(year))
        time = in_nanoseconds(start) + (numbers("day_of_year") - 1).astype(
            "timedelta64[D]"
        )
    elif "day" not in chosen:
        month = month_numbers(table.cells(chosen["month"]))
        first = assemble(year, month, np.ones_like(year))
        return in_nanoseconds(first), False, [], names
    else:
        month = month_numbers(table.cells(chosen["month"]))
        time = in_nanoseconds(assemble(year, month, numbers("day")))
    notes: list[str] = []
    if "hour" in chosen:
        hour, words = _from_zero(parse_numbers(table.cells(chosen["hour"])).values)
        notes += words
        time = time + _hours_of(hour)
    elif "clock" in chosen:
        time = time + parse_clock(table.cells(chosen["clock"]))
    if "minute" in chosen:
        minute = parse_numbers(table.cells(chosen["minute"])).values
        time = time + _hours_of(minute / 60.0)
    return time, False, notes, names


def _from_zero(
    hour: npt.NDArray[np.float64],
) -> tuple[npt.NDArray[np.float64], list[str]]:
    known = hour[np.isfinite(hour)]
    if known.size and known.min() == 1.0 and known.max() == 24.0:
        return hour - 1.0, ["hours are counted 1 to 24: each taken as the hour it ends"]
    return hour, []


def _hours_of(value: npt.NDArray[np.float64]) -> npt.NDArray[np.timedelta64]:
    # Hours such as 1300 are clock readings.
    big = np.nanmax(value, initial=0.0) > 24.0
    value = value // 100 + (value % 100) / 60.0 if big else value
    seconds = np.round(np.nan_to_num(value) * 3600.0).astype(np.int64)
    out = seconds.astype("timedelta64[s]")
    out[~np.isfinite(value)] = np.timedelta64("NaT")
    return out


def month_numbers(cells: list[str]) -> Ints:
    """Return months written as numbers or names, -1 for sums, means and the rest."""
    known = {cell: _month_number(cell) for cell in set(cells)}
    return np.array([known[cell] for cell in cells], dtype=np.int64)


def _month_number(cell: str) -> int:
    text = cell.strip().lower().rstrip(".")
    if re.fullmatch(r"\d{1,2}(\.0)?", text):
        return int(float(text))
    if re.match(r"(ann|jahr|mean|avg|ave|tot|sum|year|min|max|mit)", text):
        return -1
    return MONTH_NAMES.get(text[:3], -1)
