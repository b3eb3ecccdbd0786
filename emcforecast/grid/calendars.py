"""Calendars of climate models -> real days, in a stated way.

A calendar without leap days keeps its dates; 29 February is the day before, repeated.
In one of twelve months of 30 days, day d of the year (counted from 0) becomes day
floor((d + 1) N / 360) - 1 of the real year of N days, and the five or six days without
one are the days before, repeated. Monthly values keep their month.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from emcforecast._types import IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.repairs import Repair, RepairKind, counted
from emcforecast.weather.times.cf_times import NO_LEAP, instants, read_since

_DAY = 86400


def decode(variable: xr.DataArray) -> tuple[TimeArray, TimeArray, str]:
    """Decode times of any calendar.

    Returns real instants (datetime64[s]), the month of each in its own calendar
    (datetime64[M]), and the calendar's name where it lacks days, else "".
    """
    if variable.dtype == object and hasattr(variable.to_numpy().ravel()[0], "calendar"):
        variable = _counted(variable)
    calendar = str(variable.attrs.get("calendar", "standard")).lower()
    since = read_since(str(variable.attrs.get("units", "")))
    if calendar == "360_day" and since is not None:
        count = variable.to_numpy().astype(np.float64)
        if since.unit in ("month", "year"):
            plain = variable.assign_attrs(calendar="standard")
            return (*decode(plain)[:2], calendar)
        first = since.year * 360 + (since.month - 1) * 30 + since.day - 1
        known = np.isfinite(count)
        days, clock = np.divmod(since.seconds(np.where(known, count, 0.0)), _DAY)
        time, month = _of_360(first + days, clock)
        time[~known] = np.datetime64("NaT", "s")
        return time, month, calendar
    try:
        time = instants(variable)[0].astype("datetime64[s]")
    except WeatherError as error:
        if variable.dtype.kind != "M" or "calendar" in str(error):
            raise
        raise WeatherError(
            _("the grid's times cannot be read: {error}", error=error)
        ) from error
    return time, time.astype("datetime64[M]"), calendar if calendar in NO_LEAP else ""


def _counted(variable: xr.DataArray) -> xr.DataArray:
    """Return times that were decoded into dates of a model's calendar as counts."""
    from cftime import date2num

    dates = variable.to_numpy()
    units = "seconds since 1850-01-01"
    calendar = str(dates.ravel()[0].calendar)
    count = np.asarray(date2num(dates, units, calendar), dtype=np.float64)
    about = {"units": units, "calendar": calendar}
    return xr.DataArray(count, dims=variable.dims, attrs=about)


def _of_360(day: IntArray, clock: IntArray) -> tuple[TimeArray, TimeArray]:
    year, of_year = np.divmod(day, 360)
    first = (year - 1970).astype("datetime64[Y]")
    begins = first.astype("datetime64[D]")
    length = ((first + np.timedelta64(1, "Y")).astype("datetime64[D]") - begins).astype(
        np.int64
    )
    real = begins + ((of_year + 1) * length // 360 - 1)
    month = first.astype("datetime64[M]") + of_year // 30
    return real.astype("datetime64[s]") + clock.astype("timedelta64[s]"), month


def with_days_repeated(
    time: TimeArray, step: str, calendar: str, hours: float
) -> tuple[TimeArray, IntArray, list[Repair]]:
    """Fill the days that a calendar lacks with the day before.

    `time`: starts, sorted and unique. Returns the times with those days, which of the
    given ones each is, and how many days were repeated.
    """
    have = time.astype("datetime64[D]")
    days = np.unique(have)
    lacking = np.setdiff1d(np.arange(days[0], days[-1] + np.timedelta64(1, "D")), days)
    # Only days whose neighbours are both there: what is longer is a gap of the record.
    day = np.timedelta64(1, "D")
    single = lacking[np.isin(lacking - day, days) & np.isin(lacking + day, days)]
    if not single.size:
        return time, np.arange(time.size), []
    index = np.flatnonzero(np.isin(have, single - day))
    added = time[index] + np.timedelta64(1, "D")
    both = np.concatenate((time, added))
    order = np.argsort(both, kind="stable")
    which = np.concatenate((np.arange(time.size), index))[order]
    kind = RepairKind.CALENDAR_DAYS
    return both[order], which, counted(kind, single.size, calendar=calendar)
