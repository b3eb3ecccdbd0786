"""Daily and monthly means -> hours, by the usual course of a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray, IntArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.moist_air import saturation_vapour_pressure
from emcforecast.physics.sun import (
    extraterrestrial,
    sun_from_daily_range,
    usual_latitude,
)
from emcforecast.weather.mend.months import require_every_month
from emcforecast.weather.mend.quality import disagreement, gather, without_impossible
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, repair, repairs_of
from emcforecast.weather.series import ONE_YEAR_KINDS, make_series

USUAL_RANGE = 10.0
"""Daily range of temperature when none is known, K."""

# Fall below the day's maximum as a share of its range, at 1 to 24 h solar time: the
# usual design-day course of building handbooks, from memory.
_FALL = np.array(
    [
        *(0.87, 0.92, 0.96, 0.99, 1.00, 0.98, 0.93, 0.84, 0.71, 0.56, 0.39, 0.23),
        *(0.11, 0.03, 0.00, 0.03, 0.10, 0.21, 0.34, 0.47, 0.58, 0.68, 0.76, 0.82),
    ]
)
_AT = np.arange(1.0, 25.0)
HOUR = np.timedelta64(1, "h")
DAY = np.timedelta64(1, "D")


def temperature_course(solar_hour: npt.ArrayLike) -> FloatArray:
    """Departure from the day's mean as a share of the day's range.

    Examples
    --------
    >>> float(abs(temperature_course(np.arange(24) + 0.5).mean()).round(6))
    0.0
    """
    hour = np.asarray(solar_hour, dtype=np.float64) % 24.0
    fall = np.interp(hour, _AT, _FALL, period=24.0)
    result: FloatArray = float(_FALL.mean()) - fall
    return result


def humid_day(temperature: FloatArray, mean_humidity: FloatArray) -> FloatArray:
    """Relative humidity by the hour of days of constant vapour pressure.

    `temperature`: °C, (days, 24); `mean_humidity`: % in the mean of each day, (days,).
    Returns %, (days, 24), capped at 100 with the mean kept.
    """
    dryness = 1.0 / saturation_vapour_pressure(temperature)
    wanted = np.clip(mean_humidity, 1.0, 99.5)
    level = wanted / dryness.mean(axis=1)
    for _pass in range(25):
        humid = np.minimum(level[:, None] * dryness, 100.0)
        level = level * wanted / humid.mean(axis=1)
    result: FloatArray = np.minimum(level[:, None] * dryness, 100.0)
    return result


def rain_hours(total: FloatArray, dampness: FloatArray) -> FloatArray:
    """Spread amounts of rain over the dampest hours, about 1 mm in each.

    `total`: mm of each day, (days,); the rain goes to the hours where `dampness`,
    (days, 24), is greatest. Each day's sum is kept, and an unknown one stays unknown.

    Examples
    --------
    >>> damp = np.tile(np.arange(24.0), (2, 1))
    >>> rain_hours(np.array([2.5, np.nan]), damp).sum(axis=1).tolist()
    [2.5, nan]
    """
    many = np.clip(np.ceil(total), 1, 24)
    rank = np.argsort(np.argsort(-dampness, axis=1, kind="stable"), axis=1)
    wet = rank < many[:, None]
    fallen = np.where(wet, (total / many)[:, None], 0.0)
    result: FloatArray = np.where(np.isfinite(total)[:, None], fallen, np.nan)
    return result


def hourly_from_daily(
    time: npt.ArrayLike,
    variables: Mapping[str, npt.ArrayLike],
    *,
    kind: str,
    source: str,
    repairs: Iterable[Repair] = (),
    **place: Any,
) -> xr.Dataset:
    """Rebuild hours from daily means.

    `time`: start of each day, UTC, shape (n,). `variables`: daily means in series units
    (precipitation: the day's sum, mm), ``daily_maximum`` and ``daily_minimum`` (°C)
    where known. `place`: further arguments of `make_series`. NaN on days that are
    missing; attribute ``rebuilt_from`` is "day". Raises `WeatherError` without
    temperature or humidity.

    Notes
    -----
    Temperature follows the usual course of a day between the day's extremes (10 K
    apart when unknown); vapour pressure is constant within the day, at the level that
    keeps the day's mean relative humidity; rain falls in the dampest hours.
    """
    given = {name: np.asarray(v, dtype=np.float64) for name, v in variables.items()}
    stamps = np.asarray(time, dtype="datetime64[ns]")
    top = given.pop("daily_maximum", None)
    low = given.pop("daily_minimum", None)
    if "air_temperature" not in given and top is not None and low is not None:
        given["air_temperature"] = 0.5 * (top + low)
        repairs = [*repairs, repair(RepairKind.MEAN_OF_EXTREMES, step="day")]
    for name in ("air_temperature", "relative_humidity"):
        if name not in given or not np.isfinite(given[name]).any():
            what = quantity_name(name.replace("air_", ""))
            raise WeatherError(
                _(
                    "the daily values have no {what}; temperature and humidity "
                    "are both needed",
                    what=what,
                )
            )
    clean, found = without_impossible(given, each="day")
    spread = np.full(stamps.size, np.nan)
    if top is not None and low is not None:
        spread = np.where((top >= low) & (top - low < 45.0), top - low, np.nan)
    known = bool(np.isfinite(spread).any())
    spread = np.where(
        np.isfinite(spread), spread, np.nanmean(spread) if known else USUAL_RANGE
    )
    first = stamps.min()
    row = ((stamps - first) / DAY).astype(np.int64)
    days = int(row.max()) + 1
    repeated = _repeated_days(row, clean)
    column = {name: _on_days(row, values, days) for name, values in clean.items()}
    axis = (first + np.arange(days * 24) * np.timedelta64(1, "h")).astype(
        "datetime64[ns]"
    )
    east = place.get("longitude") or 0.0
    hour = np.arange(24) + 0.5 + east / 15.0
    course = temperature_course(hour)
    swing = _on_days(row, spread, days)
    temperature = column["air_temperature"][:, None] + swing[:, None] * course
    humidity = humid_day(temperature, column["relative_humidity"])
    hourly: dict[str, FloatArray] = {
        "air_temperature": temperature.ravel(),
        "relative_humidity": humidity.ravel(),
    }
    if "precipitation" in column:
        hourly["precipitation"] = rain_hours(column["precipitation"], humidity).ravel()
    if "wind_speed" in column:
        hourly["wind_speed"] = np.repeat(column["wind_speed"], 24)
    if "shortwave" in column:
        north = place.get("latitude")
        if north is None:
            north = usual_latitude(axis, temperature.ravel())
        above = extraterrestrial(axis, north, east)
        per_day = above.reshape(days, 24)
        share = column["shortwave"] / np.maximum(per_day.mean(axis=1), 1.0)
        hourly["shortwave"] = np.minimum(share[:, None] * per_day, 1400.0).ravel()
    usual = None if known else USUAL_RANGE
    rebuilt = repair(RepairKind.HOURS_OF_DAYS, stamps.size, range=usual)
    return make_series(
        axis,
        hourly,
        step="hour",
        kind=kind,
        source=source,
        repairs=[*repairs, *found, *repeated, rebuilt],
        rebuilt_from="day",
        **place,
    )


def _on_days(row: IntArray, values: FloatArray, days: int) -> FloatArray:
    return gather(row, values, days, "mean")


def _repeated_days(row: IntArray, values: Mapping[str, FloatArray]) -> list[Repair]:
    order = np.argsort(row, kind="stable")
    again = np.flatnonzero(np.diff(row[order]) == 0) + 1
    if not again.size:
        return []
    return [
        repair(RepairKind.REPEATED_DAYS, again.size),
        *disagreement({name: column[order] for name, column in values.items()}, again),
    ]


_FIFTHS = np.array([0.0, 0.524, 1.282, -0.524, -1.282])
DAY_DEPARTURES = _FIFTHS / np.sqrt((_FIFTHS**2).mean())
"""Five days stand for a month: fifths of a normal law, their spread brought to 1."""
SPREAD = 10.0
"""Relative humidity between days, per standard deviation, %."""


def hourly_from_monthly(ds: xr.Dataset) -> xr.Dataset:
    """Rebuild hours from monthly means.

    A series that is hourly already is returned as it is. The attribute ``daily_range``
    (K, one a month) is used where a reader left it; ``rebuilt_from`` becomes "month".
    Raises `WeatherError` when a month's temperature or humidity is missing.

    Notes
    -----
    Daily means run smoothly through the months and keep every month's mean. Five days
    in turn are drier and damper (10 % relative humidity per standard deviation). Within
    a day temperature follows its usual course over the daily range, 10 K when unknown;
    vapour pressure is constant. Sun where it is not given: 0.17 √range times the sun
    outside the air. Rain falls on the dampest days of the five, about 1 mm an hour.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, equation 50, for the sun.

    Examples
    --------
    >>> year = np.arange("2001-01", "2002-01", dtype="datetime64[M]")
    >>> means = {"air_temperature": 10 + np.arange(12), "relative_humidity": [70] * 12}
    >>> normals = make_series(year, means, step="month", kind="normals", source="x")
    >>> hourly = hourly_from_monthly(normals)
    >>> round(float(hourly["air_temperature"][:744].mean()), 3)
    10.0
    """
    if ds.attrs["step"] == "hour":
        return ds
    require_every_month(ds)
    months = ds["time"].to_numpy().astype("datetime64[M]")
    begin = months.astype("datetime64[D]")
    length = ((months + np.timedelta64(1, "M")).astype("datetime64[D]") - begin).astype(
        np.int64
    )
    month = np.repeat(np.arange(months.size), length)
    days = int(length.sum())
    axis = (begin[0] + np.arange(days * 24) * np.timedelta64(1, "h")).astype(
        "datetime64[ns]"
    )
    cyclic = ds.attrs["kind"] in ONE_YEAR_KINDS
    east = float(ds.attrs.get("longitude", 0.0))
    north = ds.attrs.get("latitude")
    if north is None:
        north = usual_latitude(ds["time"].to_numpy(), ds["air_temperature"].to_numpy())
    swing, range_repair = _daily_range(ds, months.size)
    mean_t = _through(ds["air_temperature"].to_numpy(), length, month, cyclic=cyclic)
    course = temperature_course(np.arange(24) + 0.5 + east / 15.0)
    temperature = mean_t[:, None] + swing[month][:, None] * course
    humidity = _humidity(ds, temperature, length, month, cyclic=cyclic)
    hourly: dict[str, FloatArray] = {
        "air_temperature": temperature.ravel(),
        "relative_humidity": humidity.ravel(),
    }
    if "precipitation" in ds:
        hourly["precipitation"] = _rain(ds, humidity, length, month).ravel()
    if "wind_speed" in ds:
        hourly["wind_speed"] = np.repeat(ds["wind_speed"].to_numpy()[month], 24)
    if "shortwave" in ds:
        above = extraterrestrial(axis, north, east)
        hour_month = np.repeat(month, 24)
        level = np.bincount(hour_month, above) / (24.0 * length)
        share = ds["shortwave"].to_numpy() / np.maximum(level, 1.0)
        hourly["shortwave"] = np.minimum(share[hour_month] * above, 1400.0)
    else:
        wide = np.repeat(swing[month], 24)
        hourly["shortwave"] = sun_from_daily_range(axis, wide, north, east)
    repairs = [*repairs_of(ds), repair(RepairKind.HOURS_OF_MONTHS), *range_repair]
    for name in [n for n, v in hourly.items() if not np.isfinite(v).all()]:
        del hourly[name]
        repairs.append(repair(RepairKind.MONTHS_LACKING, None, name))
    if "shortwave" not in ds:
        taken = None if "latitude" in ds.attrs else north
        repairs.append(repair(RepairKind.SUN_OF_DAILY_RANGE, taken=taken))
    attrs = {**ds.attrs, "step": "hour", "repairs": repairs, "rebuilt_from": "month"}
    attrs.pop("daily_range", None)
    return make_series(axis, hourly, **attrs)


def _daily_range(ds: xr.Dataset, size: int) -> tuple[FloatArray, list[Repair]]:
    given = ds.attrs.get("daily_range")
    if given is not None:
        swing = np.asarray(given, dtype=np.float64)
        if swing.size == size and np.isfinite(swing).all() and (swing > 0.0).all():
            return swing, []
    return np.full(size, USUAL_RANGE), [
        repair(RepairKind.DAILY_RANGE_UNKNOWN, taken=USUAL_RANGE)
    ]


def _through(
    means: FloatArray,
    length: IntArray,
    month: npt.NDArray[np.intp],
    *,
    cyclic: bool,
) -> FloatArray:
    """Daily values that run through mid-months and keep each month's mean."""
    days = int(length.sum())
    middle = np.cumsum(length) - 0.5 * length
    day = np.arange(days) + 0.5
    period = float(days) if cyclic else None
    anchor = means.copy()
    daily = np.interp(day, middle, anchor, period=period)
    for _pass in range(40):
        miss = means - np.bincount(month, daily) / length
        anchor = anchor + miss
        daily = np.interp(day, middle, anchor, period=period)
        if float(np.abs(miss).max()) < 1e-9:
            break
    exact: FloatArray = daily + (means - np.bincount(month, daily) / length)[month]
    return exact


