"""Raw reports of an archive -> the weather series.

An instantaneous report stands for the hour that holds it: 10:00 and 10:53 both belong
to the interval that starts at 10:00. The label is then the start of the interval, as
everywhere, and no report is moved by more than it must be.

A total or mean of the hour before belongs to the hour that holds most of it: stamped
10:00 or 9:53 it fell in the hour that starts at 9:00. Reports between the routine ones
repeat the running total, so the greatest amount of an hour is taken.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.conversions import TEMPERATURES, from_unit, plain_unit, split_rate
from emcforecast.errors import ArchiveError
from emcforecast.weather.hints import Hints
from emcforecast.weather.mend.daily import hourly_from_daily
from emcforecast.weather.mend.quality import hourly_grid, without_impossible
from emcforecast.weather.repairs import (
    Repair,
    RepairKind,
    add_repairs,
    counted,
    repair,
    repairs_of,
)
from emcforecast.weather.series import VARIABLES, make_series

_KNOWN = {
    **dict.fromkeys(
        ("air_temperature", "air_temperature_min", "air_temperature_max", "dew_point"),
        TEMPERATURES,
    ),
    "relative_humidity": ("%", "1"),
    "precipitation": ("mm", "in", "m"),
    "wind_speed": ("m/s", "km/h", "mph", "kn"),
    "shortwave": ("w/m2", "wh/m2", "kwh/m2", "j/m2", "mj/m2"),
    "pressure": ("pa", "hpa", "kpa"),
    "specific_humidity": ("kg/kg", "g/kg"),
}
#: Hours of an energy that does not say for how long it is: archives give MJ for a day.
_HOURS = {"mj/m2": 24.0}


def scaled(column: FloatArray, unit: str, name: str, archive: str) -> FloatArray:
    """Convert a column to the unit of the weather series.

    Returns
    -------
    ndarray
        °C, %, mm, m/s, W/m², Pa or kg/kg.

    Examples
    --------
    >>> import numpy as np
    >>> float(scaled(np.array([212.0]), "°F", "air_temperature", "x")[0].round(9))
    100.0
    >>> float(scaled(np.array([8.64]), "MJ/m^2/day", "shortwave", "x")[0].round(9))
    100.0
    """
    spelt, hours = plain_unit(unit), None
    if name == "shortwave":
        spelt, hours = split_rate(unit)
    if spelt not in _KNOWN[name]:
        raise ArchiveError(
            f"the {archive} reply gives {name.replace('_', ' ')} in {unit!r}; "
            f"known: {', '.join(_KNOWN[name])}"
        )
    if name == "shortwave":
        return from_unit(column, spelt) / (hours or _HOURS.get(spelt, 1.0))
    return from_unit(column, spelt)


HOUR = np.timedelta64(1, "h")
#: Running totals start at the last routine report, up to ten minutes before the hour.
EARLY = np.timedelta64(10, "m")
#: What the rebuilding of days calls their extremes.
EXTREMES = {
    "air_temperature_max": "daily_maximum",
    "air_temperature_min": "daily_minimum",
}
#: Attributes of a raw series that make_series takes.
TERMS = (
    *("kind", "source", "licence", "attribution", "retrieved"),
    *("latitude", "longitude", "elevation", "utc_offset", "station", "place"),
)


def share_out(
    stamps: TimeArray,
    rain: FloatArray,
    totals: FloatArray,
    hours: int,
    repairs: list[Repair],
) -> FloatArray:
    """Share rain given only for several hours among those that have a report.

    Parameters
    ----------
    stamps : ndarray of datetime64, shape (n,)
        Times of the reports, UTC, sorted.
    rain : ndarray, shape (n,)
        Rain of the hour before each (mm), NaN where not given.
    totals : ndarray, shape (n,)
        Rain of the `hours` before each (mm), NaN where not given.
    hours : int
        How many hours a total covers.
    repairs : list of Repair
        How many totals were shared out is added.

    Returns
    -------
    ndarray, shape (n,)
        Rain of the hour before each report; a total is used only where none of its
        reports gives the rain of its own hour. Reports of one hour give the same.
    """
    shared = rain.copy()
    hour = (stamps - EARLY).astype("datetime64[h]")
    first = np.searchsorted(stamps, stamps - np.timedelta64(hours, "h"), side="right")
    used = 0
    for last in np.flatnonzero(np.isfinite(totals)):
        span = slice(int(first[last]), int(last) + 1)
        if not np.isfinite(shared[span]).any():
            shared[span] = totals[last] / np.unique(hour[span]).size
            used += int(totals[last] > 0)
    repairs += counted(RepairKind.RAIN_SHARED, used, hours=hours)
    return shared


def series_of(raw: xr.Dataset, hints: Hints) -> xr.Dataset:
    """Turn a raw series into a weather series, missing hours left missing."""
    attrs = {name: raw.attrs[name] for name in TERMS if name in raw.attrs}
    for name in ("elevation", "utc_offset"):
        given = getattr(hints, name)
        if given is not None:
            attrs[name] = given
    values = {str(name): raw[name].to_numpy() for name in raw.data_vars}
    stamps = raw["time"].to_numpy()
    repairs = list(repairs_of(raw))
    if raw.attrs["step"] == "day":
        named = {EXTREMES.get(name, name): column for name, column in values.items()}
        return hourly_from_daily(stamps, named, repairs=repairs, **attrs)
    if raw.attrs["step"] == "month" or raw.attrs["kind"] == "normals":
        values = {name: values[name] for name in VARIABLES if name in values}
        # What is too much rain for an hour is not for a month.
        rain = values.pop("precipitation", None)
        clean, found = without_impossible(values)
        if rain is not None:
            clean["precipitation"] = np.where(rain < 0, np.nan, rain)
        step = raw.attrs["step"]
        return make_series(
            stamps, clean, step=step, repairs=[*repairs, *found], **attrs
        )
    before = set(raw.attrs.get("preceding", ()))
    now = {name: column for name, column in values.items() if name not in before}
    series = hourly_grid(stamps, now, repairs=repairs, **attrs)
    late, found = without_impossible(
        {name: column for name, column in values.items() if name in before}
    )
    axis = series["time"].to_numpy()
    for name, column in late.items():
        units, long_name = VARIABLES[name]
        placed = _hour_before(stamps, column, axis, greatest=name == "precipitation")
        early = column[(stamps - EARLY).astype("datetime64[h]") < axis[0]]
        if name == "precipitation" and bool((early > 0).any()):
            most = float(np.nanmax(early))
            found.append(repair(RepairKind.RAIN_BEFORE_START, most=most))
        series[name] = ("time", placed, {"units": units, "long_name": long_name})
    return add_repairs(series, *found)


def _hour_before(
    stamps: TimeArray, column: FloatArray, axis: TimeArray, *, greatest: bool
) -> FloatArray:
    """Put what was gathered over the hour before each stamp on that hour."""
    known = np.isfinite(column) & ~np.isnat(stamps)
    place = ((stamps[known] - EARLY).astype("datetime64[h]") - axis[0]) / HOUR
    inside = (place >= 0) & (place < axis.size)
    index = place[inside].astype(np.int64)
    what = column[known][inside]
    count = np.bincount(index, minlength=axis.size)
    if greatest:
        total = np.full(axis.size, -np.inf)
        np.maximum.at(total, index, what)
    else:
        total = np.bincount(index, weights=what, minlength=axis.size)
        total = total / np.maximum(count, 1)
    return np.asarray(np.where(count > 0, total, np.nan), dtype=np.float64)
