"""The usual course of a day: temperature, humidity and sun by the hour from means."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from emcforecast._types import FloatArray
from emcforecast.physics.moist_air import saturation_vapour_pressure

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


def temperature_course(solar_hour: npt.ArrayLike) -> FloatArray:
    """Departure from the day's mean as a share of the day's range.

    Parameters
    ----------
    solar_hour : array_like
        Hours after solar midnight.

    Returns
    -------
    ndarray
        Zero in the mean over a day, from -0.44 before sunrise to 0.56 at 15 h.

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
