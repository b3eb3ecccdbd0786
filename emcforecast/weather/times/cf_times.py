"""Times of NetCDF files -> instants: numbers since a day, dates as numbers or text."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.times.calendar import in_nanoseconds

_SINCE = re.compile(
    r"\s*(second|sec|s|minute|min|hour|hr|h|day|d|month|year)s?\s+since\s+"
    r"(\d{1,4})-(\d{1,2})-(\d{1,2})(?:[T\s]+(\d{1,2}):(\d{1,2})(?::(\d{1,2}))?)?",
    re.IGNORECASE,
)
_SECONDS = {"s": 1.0, "m": 60.0, "h": 3600.0, "d": 86400.0}
NO_LEAP = ("noleap", "365_day", "no_leap")
_REAL = ("standard", "gregorian", "proleptic_gregorian", "none", "")


@dataclass(frozen=True)
class Since:
    """What a unit such as "hours since 1900-01-01" says.

    `unit`: second, minute, hour, day, month or year; `clock`: seconds into the day.
    """

    unit: str
    year: int
    month: int
    day: int
    clock: int

    def seconds(self, count: FloatArray) -> IntArray:
        """Return counts in seconds after the start of the named day."""
        per = _SECONDS[self.unit[0]]
        return np.round(count * per).astype(np.int64) + self.clock


def read_since(units: str) -> Since | None:
    """Read a unit of time, or return None where it is none.

    Examples
    --------
    >>> read_since("hours since 1900-01-01 06:00:00.0").clock
    21600
    """
    match = _SINCE.match(units)
    if match is None:
        return None
    short = match[1].lower()
    unit = {"min": "minute", "s": "second", "h": "hour", "d": "day"}.get(short, short)
    unit = {"sec": "second", "hr": "hour"}.get(unit, unit)
    clock = int(match[5] or 0) * 3600 + int(match[6] or 0) * 60 + int(match[7] or 0)
    return Since(unit, int(match[2]), int(match[3]), int(match[4]), clock)


def decode_times(variable: xr.DataArray) -> tuple[TimeArray, tuple[Repair, ...]]:
    """Return the times of a coordinate in nanoseconds, and what was decided.

    As `instants`; refuses years that no weather record is of.
    """
    time, repairs = instants(variable)
    return in_nanoseconds(time), repairs


def instants(variable: xr.DataArray) -> tuple[TimeArray, tuple[Repair, ...]]:
    """Return the times of a coordinate, of any year, shape (n,), and what was decided.

    `variable` is not decoded: numbers with units, datetime64, text, or dates as numbers
    such as 20240131. Raises `WeatherError` for a unit or calendar that is not known.
    """
    units = str(variable.attrs.get("units", ""))
    calendar = str(variable.attrs.get("calendar", "standard")).lower()
    if variable.dtype.kind == "M":
        return variable.to_numpy(), ()
    if variable.dtype.kind in "OSU":
        text = np.char.replace(variable.to_numpy().astype(str), "_", "T")
        try:
            return text.astype("datetime64[s]"), ()
        except ValueError as error:
            raise WeatherError(
                _(
                    "times such as '{cell}' are not dates; write them as "
                    "2024-01-31T06:00",
                    cell=text.ravel()[0][:30],
                )
            ) from error
    since = read_since(units)
    if since is None:
        return _of_digits(variable, units), ()
    if calendar not in (*_REAL, *NO_LEAP):
        raise WeatherError(
            _(
                "the file counts in a {calendar} calendar, which is not "
                "today's; convert it to a standard calendar first",
                calendar=calendar[:20],
            )
        )
    count = variable.to_numpy().astype(np.float64)
    known = np.isfinite(count)
    found, repairs = _counted(np.where(known, count, 0.0), since, calendar)
    found[~known] = np.array("NaT", dtype=found.dtype)
    return found, repairs


def _counted(
    count: FloatArray, since: Since, calendar: str
) -> tuple[TimeArray, tuple[Repair, ...]]:
    if since.unit in ("month", "year"):
        count = count * (12.0 if since.unit == "year" else 1.0)
        start = np.datetime64(f"{since.year:04d}-{since.month:02d}", "M")
        return np.asarray(start + np.floor(count).astype(np.int64)), ()
    seconds = since.seconds(count)
    if calendar in NO_LEAP:
        day = (since.year, since.month, since.day)
        return _without_leap_days(seconds, *day), (repair(RepairKind.NO_LEAP_DAYS),)
    year = max(since.year, 1)
    start = np.datetime64(f"{year:04d}-{since.month:02d}-{since.day:02d}", "s")
    if since.year < 1582:
        # The mixed calendar is two days off the proleptic one at year 1.
        start = start - np.timedelta64(2, "D") if since.year <= 1 else start
    return np.asarray(start + seconds.astype("timedelta64[s]")), ()


def _of_digits(variable: xr.DataArray, units: str) -> TimeArray:
    """Read dates as numbers: 20240131, or 202401 for months."""
    values = variable.to_numpy()
    if values.dtype.kind in "iuf" and values.size and np.isfinite(values).all():
        whole = np.floor(values.astype(np.float64)).astype(np.int64)
        part = values.astype(np.float64) - whole
        named = re.match(r"\s*day as %Y%m%d", units) is not None
        if named or ((whole >= 16_000_101) & (whole <= 22_001_231)).all():
            days = [
                f"{v // 10000:04d}-{v // 100 % 100:02d}-{v % 100:02d}" for v in whole
            ]
            seconds = np.round(part * 86400).astype("timedelta64[s]")
            return np.asarray(_dates(days) + seconds)
        if ((whole >= 160_001) & (whole <= 220_012)).all():
            return _dates([f"{v // 100:04d}-{v % 100:02d}-01" for v in whole])
    raise WeatherError(
        _("times are in '{units}', which is no known unit of time", units=units)
    )


def _dates(days: list[str]) -> TimeArray:
    try:
        return np.array(days, "datetime64[D]").astype("datetime64[s]")
    except ValueError as error:
        raise WeatherError(
            _(
                "dates as numbers such as {days} are no days of the "
                "calendar; write them as 20240131",
                days=days[0].replace("-", ""),
            )
        ) from error


def _without_leap_days(seconds: IntArray, year: int, month: int, day: int) -> TimeArray:
    before = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334])
    days, rest = np.divmod(seconds, 86400)
    number = days + int(before[month - 1]) + day - 1
    years, of_year = np.divmod(number, 365)
    index = np.searchsorted(before, of_year, side="right") - 1
    months = ((year + years - 1970) * 12 + index).astype("datetime64[M]")
    date = months.astype("datetime64[D]") + (of_year - before[index])
    return np.asarray(date.astype("datetime64[s]") + rest)
