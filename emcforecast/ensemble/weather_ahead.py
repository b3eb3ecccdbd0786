"""The weather forecast of the next days, faded into what each past year brought."""

from typing import TYPE_CHECKING

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.conversions import KELVIN
from emcforecast.ensemble.run_boards import AirTables
from emcforecast.physics.boards import air_table, saturation_density
from emcforecast.physics.diffusion import ACTIVATION, REFERENCE_KELVIN
from emcforecast.physics.moist_air import (
    relative_humidity,
    vapour_pressure,
)

if TYPE_CHECKING:
    from emcforecast.ensemble.air import StorageAir


TRUSTED_DAYS = 6.0
"""As far as this a forecast stands alone (assumed)."""
LOST_DAYS = 16.0
"""From here on it knows no more than past years do (assumed)."""


def trust(hours: int) -> FloatArray:
    """Weight of the weather forecast by the hour: 1, then falling evenly to 0.

    Examples
    --------
    >>> trust(16 * 24)[[0, 144, 264]].round(3).tolist()
    [1.0, 1.0, 0.5]
    """
    days = np.arange(hours) / 24.0
    left = (LOST_DAYS - days) / (LOST_DAYS - TRUSTED_DAYS)
    result: FloatArray = np.clip(left, 0.0, 1.0)
    return result


def blend(
    air: "StorageAir", index: IntArray, row: IntArray, days: int, skip: int = 0
) -> tuple[AirTables, IntArray]:
    """Air of the coming days: the weather forecast, then each run's own year.

    Parameters
    ----------
    air : StorageAir
        With a weather forecast.
    index : ndarray of int, shape (legs, runs)
        Number of the air each run meets in each leg.
    row : ndarray of int, shape (runs,)
        Row of the record at which each run's own year goes on.
    days : int
        How long, at most the forecast's length less `skip`.
    skip : int
        Days of the forecast that are over when the runs begin.

    Returns
    -------
    tables : AirTables
        One air for each place, draw and year that occur, 24 × days rows.
    number : ndarray of int, shape (legs, runs)
        Which of them each run meets.
    """
    if air.forecast is None:
        raise ValueError("there is no weather forecast to blend")
    hours = air.years.hours
    code = index * hours + (row - 24 * skip) % hours
    unique, number = np.unique(code, return_inverse=True)
    # Stacks of one yard meet the same forecast: it is mixed once.
    new = np.array([c for c in unique if int(c) not in air.blended], np.int64)
    if new.size:
        rows = (new % hours)[:, None] + np.arange(air.forecast.shape[1])
        past = air.tables.table[(new // hours)[:, None], rows % hours]
        weight = trust(air.forecast.shape[1])
        mixed = _between(past, air.forecast[new // hours], weight)
        air.blended.update(zip(new.tolist(), mixed, strict=True))
    span = slice(24 * skip, 24 * (skip + days))
    source = unique // hours
    return (
        AirTables(
            np.stack([air.blended[int(c)][span] for c in unique]),
            air.tables.surface_transfer[source],
            air.tables.rain_film[source],
        ),
        number.reshape(code.shape).astype(np.int64),
    )


def _between(past: FloatArray, ahead: FloatArray, weight: FloatArray) -> FloatArray:
    """Mix two air tables in temperature and vapour pressure."""
    t_past, t_ahead = (temperature_of(table) for table in (past, ahead))
    t = weight * t_ahead + (1.0 - weight) * t_past
    rain = weight * ahead[..., 7] + (1.0 - weight) * past[..., 7]

    def mixed(h_past: FloatArray, h_ahead: FloatArray) -> FloatArray:
        e_past, e_ahead = (
            vapour_pressure(t_past, h_past),
            vapour_pressure(t_ahead, h_ahead),
        )
        e = weight * e_ahead + (1.0 - weight) * e_past
        return np.minimum(relative_humidity(t, e), 100.0)

    air = mixed(humidity_of(past), humidity_of(ahead))
    resting = mixed(100.0 * past[..., 2], 100.0 * ahead[..., 2])
    return air_table(t, air, rain, resting)


def humidity_of(table: FloatArray) -> FloatArray:
    """Return the relative humidity (%) of the air that an air table was made with."""
    dry = table[..., 1] / saturation_density(temperature_of(table))
    result: FloatArray = 100.0 * (1.0 - dry * (1.0 - table[..., 2]))
    return result


def temperature_of(table: FloatArray) -> FloatArray:
    """Return the air temperature (°C) that an air table was made with."""
    inverse = 1.0 / REFERENCE_KELVIN - np.log(table[..., 0]) / ACTIVATION
    result: FloatArray = 1.0 / inverse - KELVIN
    return result
