"""Boards of every thickness: one moisture at one hour, whichever command asks.

`simulate` runs a board hour by hour on the finest cells; `running_emc` is what `floor`
reads off; `follow` is what `dry`, `plan` and `yard` read off. Each is held against the
first. The bound is what the coarser cells of the ensemble may cost.
"""

from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from emcforecast import dry
from emcforecast.ensemble.air import StorageAir, storage_air
from emcforecast.ensemble.draws import draw
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.route import Leg, Stack
from emcforecast.ensemble.simulate import running_emc, simulate
from emcforecast.storage.air import air_in
from emcforecast.storage.setting_text import as_setting
from emcforecast.weather.read import demonstration
from emcforecast.wood.board import Board
from emcforecast.yard.file import read_yard
from emcforecast.yard.state import yard_state

pytestmark = pytest.mark.usefixtures("worked_out_once")
THICKNESS_MM = (6.0, 13.0, 27.0, 80.0)
BEGUN, START_MC = np.datetime64("2007-03-01"), 18.0
CELLS_COST = 0.05


@cache
def shed_air() -> xr.Dataset:
    return air_in(demonstration(), as_setting("shed"))


@cache
def drawn_air() -> StorageAir:
    return storage_air(demonstration(), [as_setting("shed")])


@cache
def hourly(thickness_mm: float) -> xr.DataArray:
    """Return a shed board's moisture at the start of each local day, % MC."""
    air = shed_air()
    local = np.timedelta64(int(60 * air.attrs["utc_offset"]), "m")
    begun = BEGUN.astype("datetime64[m]") - local
    board = Board("red oak", thickness_mm)
    path = simulate(air.sel(time=slice(begun, None)), board, START_MC)["mean"]
    return path.isel(time=slice(None, None, 24))


@pytest.mark.parametrize("thickness_mm", THICKNESS_MM)
def test_the_ensemble_follows_the_hourly_board(thickness_mm: float) -> None:
    air = drawn_air()
    stack = Stack(Board("red oak", thickness_mm), (Leg(0, BEGUN),), START_MC)
    runs = follow(
        air, stack, 4000, members=draw(1, 1), today=BEGUN + np.timedelta64(4000, "D")
    )
    daily = runs.mean[:4000, 0]
    due = hourly(thickness_mm).to_numpy()[:4000]
    assert np.abs(daily - due).max() < CELLS_COST


@pytest.mark.parametrize("thickness_mm", THICKNESS_MM)
def test_the_floor_is_where_the_hourly_board_settles(thickness_mm: float) -> None:
    running = running_emc(shed_air(), Board("red oak", thickness_mm))
    late = hourly(thickness_mm).sel(time=slice("2016", None))
    assert np.abs(running.sel(time=late["time"]) - late).max() < CELLS_COST


@pytest.mark.parametrize("thickness_mm", THICKNESS_MM)
def test_the_yard_stands_where_dry_says(thickness_mm: float, tmp_path: Path) -> None:
    stacked, today = date(2018, 3, 1), date(2018, 8, 1)
    path = tmp_path / "yard.toml"
    path.write_text(
        f'[[stack]]\nname = "one"\nspecies = "red oak"\n'
        f'thickness = "{thickness_mm:g} mm"\nsawn = {stacked}\nsetting = "shed"\n'
    )
    (one,) = yard_state(read_yard(path), demonstration(), today).stacks
    asked = dry(demonstration(), "red oak", thickness_mm, stacked, "shed", today=today)
    runs = asked.runs
    day = (today - stacked).days
    shown = (one.mean.p10, one.mean.p50, one.mean.p90)
    assert shown == pytest.approx(quantiles(runs.mean[day], runs.weight))