def _humidity(
    ds: xr.Dataset,
    temperature: FloatArray,
    length: IntArray,
    month: npt.NDArray[np.intp],
    *,
    cyclic: bool,
) -> FloatArray:
    means = ds["relative_humidity"].to_numpy()
    smooth = _through(means, length, month, cyclic=cyclic)
    turn = SPREAD * DAY_DEPARTURES[np.arange(month.size) % DAY_DEPARTURES.size]
    shift = np.zeros(means.size)
    for _pass in range(30):
        daily = np.clip(smooth + turn + shift[month], 2.0, 99.0)
        miss = means - np.bincount(month, daily) / length
        shift = shift + miss
        if float(np.abs(miss).max()) < 1e-6:
            break
    return humid_day(temperature, np.clip(smooth + turn + shift[month], 2.0, 99.0))


def _rain(
    ds: xr.Dataset,
    humidity: FloatArray,
    length: IntArray,
    month: npt.NDArray[np.intp],
) -> FloatArray:
    total = ds["precipitation"].to_numpy()
    turn = DAY_DEPARTURES[np.arange(month.size) % DAY_DEPARTURES.size]
    # Over 60 mm a month it rains on the two dampest of five days, else on the dampest.
    wet = (turn > 1.0) | ((turn > 0.5) & (total[month] > 60.0))
    share = np.bincount(month, wet)
    return rain_hours(np.where(wet, (total / share)[month], 0.0), humidity)
