"""One cell of a grid is the point command on the same series, for every place."""

import gc
import tracemalloc

import numpy as np
import pytest
import xarray as xr

import emcforecast
from emcforecast.ensemble.air import storage_air
from emcforecast.ensemble.draws import draw
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.route import Leg, Stack
from emcforecast.errors import InputError
from emcforecast.grid.blocks import HOUR_BYTES
from emcforecast.grid.cells import STACK_DAYS
from emcforecast.grid.emc import emc_grid
from emcforecast.grid.floor import floor_grid
from emcforecast.physics.moist_air import saturation_vapour_pressure, vapour_pressure
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.storage.kinds import KINDS
from emcforecast.storage.setting_text import parse_setting
from emcforecast.weather.mend.hours_from_means import hourly_from_daily
from emcforecast.wood.board import Board

AGREE = 1e-6
"""% MC: what was asked for; the numbers are the same but for the order of sums."""
EVERY = [
    "emc", "board_mean", "lowest_p10", "lowest_p50", "lowest_p90",
    "year_lowest_p10", "year_lowest_p50", "year_lowest_p90", "year_lowest_month",
]  # fmt: skip


@pytest.fixture(autouse=True)
def _few_draws_of_a_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Spend little on what the command says beside: how far a place may differ."""
    monkeypatch.setattr("emcforecast.ensemble.place_spread.DRAWS", 2)


def same(grid: xr.Dataset, point: xr.Dataset) -> None:
    """Hold a cell to the answer of the command."""
    point = point.sel(place=grid["place"].to_numpy())
    for name in EVERY:
        np.testing.assert_allclose(
            grid[name].to_numpy(), point[name].to_numpy(), rtol=0, atol=AGREE,
            err_msg=name,
        )  # fmt: skip


@pytest.mark.parametrize("step", ["hour", "month", "climatology"])
def test_every_place_of_a_cell_is_that_of_the_command(step, make_grid, as_point):
    kinds = list(KINDS)
    grid = make_grid(1, 2, step=step)
    found = floor_grid(grid, "white oak", "4/4", kinds).compute(scheduler="synchronous")
    assert found["place"].size == len(kinds)
    for column in (0, 1):
        answer = emcforecast.floor(
            as_point(grid, 0, column), "white oak", "4/4", kinds
        ).to_dataset()
        same(found.isel(latitude=0, longitude=column), answer)


@pytest.mark.parametrize("thickness", [6, 80])
def test_thin_and_thick_boards_too(thickness, make_grid, as_point):
    grid = make_grid(1, 1)
    found = floor_grid(grid, "European oak", thickness, "loft").compute()
    answer = emcforecast.floor(as_point(grid, 0, 0), "European oak", thickness, "loft")
    same(found.isel(latitude=0, longitude=0), answer.to_dataset())


def test_days_are_those_of_daily_weather_of_the_place(make_grid):
    grid = make_grid(1, 1, step="day")
    found = floor_grid(grid, settings="shed=loft").compute()
    cell = grid.isel(latitude=0, longitude=0)
    series = hourly_from_daily(
        cell["time"].to_numpy(),
        {str(k): cell[k].to_numpy() for k in cell.data_vars},
        kind="demonstration", source="a cell",
        latitude=47.0, longitude=13.0, utc_offset=1.0,
    )  # fmt: skip
    same(
        found.isel(latitude=0, longitude=0),
        emcforecast.floor(series, settings="shed=loft").to_dataset(),
    )
    assert found.attrs["rebuilt_from"] == "day"


def test_air_that_runs_straight_between_three_hours_is_bridged_exactly(make_grid):
    names = ("air_temperature", "relative_humidity")
    coarse = make_grid(1, 1, step="3-hour", variables=names)
    hourly = make_grid(1, 1, variables=names).isel(time=slice(0, -2))
    at, between = (g["time"].to_numpy().astype(float) for g in (coarse, hourly))
    knots = {n: coarse[n].to_numpy().ravel() for n in names}
    t = np.interp(between, at, knots["air_temperature"])
    e = np.interp(between, at, vapour_pressure(*knots.values()))
    h = np.minimum(100.0 * e / saturation_vapour_pressure(t), 100.0)
    for name, values in zip(names, (t, h), strict=True):
        hourly[name] = hourly[name].copy(data=values[:, None, None])
    whole, bridged = (floor_grid(g, settings="shed=loft") for g in (hourly, coarse))
    for name in ("emc", "lowest_p50", "year_lowest_p50"):
        np.testing.assert_allclose(whole[name], bridged[name], atol=1e-6)


def test_a_green_stack_is_that_of_the_ensemble_with_nothing_drawn(make_grid, as_point):
    grid = make_grid(1, 2, days=1096)
    found = floor_grid(
        grid, "European larch", 27, "shed=loft", targets=14, stacked="04-01"
    ).compute()
    for column in (0, 1):
        air = storage_air(
            as_point(grid, 0, column), [parse_setting("shed=loft")], draws=1
        )
        begun = np.datetime64("2031-04-01")
        runs = follow(
            air, Stack(Board("European larch", 27), (Leg(0, begun),)), STACK_DAYS,
            members=draw(1, 1), pairing="cross",
        )  # fmt: skip
        for k, mc in enumerate((20.0, 14.0)):
            days = np.sort(runs.first_below(mc))
            cell = found.isel(place=0, content=k, latitude=0, longitude=column)
            assert days.size == 3
            assert float(cell["days_to_p50"]) == pytest.approx(days[1], abs=1e-6)
            assert float(cell["share_dried"]) == np.isfinite(days).mean()


def test_shares_count_the_years(make_grid):
    grid = make_grid(1, 1, days=1461)
    targets = (10.0, 11.0, 12.0, 13.0, 14.0, 16.0, 20.0)
    found = floor_grid(grid, settings="shed", targets=targets).compute()
    share = found["share_of_years"].isel(place=0, latitude=0, longitude=0).to_numpy()
    assert set(np.unique(share)) <= {0.0, 0.25, 0.5, 0.75, 1.0}
    assert (np.diff(share) >= 0.0).all()
    low = float(found["year_lowest_p50"].isel(place=0, latitude=0, longitude=0))
    assert share[np.array(targets) < low - 3.0].max(initial=0.0) == 0.0
    assert share[-1] == 1.0


def test_emc_outdoors_is_the_formula_by_month_of_local_time(make_grid):
    grid = make_grid(1, 2).chunk({"time": 999})
    found = emc_grid(grid).compute()
    for column, offset in ((0, 1), (1, 2)):
        cell = grid.isel(latitude=0, longitude=column)
        emc = equilibrium_moisture_content(
            cell["air_temperature"].to_numpy(), cell["relative_humidity"].to_numpy()
        )
        local = cell["time"].to_numpy() + np.timedelta64(offset, "h")
        months = local.astype("datetime64[M]")
        for month in (1, 7):
            mine = [
                emc[months == m]
                for m in np.unique(months)
                if m.astype(int) % 12 == month - 1 and (months == m).sum() > 700
            ]
            at = found.isel(latitude=0, longitude=column).sel(month=month)
            assert float(at["emc"]) == pytest.approx(np.concatenate(mine).mean())
            middle = np.median([part.mean() for part in mine])
            assert float(at["emc_p50"]) == pytest.approx(middle)
            middle = np.median([part.min() for part in mine])
            assert float(at["emc_lowest_p50"]) == pytest.approx(middle)


def test_emc_of_a_climatology_is_the_published_formula(make_grid):
    grid = make_grid(2, 2, step="climatology")
    found = emc_grid(grid).compute()
    assert list(found.data_vars) == ["emc"]
    expected = equilibrium_moisture_content(
        grid["air_temperature"].to_numpy(), grid["relative_humidity"].to_numpy()
    )
    np.testing.assert_allclose(found["emc"].to_numpy(), expected, atol=1e-9)


def test_a_cell_takes_no_more_memory_than_blocks_are_planned_by(make_grid):
    """A record of 12 years, measured by the interpreter's own count of bytes."""
    names = ("air_temperature", "relative_humidity")
    grid = make_grid(1, 1, days=4383, variables=names)
    answer = floor_grid(grid, "European larch", 27, "shed=loft")
    answer.compute(scheduler="synchronous")  # Tables and kernels are there from now on.
    gc.collect()
    tracemalloc.start()
    floor_grid(grid, "European larch", 27, "shed=loft").compute(scheduler="synchronous")
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most / grid.sizes["time"] < HOUR_BYTES


