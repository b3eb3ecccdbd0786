"""The moisture of one board in one air."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.ensemble.boards import boards_as_stated, start_state
from emcforecast.ensemble.run_boards import AirTables, air_tables, run_boards
from emcforecast.physics.diffusion import FINE_CELLS
from emcforecast.weather.accept import WeatherLike, air_series
from emcforecast.weather.series import CONVENTIONS, origin_of
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr

YEAR = 8760
"""Hours of a year of the air; a leap day shifts the next chunk, harmlessly."""
AT_REST = 0.01
"""% MC: a year that starts and ends within this is at rest."""
MOST_ROUNDS = 400


def simulate(
    air: WeatherLike, board: Board, start_mc: float | None = None
) -> "xr.Dataset":
    """Follow a board through an air, hour by hour.

    Parameters
    ----------
    air : Dataset
        Hourly air at the wood from `emcforecast.storage.air.air_in`, or a weather
        series.
    board : Board
        Species and thickness.
    start_mc : float, optional
        Moisture content at the first hour, % of oven-dry mass; green when left out.

    Returns
    -------
    Dataset
        ``mean``, ``shell`` (outer 2 mm of each face; of thin boards the outer sixth)
        and ``core`` (inner third) at the start of each hour, % of oven-dry mass.

    Raises
    ------
    InputError
        When the start cannot be a moisture content.
    WeatherError
        When the air is not hourly.

    Notes
    -----
    See `emcforecast.physics.boards.advance`; 24 cells over half the thickness.
    Where the air is missing the board is missing from there on.

    Examples
    --------
    >>> from emcforecast.weather.read import read_weather  # doctest: +SKIP
    >>> simulate(read_weather("demo"), Board("ash", "4/4"), 60.0)  # doctest: +SKIP
    """
    import xarray as xr

    air = air_series(air)
    airs, boards = air_tables([air]), boards_as_stated([board])
    content = board.start_content(start_mc)
    paths = run_boards(
        airs,
        boards,
        start_state(boards, content, FINE_CELLS),
        air_index=0,
        start_row=0,
        hours=airs.hours - 1,
        every=1,
        wrap=False,
        threads=1,
    )
    names = {
        "mean": "moisture content of the whole board",
        "shell": "moisture content of the shell",
        "core": "moisture content of the core",
    }
    return xr.Dataset(
        {
            name: ("time", getattr(paths, name)[:, 0], _labels(title))
            for name, title in names.items()
        },
        coords={"time": air["time"]},
        attrs={"Conventions": CONVENTIONS, **_origin(air), **_board_attrs(board)}
        | {"start_mc": 100.0 * content},
    )


def running_emc(air: WeatherLike, board: Board) -> "xr.DataArray":
    """Moisture content of an already dry board that stays in an air for good.

    Parameters
    ----------
    air : Dataset
        Hourly air at the wood.
    board : Board
        Species and thickness.

    Returns
    -------
    DataArray
        Mean moisture content at the start of each hour, % of oven-dry mass.

    Raises
    ------
    WeatherError
        When the air is not hourly.

    Notes
    -----
    The first year is repeated until no cell of the board differs by 0.01 % MC
    between its start and its end; a series shorter than a year is repeated whole.
    The years run side by side, each from the end of the year before in the round
    before, until the joins agree to the same tolerance: the answer of running them
    one after another, in the time of a few.
    """
    import xarray as xr

    air = air_series(air)
    values = moisture_of_dry_boards(air_tables([air]), board, [0])[0]
    return xr.DataArray(
        values,
        coords={"time": air["time"]},
        dims="time",
        name="running_emc",
        attrs=_labels("running moisture content") | _origin(air) | _board_attrs(board),
    )


def moisture_of_dry_boards(
    airs: AirTables,
    board: Board,
    air_index: ArrayLike,
    *,
    threads: int | None = None,
) -> FloatArray:
    """Return the running moisture content of already dry boards, one in each air.

    Parameters
    ----------
    airs : AirTables
        The airs.
    board : Board
        Species and thickness.
    air_index : array_like of int, shape (n,)
        Which airs.
    threads : int, optional
        All cores when left out.

    Returns
    -------
    ndarray, shape (n, hours)
        Mean moisture content at the start of each hour, % of oven-dry mass. Every air
        is followed until its own years join, whatever others run beside it.
    """
    index = np.asarray(air_index, dtype=np.int64)
    span = min(YEAR, airs.hours)
    starts = np.arange(0, airs.hours, span)
    years = starts.size
    first = [_mean_of_known(airs.table[k, :span, 4]) for k in index]
    result = np.empty((index.size, years, span))
    running = np.arange(index.size)
    state = start_state(
        boards_as_stated([board] * (years * index.size)), np.repeat(first, years)
    )
    cells = (state.shape[0] - 3) // 2
    for _ in range(MOST_ROUNDS):
        count = years * running.size
        path = run_boards(
            airs,
            boards_as_stated([board] * count),
            state,
            air_index=np.repeat(index[running], years),
            start_row=np.tile(starts, running.size),
            hours=span,
            every=1,
            wrap=False,
            threads=threads,
        )
        result[running] = path.mean[:-1].T.reshape(running.size, years, span)
        # Each year begins where the one before ended; the first, where it ended.
        year = np.arange(count) % years
        begun, state = state[:cells], path.state[:, np.arange(count) - (year > 0)]
        joined = 100.0 * np.abs(state[:cells] - begun) < AT_REST
        joined |= np.isnan(state[:cells]) & np.isnan(begun)
        going = ~joined.all(axis=0).reshape(running.size, years).all(axis=1)
        running, state = running[going], state[:, np.repeat(going, years)]
        if not running.size:
            break
    whole: FloatArray = result.reshape(index.size, -1)[:, : airs.hours]
    return whole


def _mean_of_known(values: FloatArray) -> float:
    known = values[~np.isnan(values)]
    return float(known.mean()) if known.size else float("nan")


def _labels(title: str) -> dict[str, str]:
    # CF has no standard name for the moisture content of wood.
    return {
        "units": "%",
        "long_name": f"{title}, % of oven-dry mass",
        "cell_methods": "time: point",
    }


def _origin(air: "xr.Dataset") -> dict[str, str]:
    place = {"setting": str(air.attrs["setting"])} if air.attrs.get("setting") else {}
    return origin_of(air) | place


def _board_attrs(board: Board) -> dict[str, float | str]:
    return {"species": str(board.species), "thickness_mm": board.thickness_mm}
