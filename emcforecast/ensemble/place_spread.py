"""Uncertainty of a place itself, apart from the weather years."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.air import local_offset, table_of
from emcforecast.ensemble.boards import boards_as_stated, start_state
from emcforecast.ensemble.calendar import DAY_HOURS, weather_years
from emcforecast.ensemble.run_boards import AirTables, run_boards
from emcforecast.storage.draws import air_members
from emcforecast.storage.drivers import Drivers
from emcforecast.storage.settings import Setting
from emcforecast.wood.board import Board

DRAWS = 12
"""Draws of a place's parameters; the first is the place as stated."""
YEARS = 3
"""Weather years they are run through: the spread of places hardly depends on them."""
OUTER = (0.1, 0.9)


def place_spread(
    weather: xr.Dataset,
    drivers: Drivers,
    board: Board,
    places: Sequence[Setting],
    stated: AirTables,
) -> list[FloatArray]:
    """Spread of the lowest moisture by month when a place differs from what is stated.

    Parameters
    ----------
    weather : Dataset
        An hourly weather series of a year or more.
    drivers : Drivers
        Of that weather.
    board : Board
        Species and thickness.
    places : sequence of Setting
        The places.
    stated : AirTables
        Air of every place as stated, over the whole series.

    Returns
    -------
    list of ndarray, shape (2, 13)
        For each place: the tenth and ninetieth percentile, over draws of its
        parameters, of the lowest moisture content less that of the place as stated,
        % MC; January to December, then the whole year.

    Notes
    -----
    Latin hypercube over the ranges that `emcforecast settings` states, through the
    last three weather years, each a year spun up.
    """
    hours = stated.hours
    recent = slice(max(hours - YEARS * 8784, 0), hours)
    late = weather.isel(time=recent)
    late_drivers = replace(drivers, table=drivers.table[recent])
    years = weather_years(late["time"].to_numpy(), local_offset(weather))
    kept = slice(years.skipped, years.skipped + years.hours)
    days = years.hours // DAY_HOURS
    dates = years.first.astype("datetime64[D]") + np.arange(days)
    months = dates.astype("datetime64[M]").astype(np.int64) % 12
    tables, transfer, film = [], [], []
    for number, place in enumerate(places):
        drawn = air_members(late, place, DRAWS, drivers=late_drivers, first=1)
        as_stated = stated.table[number, recent][None]
        tables.append(np.concatenate([as_stated, table_of(drawn)])[:, kept])
        transfer += [stated.surface_transfer[number], *drawn["surface_transfer"].values]
        film += [stated.rain_film[number], *drawn["rain_film"].values]
    air = AirTables(np.concatenate(tables), np.array(transfer), np.array(film))
    boards = boards_as_stated([board] * (DRAWS * len(places)))
    settled = [np.nanmean(stated.table[k, recent, 4]) for k in range(len(places))]
    path = run_boards(
        air,
        boards,
        start_state(boards, np.repeat(settled, DRAWS)),
        air_index=np.arange(boards.count),
        start_row=0,
        hours=2 * days * DAY_HOURS,
    ).mean[days : 2 * days]
    least = _lowest(path, months).reshape(13, len(places), DRAWS)
    low, high = np.quantile(least - least[:, :, :1], OUTER, axis=2)
    return [np.array([low[:, k], high[:, k]]) for k in range(len(places))]


def _lowest(daily: FloatArray, months: IntArray) -> FloatArray:
    """Lowest by month and of the whole, shape (13, draws), from daily values."""
    rows = [daily[months == month].min(axis=0) for month in range(12)]
    return np.array([*rows, daily.min(axis=0)])