def test_masked_cells_stay_masked(make_grid):
    grid = make_grid(2, 2, masked=((0, 1),), days=366)
    for found in (
        floor_grid(grid, settings="shed", targets=12, stacked="04-01").compute(),
        emc_grid(grid).compute(),
    ):
        sea = found.isel(latitude=0, longitude=1)
        assert all(np.isnan(sea[name]).all() for name in sea.data_vars)
        land = found.isel(latitude=1, longitude=1)["emc"]
        assert np.isfinite(land).all()


def test_short_gaps_are_bridged_and_long_ones_leave_the_cell_empty(make_grid):
    grid = make_grid(1, 3, days=366)
    whole = floor_grid(grid, settings="shed").compute()
    air = grid["air_temperature"].to_numpy().copy()
    air[100:103, 0, 1] = np.nan
    air[2000:4000, 0, 2] = np.nan
    holed = floor_grid(
        grid.assign(air_temperature=grid["air_temperature"].copy(data=air)),
        settings="shed",
    ).compute()
    off = np.abs(holed["lowest_p50"] - whole["lowest_p50"]).isel(latitude=0)
    assert float(off.isel(longitude=0).max()) == 0.0
    assert float(off.isel(longitude=1).max()) < 0.05
    assert np.isnan(holed["lowest_p50"].isel(latitude=0, longitude=2)).all()


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"years": (2001, 2002)}, "2007"),
        ({"stacked": "31-31"}, "04-01"),
        ({"targets": 0.5}, "target"),
        ({"settings": "lofft"}, "loft"),
        ({"species": "oka"}, "oak"),
        ({"utc_offset": 30.0}, "utc_offset"),
    ],
)
def test_refusals_say_what_to_do(asked, said, make_grid):
    with pytest.raises(InputError, match=said):
        floor_grid(make_grid(1, 1), **asked)


def test_less_than_a_year_and_a_hole_of_years_are_refused(make_grid):
    with pytest.raises(InputError, match="whole year"):
        floor_grid(make_grid(1, 1, days=200))
    grid = make_grid(1, 1, days=1461)
    first, last = np.datetime64("2008-06"), np.datetime64("2009-06")
    times = grid["time"].to_numpy()
    with pytest.raises(InputError, match="--against"):
        floor_grid(grid.isel(time=(times < first) | (times > last)))
