"""Daily weather -> hours, by the usual course of a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.physics.sun import extraterrestrial
from emcforecast.weather.mend.day_course import (
    USUAL_RANGE,
    humid_day,
    rain_hours,
    temperature_course,
)
from emcforecast.weather.mend.quality import gather, without_impossible
from emcforecast.weather.mend.spacing import disagreement
from emcforecast.weather.mend.words import plain_count
from emcforecast.weather.series import make_series

DAY = np.timedelta64(1, "D")


def hourly_from_daily(
    time: npt.ArrayLike,
    variables: Mapping[str, npt.ArrayLike],
    *,
    kind: str,
    source: str,
    notes: Iterable[str] = (),
    **place: Any,
) -> xr.Dataset:
    """Rebuild hours from daily means.

    Parameters
    ----------
    time : array_like of datetime64, shape (n,)
        Start of each day, UTC.
    variables : mapping of str to array_like, shape (n,)
        Daily means in series units (precipitation: the day's sum, mm); also
        ``daily_maximum`` and ``daily_minimum`` temperature (°C) where known.
    kind, source : str
        As in `make_series`.
    notes : iterable of str
        Repairs made before.
    **place
        Further arguments of `make_series`.

    Returns
    -------
    xarray.Dataset
        Hourly series, NaN on days that are missing; attribute ``rebuilt_from``
        is "day".

    Raises
    ------
    WeatherError
        When temperature or humidity is missing.

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
        notes = [*notes, "daily mean temperature taken midway between the extremes"]
    for name in ("air_temperature", "relative_humidity"):
        if name not in given or not np.isfinite(given[name]).any():
            what = name.replace("air_", "").replace("_", " ")
            raise WeatherError(
                f"the daily values have no {what}; temperature and humidity are both "
                "needed"
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
    repeated = _said_twice(row, clean)
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
        above = extraterrestrial(axis, 45.0 if north is None else north, east)
        per_day = above.reshape(days, 24)
        share = column["shortwave"] / np.maximum(per_day.mean(axis=1), 1.0)
        hourly["shortwave"] = np.minimum(share[:, None] * per_day, 1400.0).ravel()
    how = "their own range" if known else f"a range of {USUAL_RANGE:g} K"
    words = (
        f"hours rebuilt from {plain_count(stamps.size, 'daily value')} with the usual "
        f"course of a day over {how}"
    )
    return make_series(
        axis,
        hourly,
        step="hour",
        kind=kind,
        source=source,
        repairs=[*notes, *found, *repeated, words],
        rebuilt_from="day",
        **place,
    )


def _on_days(row: npt.NDArray[np.int64], values: FloatArray, days: int) -> FloatArray:
    return gather(row, values, days, "mean")


def _said_twice(
    row: npt.NDArray[np.int64], values: Mapping[str, FloatArray]
) -> list[str]:
    order = np.argsort(row, kind="stable")
    again = np.flatnonzero(np.diff(row[order]) == 0) + 1
    if not again.size:
        return []
    return [
        f"{plain_count(int(again.size), 'day')} already seen; averaged with the first",
        *disagreement({name: column[order] for name, column in values.items()}, again),
    ]
