"""The moisture of one board lying in one air."""

from typing import TYPE_CHECKING

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.ensemble.board_runs import prepare_airs, run_ensemble
from emcforecast.ensemble.resolution import THICKEST_PLAIN
from emcforecast.errors import WeatherError
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr

YEAR = 8760
"""Hours of a year of the air; a leap day shifts the next chunk, harmlessly."""
AT_REST = 0.01
"""% MC: a year that starts and ends within this is at rest."""
MOST_ROUNDS = 400


def simulate(
    air: "xr.Dataset", board: Board, start_mc: float | None = None
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

    _require_hourly(air)
    airs = prepare_airs([air])
    start = 100.0 * board.start_content(start_mc)
    paths = run_ensemble(
        airs,
        board,
        air_index=[0],
        start_hour=[0],
        steps=airs.hours - 1,
        start_mc=start,
        every=1,
        fine=True,
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
        attrs=_board_attrs(board) | {"start_mc": start},
    )


def running_emc(air: "xr.Dataset", board: Board) -> "xr.DataArray":
    """Moisture content of an already dry board that lies in an air for good.

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

    _require_hourly(air)
    values = _spun_up(air, board)
    return xr.DataArray(
        values,
        coords={"time": air["time"]},
        dims="time",
        name="running_emc",
        attrs=_labels("running moisture content") | _board_attrs(board),
    )


def _spun_up(air: "xr.Dataset", board: Board) -> FloatArray:
    airs = prepare_airs([air])
    hours = airs.hours
    span = min(YEAR, hours)
    starts = np.arange(0, hours, span)
    guess = equilibrium_moisture_content(
        air["air_temperature"].to_numpy()[:span],
        air["relative_humidity"].to_numpy()[:span],
    )
    known = guess[~np.isnan(guess)]
    first = float(known.mean()) if known.size else np.nan
    paths = run_ensemble(
        airs,
        board,
        air_index=np.zeros(starts.size, dtype=np.int64),
        start_hour=starts,
        steps=span,
        start_mc=np.full(starts.size, first),
        every=1,
        fine=board.thickness_mm > THICKEST_PLAIN,
    )
    cells = (paths.state.shape[0] - 3) // 2
    begun = np.full((cells, starts.size), first / 100.0)
    for _ in range(MOST_ROUNDS):
        # Each year now begins where the one before ended; the first, where it ended.
        joined = paths.state[:, np.maximum(np.arange(starts.size) - 1, 0)]
        same = 100.0 * np.abs(joined[:cells] - begun) < AT_REST
        if np.all(same | (np.isnan(joined[:cells]) & np.isnan(begun))):
            break
        begun = joined[:cells].copy()
        paths = run_ensemble(
            airs,
            board,
            air_index=np.zeros(starts.size, dtype=np.int64),
            start_hour=starts,
            steps=span,
            state=joined,
            every=1,
        )
    return paths.mean[:-1].T.reshape(-1)[:hours]


def _require_hourly(air: "xr.Dataset") -> None:
    step = air.attrs.get("step", "hour")
    if step != "hour":
        raise WeatherError(
            f"a board needs hourly air; this series is by the {step}. Rebuild it with "
            "hourly_from_monthly first."
        )


def _labels(title: str) -> dict[str, str]:
    return {"units": "%", "long_name": f"{title}, % of oven-dry mass"}


def _board_attrs(board: Board) -> dict[str, float | str]:
    return {"species": str(board.species), "thickness_mm": board.thickness_mm}
