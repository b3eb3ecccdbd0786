"""The weather forecast of the next days, faded into what each past year brought."""

from typing import TYPE_CHECKING

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.physics.air_table import air_table
from emcforecast.physics.diffusion import ACTIVATION, REFERENCE_KELVIN
from emcforecast.physics.moist_air import (
    KELVIN,
    relative_humidity,
    vapour_pressure,
)

if TYPE_CHECKING:
    from emcforecast.ensemble.air import AirBank


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


def faded(
    bank: "AirBank",
    setting: IntArray,
    air: IntArray,
    row: IntArray,
    days: int,
    skip: int = 0,
) -> tuple[FloatArray, IntArray]:
    """Air of the coming days for every board: the forecast, then its own year.

    Parameters
    ----------
    bank : AirBank
        With the forecast in `ahead`.
    setting : ndarray of int, shape (legs,)
        Setting of each leg.
    air : ndarray of int, shape (boards,)
        Draw of the storage levers of each board.
    row : ndarray of int, shape (boards,)
        Row of the record at which each board's own year goes on.
    days : int
        How long, at most the forecast's length less `skip`.
    skip : int
        Days of the forecast that are over when the boards begin.

    Returns
    -------
    tables : ndarray, shape (tables, 24 days, 8)
        One for each setting, draw and year that occur.
    table_of : ndarray of int, shape (legs, boards)
        Which of them each board lies in.
    """
    if bank.ahead is None:
        raise ValueError("the bank holds no weather forecast")
    hours = bank.ring.hours
    first = (row - 24 * skip) % hours
    which = np.stack(
        [
            np.broadcast_to(bank.index(int(s), air), air.shape) * hours + first
            for s in setting
        ]
    )
    unique, table_of = np.unique(which, return_inverse=True)
    # Stacks of one yard meet the same forecast: it is mixed once.
    new = np.array([code for code in unique if int(code) not in bank.mixed], np.int64)
    if new.size:
        rows = (new % hours)[:, None] + np.arange(bank.ahead.shape[1])
        past = bank.tables[(new // hours)[:, None], rows % hours]
        weight = trust(bank.ahead.shape[1])
        mixed = _between(past, bank.ahead[new // hours], weight)
        bank.mixed.update(zip(new.tolist(), mixed, strict=True))
    span = slice(24 * skip, 24 * (skip + days))
    tables = np.stack([bank.mixed[int(code)][span] for code in unique])
    return tables, table_of.reshape(which.shape).astype(np.int64)


def _between(past: FloatArray, ahead: FloatArray, weight: FloatArray) -> FloatArray:
    """Mix two air tables in temperature and vapour pressure."""
    t_past, t_ahead = (temperature_of(table) for table in (past, ahead))
    e_past = vapour_pressure(t_past, 100.0 * past[..., 2])
    e_ahead = vapour_pressure(t_ahead, 100.0 * ahead[..., 2])
    t = weight * t_ahead + (1.0 - weight) * t_past
    e = weight * e_ahead + (1.0 - weight) * e_past
    rain = weight * ahead[..., 7] + (1.0 - weight) * past[..., 7]
    return air_table(t, np.minimum(relative_humidity(t, e), 100.0), rain)


def temperature_of(table: FloatArray) -> FloatArray:
    """Return the air temperature (°C) that an air table was made with."""
    inverse = 1.0 / REFERENCE_KELVIN - np.log(table[..., 0]) / ACTIVATION
    result: FloatArray = 1.0 / inverse - KELVIN
    return result
