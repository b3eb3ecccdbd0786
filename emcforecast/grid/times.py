"""Times of gridded files: which coordinate, how long a step, where it begins."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np
import xarray as xr

from emcforecast._types import IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.grid import calendars
from emcforecast.grid.series import STEPS
from emcforecast.language import N_, _
from emcforecast.weather.repairs import Repair, RepairKind, counted, repair
from emcforecast.weather.series import NOMINAL_YEAR
from emcforecast.weather.times.calendar import in_nanoseconds
from emcforecast.weather.times.cf_times import read_since

_NAMES = ("valid_time", "time", "date", "datetime", "time_counter", "times", "day", "t")
_HOURS = {2: "2-hour", 3: "3-hour", 4: "4-hour", 6: "6-hour", 1: "hour"}
ONE_FORECAST = N_(
    "the grid holds a single time; how dry wood gets needs a series of weeks at least, "
    "or twelve monthly means: give the files of the other times too"
)


@dataclass(frozen=True)
class Stamps:
    """When the values of one file, or of several, are.

    `time`: instants (datetime64[s], shape (n,)) as they are stamped; `month`: calendar
    month of each in the file's own calendar (datetime64[M]); `begin`, `end`: of its
    interval where the file says so, NaT elsewhere; `calendar`: "" for a real one;
    `is_climatology`: twelve months of no year.
    """

    time: TimeArray
    month: TimeArray
    begin: TimeArray
    end: TimeArray
    calendar: str = ""
    is_climatology: bool = False


def find_time(ds: xr.Dataset, variable: xr.DataArray) -> str | None:
    """Return the name of the coordinate that says when the values of a variable are.

    Along one of its dims, or a scalar; None where there is none.
    """
    by_name = {str(name).lower(): str(name) for name in ds.variables}
    names = [by_name[name] for name in _NAMES if name in by_name]
    names += [
        str(name)
        for name, held in ds.variables.items()
        if held.attrs.get("standard_name") == "time"
        or held.attrs.get("axis") == "T"
        or read_since(str(held.attrs.get("units", ""))) is not None
    ]
    scalar = None
    for name in dict.fromkeys(names):
        held = ds.variables[name]
        if held.ndim == 1 and held.dims[0] in variable.dims and held.dtype.kind != "m":
            return name
        if (
            held.ndim == 0
            and scalar is None
            and "reference" not in str(held.attrs.get("standard_name", ""))
        ):
            scalar = name
    return scalar


def months_dim(ds: xr.Dataset, variable: xr.DataArray) -> str | None:
    """Return the dim that counts the twelve months of no year, or None."""
    for dim in variable.dims:
        if ds.sizes[dim] != 12:
            continue
        if str(dim).lower() in ("month", "months", "mon", "imonth"):
            return str(dim)
        held = ds.variables.get(dim)
        if held is None and str(dim).lower() in _NAMES:
            return str(dim)
        if held is None or held.dtype.kind not in "iuf":
            continue
        numbers = held.to_numpy().astype(np.float64)
        units = str(held.attrs.get("units", ""))
        counts = np.arange(12) + numbers[0]
        plain = np.array_equal(numbers, counts) and numbers[0] in (0, 0.5, 1)
        if plain and read_since(units) is None:
            return str(dim)
    return None


def climatology_stamps() -> Stamps:
    """Return the stamps of twelve months of no year."""
    month: TimeArray = np.datetime64(f"{NOMINAL_YEAR}-01", "M") + np.arange(12)
    time: TimeArray = np.asarray(month.astype("datetime64[s]"))
    never = np.full(12, np.datetime64("NaT", "s"))
    return Stamps(time, month, never, never, is_climatology=True)


def read_stamps(ds: xr.Dataset, name: str) -> Stamps:
    """Read the times of a file.

    Raises `WeatherError` for a unit or a calendar that is not known.
    """
    held = ds[name]
    array = held if held.ndim else held.expand_dims("time")
    time, month, calendar = calendars.decode(array)
    never = np.full(time.size, np.datetime64("NaT", "s"))
    begin: TimeArray = never
    end: TimeArray = never
    bounds = str(held.attrs.get("bounds", ""))
    if bounds in ds.variables and ds[bounds].ndim == 2 and held.ndim == 1:
        edges = ds[bounds].transpose(held.dims[0], ...)
        attrs = {k: held.attrs[k] for k in ("units", "calendar") if k in held.attrs}
        if edges.shape[1] == 2 and edges.dtype.kind in "iuf":
            begin, end = (
                calendars.decode(edges[:, side].assign_attrs(attrs))[0]
                for side in (0, 1)
            )
    climatology = "climatology" in held.attrs or (
        # Years such as 0 or 1 stand for no year.
        time.size == 12 and bool((month < np.datetime64("1600-01", "M")).all())
    )
    if climatology and time.size == 12:
        number = month.astype(np.int64) % 12
        if np.array_equal(np.sort(number), np.arange(12)):
            months = np.datetime64(f"{NOMINAL_YEAR}-01", "M") + number
            return replace(
                climatology_stamps(), time=months.astype("datetime64[s]"), month=months
            )
    return Stamps(time, month, begin, end, calendar)


def joined(stamps: list[Stamps]) -> Stamps:
    """Put the stamps of several files one after the other."""
    if len(stamps) == 1:
        return stamps[0]
    if any(s.is_climatology for s in stamps):
        raise WeatherError(
            _(
                "several files hold twelve months of no year; give one, or "
                "files with years"
            )
        )
    names = {s.calendar for s in stamps}
    if len(names) > 1:
        raise WeatherError(
            _("the files count in different calendars; give those of one model")
        )
    return Stamps(
        np.concatenate([s.time for s in stamps]),
        np.concatenate([s.month for s in stamps]),
        np.concatenate([s.begin for s in stamps]),
        np.concatenate([s.end for s in stamps]),
        calendar=stamps[0].calendar,
    )


@dataclass(frozen=True)
class Axis:
    """The time axis of a grid series.

    `time`: starts (datetime64[ns], UTC, sorted, unique); `take`: which of the stamps
    each is; `step`: as in `STEPS`.
    """

    time: TimeArray
    take: IntArray
    step: str
    repairs: tuple[Repair, ...]

    @property
    def hours(self) -> float:
        """Length of a step, h."""
        return STEPS[self.step]


def make_axis(stamps: Stamps) -> Axis:
    """Find the step of stamps, move them to its start, sort, and drop repeated ones.

    Raises `WeatherError` for a single time or a step that is not served.
    """
    if stamps.is_climatology:
        order = np.argsort(stamps.time)
        time = stamps.time[order].astype("datetime64[ns]")
        return Axis(time, order, "climatology", ())
    known = np.flatnonzero(~np.isnat(stamps.time))
    if np.unique(stamps.time[known]).size < 2:
        raise WeatherError(_(ONE_FORECAST))
    step = _step(stamps.time[known])
    begun, repairs = _starts(stamps, step)
    lost = int(stamps.time.size - known.size)
    repairs += counted(RepairKind.READINGS_WITHOUT_TIME, lost)
    time, take = np.unique(begun[known], return_index=True)
    take = known[take]
    twice = int(known.size - take.size)
    repairs += counted(RepairKind.TIMES_TWICE, twice)
    time = in_nanoseconds(time)
    if stamps.calendar and step != "month":
        time, taken, more = calendars.with_days_repeated(
            time, step, stamps.calendar, STEPS[step]
        )
        take, repairs = take[taken], repairs + more
    return Axis(time, take, step, tuple(repairs))


def _step(time: TimeArray) -> str:
    steps = np.diff(np.unique(time)) / np.timedelta64(3600, "s")
    apart, count = np.unique(np.round(steps, 3), return_counts=True)
    usual = float(apart[np.argmax(count)])
    finer = float(np.quantile(steps, 0.02, method="lower"))
    if finer < 0.9 * usual and not finer >= 27 * 24:
        raise WeatherError(
            _(
                "times are mostly {apart} apart, and some {apart2}; give "
                "files of one step",
                apart=_apart(usual),
                apart2=_apart(finer),
            )
        )
    if 27.0 * 24 <= usual <= 32.0 * 24:
        return "month"
    if 23.0 <= usual <= 25.0:
        return "day"
    whole = round(usual)
    if whole in _HOURS and abs(usual - whole) < 0.02:
        return _HOURS[whole]
    finer_than_hours = N_(
        "the grid's times are {apart} apart; 1, 2, 3, 4 or 6 hours, a day or a month "
        "are read: make hourly means of them, or monthly means"
    )
    other = N_(
        "the grid's times are {apart} apart; 1, 2, 3, 4 or 6 hours, a day or a month "
        "are read: give hourly to daily values, or monthly means"
    )
    raise WeatherError(_(finer_than_hours if usual < 1 else other, apart=_apart(usual)))


def _apart(hours: float) -> str:
    if hours >= 48:
        return _("{days:g} days", days=hours / 24)
    return _("{hours:g} h", hours=hours)


def _starts(stamps: Stamps, step: str) -> tuple[TimeArray, list[Repair]]:
    if step == "month":
        return stamps.month.astype("datetime64[s]"), []
    if step == "day":
        # Noon, midnight and the day before's end are the same day where bounds say so.
        days = np.where(np.isnat(stamps.begin), stamps.time, stamps.begin)
        return days.astype("datetime64[D]").astype("datetime64[s]"), []
    hours = STEPS[step]
    length = np.timedelta64(int(hours * 3600), "s")
    width = stamps.end - stamps.begin
    if bool((width == length).all()):
        moved = stamps.begin
        off = float(np.median((stamps.time - moved) / np.timedelta64(3600, "s")))
        found = [repair(RepairKind.STAMPS_WITHIN, hours=off)] if off else []
        return moved, found
    if hours in (1.0, 3.0) and _at_half_past(stamps.time):
        return stamps.time - length // 2, [
            repair(RepairKind.STAMPS_WITHIN, hours=hours / 2)
        ]
    return stamps.time.astype("datetime64[h]").astype("datetime64[s]"), []


def _at_half_past(time: TimeArray) -> bool:
    within = (time - time.astype("datetime64[h]")) / np.timedelta64(60, "s")
    return bool((np.abs(within - 30.0) < 1.0).mean() > 0.9)


def is_forecast(ds: xr.Dataset) -> bool:
    """Tell whether times are counted from when a forecast was made."""
    return any(
        re.search("forecast_(period|reference)", str(v.attrs.get("standard_name", "")))
        and v.size > 1
        for v in ds.variables.values()
    )
