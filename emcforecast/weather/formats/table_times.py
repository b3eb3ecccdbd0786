"""The times of a table, from whichever columns hold them."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.formats.months import month_numbers
from emcforecast.weather.formats.table import Table, parse_numbers
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.series import NOMINAL_YEAR
from emcforecast.weather.times.calendar import (
    assemble,
    century,
    in_nanoseconds,
    refuse_early,
)
from emcforecast.weather.times.clocks import to_utc
from emcforecast.weather.times.stamps import parse_clock, parse_stamps

_DATE = re.compile(r"\s*(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}\b|\d{4}-\d{2}\s*$)")
_CLOCK = re.compile(r"\d{1,2}([:.h]\d{2}){0,2}\s*([aApP]\.?\s?[mM]\.?)?")
LATEST = 22.5
"""Hour from which on a stamp names the day that ends."""
_FRACTION = re.compile(r"0|1|[01]?[.,]\d+")


def with_dates(table: Table, chosen: dict[str, int]) -> dict[str, int]:
    """Take a column of plain dates for the time where no name says which it is."""
    if {"year", "month", "date"} <= set(chosen) and "day" not in chosen:
        # One word means both date and day in several languages.
        days = [row[chosen["date"]].strip() for row in table.rows[:50]]
        if all(re.fullmatch(r"\d{1,2}", day) for day in days):
            others = {name: at for name, at in chosen.items() if name != "date"}
            return {**others, "day": chosen["date"]}
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
            others = {name: at for name, at in chosen.items() if at != index}
            return {**others, "datetime": index}
    return chosen


def clock_times(
    table: Table, chosen: dict[str, int], hints: Hints
) -> tuple[TimeArray, bool, list[Repair], list[str]]:
    """Read what the clock showed in each row.

    Returns times (NaT where unreadable), whether they are UTC, what was decided, and
    the names of the columns, which may state an offset.
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
            hour, more = _from_zero(parse_numbers(table.cells(chosen["hour"])).values)
            time = time + _hours_of(hour)
            return time, found.utc, [*found.repairs, *more], [columns[at].name]
        return time, found.utc, list(found.repairs), [columns[at].name]
    if "date" in chosen:
        return _date_and_clock(table, chosen["date"], chosen["clock"], hints)
    if {"year", "month"} <= set(chosen) or {"year", "day_of_year"} <= set(chosen):
        return _split(table, chosen)
    names = ", ".join(f"'{column.name}'" for column in columns)
    raise WeatherError(
        _(
            "no column is recognised as the time (columns: {names}); "
            "rename it time_utc or say --column datetime=NAME",
            names=names[:160],
        )
    )


def _is_clock(cells: list[str]) -> bool:
    seen = [cell.strip() for cell in cells[:50] if cell.strip()]
    return bool(seen) and (
        all(_CLOCK.fullmatch(cell) for cell in seen)
        or all(_FRACTION.fullmatch(cell) for cell in seen)
    )


def _date_and_clock(
    table: Table, date: int, clock: int, hints: Hints
) -> tuple[TimeArray, bool, list[Repair], list[str]]:
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
        return found.time, found.utc, list(found.repairs), names
    found = parse_stamps(days, day_first=hints.day_first, header=header)
    return found.time + parse_clock(times), False, list(found.repairs), names


def _split(
    table: Table, chosen: dict[str, int]
) -> tuple[TimeArray, bool, list[Repair], list[str]]:
    def numbers(name: str) -> IntArray:
        values = parse_numbers(table.cells(chosen[name])).values
        whole: IntArray = np.where(np.isfinite(values), values, -1.0).astype(np.int64)
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
    repairs: list[Repair] = []
    if "hour" in chosen:
        hour, more = _from_zero(parse_numbers(table.cells(chosen["hour"])).values)
        repairs += more
        time = time + _hours_of(hour)
    elif "clock" in chosen:
        time = time + parse_clock(table.cells(chosen["clock"]))
    if "minute" in chosen:
        minute = parse_numbers(table.cells(chosen["minute"])).values
        time = time + _hours_of(minute / 60.0)
    return time, False, repairs, names


def _from_zero(
    hour: FloatArray,
) -> tuple[FloatArray, list[Repair]]:
    known = hour[np.isfinite(hour)]
    if known.size and known.min() == 1.0 and known.max() == 24.0:
        return hour - 1.0, [repair(RepairKind.HOURS_FROM_ONE)]
    return hour, []


def _hours_of(value: FloatArray) -> npt.NDArray[np.timedelta64]:
    # Hours such as 1300 are clock readings.
    big = np.nanmax(value, initial=0.0) > 24.0
    value = value // 100 + (value % 100) / 60.0 if big else value
    seconds = np.round(np.nan_to_num(value) * 3600.0).astype(np.int64)
    out = seconds.astype("timedelta64[s]")
    out[~np.isfinite(value)] = np.array("NaT", dtype=out.dtype)
    return out


