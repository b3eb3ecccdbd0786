"""The same numbers whatever the chunks, threads and interruptions."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_grids import grid_of

from emcforecast.errors import InputError
from emcforecast.grid import blocks, run
from emcforecast.grid.emc import emc_grid
from emcforecast.grid.floor import floor_grid
from emcforecast.grid.ledger import ledger_of
from emcforecast.grid.work import Work, work_through


def boards(ds: xr.Dataset) -> xr.Dataset:
    return floor_grid(ds, "European larch", 27, "shed=loft", targets=12)


def same(one: xr.Dataset, other: xr.Dataset, atol: float = 0.0) -> None:
    assert list(one.data_vars) == list(other.data_vars)
    for name in one.data_vars:
        np.testing.assert_allclose(
            one[name].to_numpy(),
            other[name].to_numpy(),
            rtol=0,
            atol=atol,
            err_msg=name,
        )


@pytest.fixture
def small_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cut grids into blocks of one or two cells."""
    monkeypatch.setattr(blocks, "MOST_CELLS", 2)


CUTS = st.lists(st.integers(1, 4000), min_size=1, max_size=5)


def chunks_of(size: int, cuts: list[int]) -> tuple[int, ...]:
    """Chunks of random lengths that add up."""
    bounds = sorted({0, size, *(c % size for c in cuts)})
    return tuple(np.diff(bounds).tolist())


@pytest.fixture(scope="module")
def grid_and_answers():
    grid = grid_of(3, 2, days=366, masked=((1, 1),))
    return grid, boards(grid).compute(), emc_grid(grid).compute()


