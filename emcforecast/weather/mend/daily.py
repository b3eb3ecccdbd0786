"""Daily values and sums -> hours, by the usual course of a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import saturation_vapour_pressure
from emcforecast.physics.sun import extraterrestrial
from emcforecast.weather.mend.quality import disagreement, gather, without_impossible
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.series import make_series

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
FEWEST_DAYS = 3
"""Days that begin anew which show that sums run over the day."""
FEWEST_HOURS = 48
NOISE = 1e-3
"""Fall that packing alone may bring, as a share of the greatest value."""
FALLS = 0.002
"""Share of the other hours that may fall all the same."""
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

    Parameters
    ----------
    temperature : ndarray, shape (days, 24)
        Air temperature, °C.
    mean_humidity : ndarray, shape (days,)
        What each day's relative humidity shall be in the mean, %.

    Returns
    -------
    ndarray, shape (days, 24)
        Relative humidity, %, capped at 100 with the mean kept.
    """
    dryness = 1.0 / saturation_vapour_pressure(temperature)
    wanted = np.clip(mean_humidity, 1.0, 99.5)
    level = wanted / dryness.mean(axis=1)
    for _ in range(25):
        humid = np.minimum(level[:, None] * dryness, 100.0)
        level = level * wanted / humid.mean(axis=1)
    result: FloatArray = np.minimum(level[:, None] * dryness, 100.0)
    return result


def rain_hours(total: FloatArray, dampness: FloatArray) -> FloatArray:
    """Spread amounts of rain over the dampest hours, about 1 mm in each.

    Parameters
    ----------
    total : ndarray, shape (days,)
        Rain of each day, mm.
    dampness : ndarray, shape (days, 24)
        The rain goes to the hours where this is greatest.

    Returns
    -------
    ndarray, shape (days, 24)
        mm per hour; each day's sum is kept, and an unknown one stays unknown.

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


def hours_of_running_sums(
    time: TimeArray, values: FloatArray
) -> tuple[FloatArray, bool]:
    """Take sums that run from midnight apart into hours.

    Parameters
    ----------
    time : ndarray of datetime64, shape (n,)
        Hourly stamps, UTC, each at the end of its hour; some may lack.
    values : ndarray, shape (n,)
        Amounts of the hour, or of the day so far: it does not matter in what unit.

    Returns
    -------
    ndarray, shape (n,)
        Amounts of the hour before each stamp; NaN where the sum of an hour before is
        not known.
    bool
        Whether the values were running sums; they are returned as they are otherwise.

    Notes
    -----
    Sums run from 00 UTC: the value stamped 00 is the whole day before, the one stamped
    01 begins anew. They are recognised by never falling at any other hour; amounts of
    single hours fall as often as they rise.

    References
    ----------
    ECMWF, "ERA5-Land: data documentation", accumulations.

    Examples
    --------
    >>> time = np.arange("2020-01-01T01", "2020-01-11T01", dtype="datetime64[h]")
    >>> sums = np.tile(np.arange(1.0, 25.0), 10)
    >>> hours, running = hours_of_running_sums(time, sums)
    >>> running, set(hours.tolist())
    (True, {1.0})
    """
    if values.size < FEWEST_HOURS:
        return values, False
    hourly = np.diff(time) == HOUR
    most = float(np.nanmax(np.abs(values), initial=0.0))
    clock = (time - time.astype("datetime64[D]")) // HOUR
    anew = clock[1:] == 1
    rise = np.diff(values)
    known = np.isfinite(rise) & hourly
    fell = known & (rise < -NOISE * most)
    if (fell & anew).sum() < FEWEST_DAYS or (known & ~anew).sum() < FEWEST_HOURS:
        return values, False
    if (fell & ~anew).sum() > FALLS * (known & ~anew).sum():
        return values, False
    begins = clock == 1
    before = np.concatenate(([np.nan], np.where(hourly, values[:-1], np.nan)))
    return np.where(begins, values, np.maximum(values - before, 0.0)), True


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

    Parameters
    ----------
    time : array_like of datetime64, shape (n,)
        Start of each day, UTC.
    variables : mapping of str to array_like, shape (n,)
        Daily means in series units (precipitation: the day's sum, mm); also
        ``daily_maximum`` and ``daily_minimum`` temperature (°C) where known.
    kind, source : str
        As in `make_series`.
    repairs : iterable of Repair
        Those made before.
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
        repairs = [*repairs, repair(RepairKind.MEAN_OF_EXTREMES, step="day")]
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
        above = extraterrestrial(axis, 45.0 if north is None else north, east)
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
