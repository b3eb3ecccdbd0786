"""The time axis of a NetCDF file, in whatever calendar it counts."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.series import NOMINAL_YEAR
from emcforecast.weather.times.years import in_nanoseconds


@dataclass(frozen=True)
class Axis:
    """When the values of a file are.

    Attributes
    ----------
    dimension : str
        Name of the dimension.
    time : ndarray of datetime64[ns]
        UTC; start of day or month for those steps.
    step : {"hour", "day", "month", "normals"}
        What one value stands for.
    hours : float
        Length of a step (h).
    notes : tuple of str
        What was decided.
    """

    dimension: str
    time: TimeArray
    step: str
    hours: float
    notes: tuple[str, ...]


def time_axis(ds: xr.Dataset, variable: str) -> Axis:
    """Find and decode the times of a variable.

    Parameters
    ----------
    ds : xarray.Dataset
        Opened without decoding times.
    variable : str
        Any variable that changes with time.

    Returns
    -------
    Axis
        The times.

    Raises
    ------
    WeatherError
        When there is no time axis, or its calendar or step cannot be used.
    """
    dims = [str(dim) for dim in ds[variable].dims]
    month = next((d for d in dims if d.lower() == "month" and ds.sizes[d] == 12), None)
    if month is not None:
        year = np.datetime64(f"{NOMINAL_YEAR}-01", "M") + np.arange(12)
        return Axis(month, year.astype("datetime64[ns]"), "normals", 730.5, ())
    found = _coordinate(ds, dims)
    if found is None:
        raise WeatherError(
            "the file holds a single time or none; a series of at least weeks is needed"
        )
    name, dimension = found
    time, notes = _decoded(ds[name])
    if time.size < 2:
        raise WeatherError(
            "the file holds a single time; a series of at least weeks is needed"
        )
    steps = np.diff(np.sort(time)) / np.timedelta64(1, "h")
    usual = float(np.median(steps))
    if usual <= 6.5:
        return Axis(dimension, time, "hour", usual, notes)
    if 23.0 <= usual <= 25.0:
        days = time.astype("datetime64[D]").astype("datetime64[ns]")
        return Axis(dimension, days, "day", 24.0, notes)
    if 27.0 * 24 <= usual <= 32.0 * 24:
        first = time.astype("datetime64[M]").astype("datetime64[ns]")
        return Axis(dimension, first, "month", 730.5, notes)
    raise WeatherError(
        f"values are {usual:g} h apart; they must be at most 6 h apart, daily or "
        "monthly"
    )


def _coordinate(ds: xr.Dataset, dims: list[str]) -> tuple[str, str] | None:
    usual = ("valid_time", "time", "time_counter", "date", "datetime")
    named = [name for name in usual if name in ds.variables]
    since = r"\s*(seconds?|minutes?|hours?|days?|months?) since"
    named += [
        str(name)
        for name, variable in ds.variables.items()
        if variable.attrs.get("standard_name") == "time"
        or re.match(since, str(variable.attrs.get("units", "")))
    ]
    for name in dict.fromkeys(named):
        variable = ds[name]
        if variable.ndim == 1 and str(variable.dims[0]) in dims:
            return name, str(variable.dims[0])
    return None


def _decoded(variable: xr.DataArray) -> tuple[TimeArray, tuple[str, ...]]:
    units = str(variable.attrs.get("units", ""))
    calendar = str(variable.attrs.get("calendar", "standard")).lower()
    if variable.dtype.kind == "M":
        return in_nanoseconds(variable.to_numpy()), ()
    match = re.match(
        r"\s*(second|minute|hour|day|month)s?\s+since\s+(\d{1,4})-(\d{1,2})-(\d{1,2})"
        r"(?:[T\s]+(\d{1,2}):(\d{2})(?::(\d{2}))?)?",
        units,
    )
    if variable.dtype.kind in "OSU":
        text = variable.to_numpy().astype(str)
        return in_nanoseconds(text.astype("datetime64[s]")), ()
    if not match:
        if re.match(r"\s*day as %Y%m%d", units):
            digits = [f"{int(v):08d}" for v in variable.to_numpy()]
            days = [f"{t[:4]}-{t[4:6]}-{t[6:8]}" for t in digits]
            return in_nanoseconds(np.array(days, "datetime64[D]")), ()
        raise WeatherError(f"times are in '{units}', which is no known unit of time")
    count = variable.to_numpy().astype(np.float64)
    year, month, day = int(match[2]), int(match[3]), int(match[4])
    clock = int(match[5] or 0) * 3600 + int(match[6] or 0) * 60 + int(match[7] or 0)
    if match[1] == "month":
        start = np.datetime64(f"{year:04d}-{month:02d}", "M")
        return in_nanoseconds(start + np.floor(count).astype(np.int64)), ()
    per = {"second": 1.0, "minute": 60.0, "hour": 3600.0, "day": 86400.0}[match[1]]
    seconds = np.round(count * per).astype(np.int64) + clock
    if calendar in ("noleap", "365_day"):
        return _without_leap_days(seconds, year, month, day), (
            "the calendar has no leap days: 29 February is filled like a gap",
        )
    if calendar in ("360_day", "julian", "all_leap", "366_day"):
        raise WeatherError(
            f"the file counts in a {calendar} calendar, which is no real one; convert "
            "it to a standard calendar first"
        )
    start = np.datetime64(f"{max(year, 1):04d}-{month:02d}-{day:02d}", "s")
    if year < 1582:
        # The mixed calendar is two days off the proleptic one at year 1.
        start = start - np.timedelta64(2, "D") if year <= 1 else start
    return in_nanoseconds(start + seconds.astype("timedelta64[s]")), ()


def _without_leap_days(
    seconds: npt.NDArray[np.int64], year: int, month: int, day: int
) -> TimeArray:
    before = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334])
    days, rest = np.divmod(seconds, 86400)
    number = days + int(before[month - 1]) + day - 1
    years, of_year = np.divmod(number, 365)
    index = np.searchsorted(before, of_year, side="right") - 1
    months = ((year + years - 1970) * 12 + index).astype("datetime64[M]")
    date = months.astype("datetime64[D]") + (of_year - before[index])
    return in_nanoseconds(date.astype("datetime64[s]") + rest)