@settings(
    max_examples=12, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(time=CUTS, rows=CUTS, columns=CUTS)
def test_any_chunks_give_the_same_numbers(grid_and_answers, time, rows, columns):
    grid, floors, emc = grid_and_answers
    cut = grid.chunk(
        {
            "time": chunks_of(grid.sizes["time"], time),
            "latitude": chunks_of(3, rows),
            "longitude": chunks_of(2, columns),
        }
    )
    same(emc_grid(cut).compute(), emc, 1e-9)
    same(boards(cut).compute(scheduler="synchronous"), floors, 1e-9)


def test_variables_in_chunks_of_their_own(grid_and_answers):
    grid, floors, emc = grid_and_answers
    cut = grid.copy()
    cut["air_temperature"] = grid["air_temperature"].chunk({"time": 700})
    cut["relative_humidity"] = grid["relative_humidity"].chunk({"latitude": 1})
    same(work_through([cut], emc_grid, {}, streamed=True), emc, 1e-9)
    same(work_through([cut], boards, {}), floors, 1e-9)


def test_one_thread_and_many_are_the_same_to_the_bit(make_grid, small_blocks, tmp_path):
    grid = make_grid(3, 2, days=366).chunk({"time": 1000})
    one, many = (
        work_through([grid], boards, {}, tmp_path / f"{n}.zarr", Work(threads=n))
        for n in (1, 3)
    )
    same(one, many)
    assert one.attrs["weather_start"] == "2007-01-01"
    # Nothing is left beside the stores.
    assert sorted(p.name for p in tmp_path.iterdir()) == ["1.zarr", "3.zarr"]


def test_written_maps_are_cf_and_keep_where_they_are_from(
    make_grid, small_blocks, tmp_path
):
    grid = make_grid(2, 2, days=366)
    store = work_through([grid], boards, {}, tmp_path / "a.zarr")
    file = work_through([grid], boards, {}, tmp_path / "a.nc")
    same(store, file)
    for found in (
        store,
        file,
        xr.open_zarr(tmp_path / "a.zarr", decode_timedelta=False),
    ):
        about = found.attrs
        assert about["Conventions"].startswith("CF-1.")
        assert "emcforecast" in about["history"]
        assert about["licence"] == "CC0-1.0"
        assert about["settings"] == "shed=loft"
        assert found["latitude"].attrs["standard_name"] == "latitude"
        assert found["lowest_p50"].attrs["units"] == "%"
        assert found["lowest_p50"].dims[-2:] == ("latitude", "longitude")


class KilledError(RuntimeError):
    """Stands for a kill between two blocks."""


def test_an_interrupted_map_goes_on_and_ends_the_same(
    make_grid, small_blocks, tmp_path, monkeypatch
):
    grid = make_grid(3, 2, days=366).chunk({"time": 500})
    whole = work_through([grid], boards, {"a": 1}, tmp_path / "whole.zarr")
    path = tmp_path / "part.zarr"
    worked = []

    def killed(fraction: float, what: str) -> None:
        if what.startswith("block 2"):
            raise KilledError

    with pytest.raises(KilledError):
        work_through([grid], boards, {"a": 1}, path, Work(progress=killed, threads=1))
    assert ledger_of(path).read_text().count("\n") == 3
    with pytest.raises(InputError, match="--resume"):
        work_through([grid], boards, {"a": 1}, path)
    with pytest.raises(InputError, match="another question"):
        work_through([grid], boards, {"a": 2}, path, Work(resume=True))
    # A kill may cut the last line of the ledger short.
    with ledger_of(path).open("a") as ledger:
        ledger.write("x")
    real = run.run_blocks

    def counting(todo, *rest, **more):
        worked.extend(number for number, _ in todo)
        return real(todo, *rest, **more)

    monkeypatch.setattr("emcforecast.grid.work.run_blocks", counting)
    found = work_through([grid], boards, {"a": 1}, path, Work(resume=True))
    assert len(worked) == 1
    same(found, whole)
    with pytest.raises(InputError, match="is there already"):
        work_through([grid], boards, {"a": 1}, path)
    with pytest.raises(InputError, match="no interrupted map"):
        work_through([grid], boards, {}, tmp_path / "new.zarr", Work(resume=True))


def test_a_store_cut_by_time_is_laid_out_by_cells_once(
    make_grid, tmp_path, small_blocks
):
    grid = make_grid(3, 3, days=366)
    grid.to_zarr(tmp_path / "hourly.zarr", encoding={
        name: {"chunks": (183, 3, 3)} for name in grid.data_vars
    }, zarr_format=2)  # fmt: skip
    opened = xr.open_zarr(tmp_path / "hourly.zarr")
    plan = blocks.plan_blocks(opened)
    assert plan.count == 9 or plan.count == 6
    assert blocks.decodings(opened, plan) > 4.0
    told = []
    found = work_through(
        [opened], boards, {}, tmp_path / "map.zarr",
        Work(progress=lambda _, what: told.append(what)),
    )  # fmt: skip
    assert any("laying" in what for what in told)
    same(found, boards(grid).compute(), 1e-9)
    assert {p.name for p in tmp_path.iterdir()} == {"hourly.zarr", "map.zarr"}


@pytest.mark.parametrize(
    ("whole", "most", "block"),
    [((10, 10), 100, (10, 10)), ((10, 10), 30, (3, 10)), ((10, 10), 4, (1, 4)),
     ((2, 3), 12, (2, 6)), ((1, 1), 1000, (7, 9))],  # 7 × 9: at most 64 joined
)  # fmt: skip
def test_blocks_are_chunks_or_even_parts_of_them(make_grid, whole, most, block):
    grid = make_grid(1, 1, days=366).isel(
        latitude=np.zeros(8 if whole[0] < 10 else 20, int),
        longitude=np.zeros(9 if whole[0] < 10 else 20, int),
    )
    grid = grid.chunk({"latitude": whole[0], "longitude": whole[1]})
    cell = sum(v.nbytes for v in grid.data_vars.values()) // grid["latitude"].size
    cell //= grid["longitude"].size
    plan = blocks.plan_blocks(grid, most * cell)
    assert plan.block == block
    covered = np.zeros(plan.sizes, int)
    for region in plan.regions():
        covered[tuple(region.values())] += 1
    assert (covered == 1).all()
    assert plan.count == len(list(plan.regions()))


@pytest.mark.parametrize("name", ["map.png", "map"])
def test_outputs_of_other_endings_are_refused(make_grid, tmp_path, name):
    with pytest.raises(InputError, match=r"\.zarr or \.nc"):
        work_through([make_grid(1, 1, days=366)], boards, {}, tmp_path / name)
