"""Monthly weather -> a full-length hourly series of typical days."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray, IntArray
from emcforecast.errors import WeatherError
from emcforecast.physics.sun import extraterrestrial, sun_from_daily_range
from emcforecast.weather.mend.daily import (
    USUAL_RANGE,
    humid_day,
    rain_hours,
    temperature_course,
)
from emcforecast.weather.repairs import Repair, RepairKind, repair, repairs_of
from emcforecast.weather.series import ONE_YEAR_KINDS, make_series

_FIFTHS = np.array([0.0, 0.524, 1.282, -0.524, -1.282])
DAY_DEPARTURES = _FIFTHS / np.sqrt((_FIFTHS**2).mean())
"""Five days stand for a month: fifths of a normal law, their spread brought to 1."""
SPREAD = 10.0
"""Relative humidity between days, per standard deviation, %."""


def hourly_from_monthly(ds: xr.Dataset) -> xr.Dataset:
    """Rebuild hours from monthly means.

    Parameters
    ----------
    ds : xarray.Dataset
        A weather series; one that is hourly already is returned as it is. The
        attribute ``daily_range`` (K, one a month) is used where a reader left it.

    Returns
    -------
    xarray.Dataset
        Hourly series over the same months, attribute ``rebuilt_from`` "month".

    Raises
    ------
    WeatherError
        When a month's temperature or humidity is missing.

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
    for name in ("air_temperature", "relative_humidity"):
        gone = ~np.isfinite(ds[name].to_numpy())
        if gone.any():
            when = str(ds["time"].to_numpy()[gone][0].astype("datetime64[M]"))
            raise WeatherError(
                f"{when} has no {name.replace('_', ' ')}; every month needs one: fill "
                "it in or cut the file there"
            )
    months = ds["time"].to_numpy().astype("datetime64[M]")
    begin = months.astype("datetime64[D]")
    length = ((months + 1).astype("datetime64[D]") - begin).astype(np.int64)
    month = np.repeat(np.arange(months.size), length)
    days = int(length.sum())
    axis = (begin[0] + np.arange(days * 24) * np.timedelta64(1, "h")).astype(
        "datetime64[ns]"
    )
    cyclic = ds.attrs["kind"] in ONE_YEAR_KINDS
    east = float(ds.attrs.get("longitude", 0.0))
    north = float(ds.attrs.get("latitude", 45.0))
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
        placed = "latitude" in ds.attrs
        repairs.append(repair(RepairKind.SUN_OF_DAILY_RANGE, placed=placed))
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
    for _ in range(40):
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
    for _ in range(30):
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