@dataclass(frozen=True)
class Timeline:
    """When the rows of a table were.

    `time`: UTC, or the start of the month for monthly rows, shape (n,), NaT where
    unreadable; `step`: "hour" (also anything shorter and up to six hours), "day",
    "month" or "normals"; `offset`: local standard time minus UTC (h), when known.
    """

    time: TimeArray
    step: str
    offset: float | None
    repairs: tuple[Repair, ...]


def timeline(table: Table, chosen: dict[str, int], hints: Hints) -> Timeline:
    """Read the times of a table."""
    chosen = with_dates(table, chosen)
    if "month" in chosen and not {"year", "datetime", "date"} & set(chosen):
        if "day" in chosen:
            raise WeatherError(
                _("the times have a month and a day but no year; add a year column")
            )
        return _normals(table, chosen["month"])
    time, utc, repairs, names = clock_times(table, chosen, hints)
    return timeline_of(time, utc, repairs, [*names, *table.preamble], hints)


def timeline_of(
    time: TimeArray, utc: bool, repairs: list[Repair], names: list[str], hints: Hints
) -> Timeline:
    """Bring times to UTC and say how far apart they are.

    `time` as printed, NaT where unreadable; `names`: those of the time columns, and
    lines of the preamble.
    """
    good = ~np.isnat(time)
    if good.sum() == 0:
        raise WeatherError(
            _("no time in the file can be read; write them as 2024-01-31 13:00")
        )
    step = _step_of(time[good])
    if step == "month":
        return Timeline(
            time.astype("datetime64[M]").astype("datetime64[ns]"),
            step,
            hints.utc_offset,
            tuple(repairs),
        )
    if step == "day":
        first = time.astype("datetime64[D]").astype("datetime64[ns]")
        more = _one_hour(time[good] - first[good])
        return Timeline(first, step, hints.utc_offset, (*repairs, *more))
    if utc:
        return Timeline(time, step, hints.utc_offset, tuple(repairs))
    out = time.copy()
    moved, offset, more = to_utc(time[good], names, hints)
    out[good] = moved
    return Timeline(out, step, offset, (*repairs, *more))


def _one_hour(clock: npt.NDArray[np.timedelta64]) -> list[Repair]:
    """Say at which hour daily rows are stamped, unless it is where a day ends."""
    usual = np.median(clock / np.timedelta64(1, "h"))
    if not 1.0 <= usual <= LATEST:
        return []
    minutes = round(60.0 * float(usual))
    at = f"{minutes // 60:02d}:{minutes % 60:02d}"
    return [repair(RepairKind.DAYS_AT_ONE_HOUR, clock=at)]


def _step_of(time: TimeArray) -> str:
    if time.size < 2:
        return "hour"
    gaps = np.diff(time)
    if bool((gaps == gaps[0]).all()) and gaps[0] > np.timedelta64(0, "ns"):
        usual = float(gaps[0] / np.timedelta64(1, "h"))
    else:
        steps = np.diff(np.sort(time)) / np.timedelta64(1, "h")
        usual = float(np.median(steps[steps > 0.0])) if (steps > 0.0).any() else 1.0
    if usual <= 7.0:
        return "hour"
    if time.size > 5 and np.count_nonzero(gaps == np.timedelta64(0, "ns")) > (
        0.2 * time.size
    ):
        raise WeatherError(
            _(
                "many readings share one time and times are {usual:g} h "
                "apart: the time of day is not recognised; say --column "
                "clock=NAME or hour=NAME",
                usual=usual,
            )
        )
    if 23.0 <= usual <= 25.0:
        return "day"
    if 27.0 * 24 <= usual <= 32.0 * 24:
        return "month"
    raise WeatherError(
        _(
            "readings are {usual:g} h apart; they must be at most 6 h "
            "apart, daily, or monthly",
            usual=usual,
        )
    )


def _normals(table: Table, at: int) -> Timeline:
    month = month_numbers(table.cells(at))
    real = month[(month >= 1) & (month <= 12)]
    if sorted(real.tolist()) != list(range(1, 13)):
        have = len(set(real.tolist()))
        raise WeatherError(
            _(
                "a table of monthly normals needs each month once; this one "
                "has {have} different months in {count} rows: add a year "
                "column, or the months missing",
                have=have,
                count=real.size,
            )
        )
    time = assemble(np.full_like(month, NOMINAL_YEAR), month, np.ones_like(month))
    return Timeline(in_nanoseconds(time), "normals", None, ())
