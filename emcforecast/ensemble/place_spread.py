"""How far a place itself may be from what is stated: apart from the weather years."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.air import air_bank
from emcforecast.ensemble.boards import DAY, lot_of, run_lot, start_state
from emcforecast.ensemble.draws import Members
from emcforecast.storage.settings import Setting
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr


DRAWS = 12
"""Draws of a place's parameters; the first is the place as stated."""
YEARS = 3
"""Weather years they are run through: the spread of places hardly depends on them."""
OUTER = (0.1, 0.9)


def place_spread(
    weather: "xr.Dataset", board: Board, settings: Sequence[Setting]
) -> dict[str, FloatArray]:
    """Spread of the lowest moisture by month when a place is not quite as stated.

    Parameters
    ----------
    weather : Dataset
        An hourly weather series of a year or more.
    board : Board
        Species and thickness.
    settings : sequence of Setting
        The places.

    Returns
    -------
    dict of str to ndarray, shape (2, 13)
        Under each setting's name: the tenth and ninetieth percentile, over draws of
        its parameters, of the lowest moisture content less that of the place as
        stated, % MC; January to December, then the whole year.

    Notes
    -----
    Latin hypercube over the ranges that `emcforecast settings` states, through the
    last three weather years, each a year spun up.
    """
    hours = YEARS * 8784
    recent = (
        weather.isel(time=slice(-hours, None))
        if weather.sizes["time"] > hours
        else weather
    )
    bank = air_bank(recent, settings, airs=DRAWS)
    zeros = np.zeros(DRAWS)
    members = Members(zeros, np.ones(DRAWS), zeros, np.arange(DRAWS))
    lot = lot_of(board, members)
    days = bank.ring.hours // DAY
    dates = bank.ring.first.astype("datetime64[D]") + np.arange(days)
    months = dates.astype("datetime64[M]").astype(np.int64) % 12
    found = {}
    for number, setting in enumerate(settings):
        run = run_lot(
            bank,
            lot,
            start_state(lot, bank.mean_rest(number)),
            start_row=0,
            setting=number,
            days=2 * days,
        )
        least = _lowest(run.mean[days : 2 * days], months)
        found[setting.name] = np.quantile(least - least[:, :1], OUTER, axis=1)
    return found


def _lowest(daily: FloatArray, months: NDArray[np.int64]) -> FloatArray:
    """Lowest by month and of the whole, shape (13, draws), from daily values."""
    rows = [daily[months == month].min(axis=0) for month in range(12)]
    return np.array([*rows, daily.min(axis=0)])
