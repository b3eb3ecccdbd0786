"""Maps against decoding alone and plain xarray, as ratios in one run.

``python -m pytest tests/benchmarks/test_bench_map.py --benchmark-enable -n 0`` keeps
the ratios under "extra_info", by processor time, the best of several rounds. As an
ordinary test a small store is read once and only the numbers are checked.
"""

import importlib.util
import sys
import time
from pathlib import Path

import dask
import dask.array as da
import numpy as np
import pytest
import xarray as xr

from emcforecast.grid.emc import emc_grid
from emcforecast.grid.read import open_grid
from emcforecast.grid.run import keep_freed_memory
from emcforecast.grid.series import PLACE_ATTRS
from emcforecast.grid.work import Work, work_through
from emcforecast.weather.series import cf_attributes


def map_run():
    file = Path(__file__).with_name("map_run.py")
    spec = importlib.util.spec_from_file_location("map_run", file)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def packed_store(path, side, years):
    """Hourly air of made weather in two bytes a value, as archives pack it."""
    rng = np.random.default_rng(1)
    times = np.arange("2001-01", f"{2001 + years}-01", dtype="datetime64[h]")
    hour = np.arange(times.size)
    warm = 10 - 10 * np.cos(2 * np.pi * hour / 8766) - 4 * np.cos(2 * np.pi * hour / 24)
    t = warm[:, None, None] + rng.normal(0, 3, (times.size, side, side))
    h = np.clip(75 - 1.5 * (t - 10) + rng.normal(0, 8, t.shape), 5, 100)
    place = {
        "latitude": 50 - 0.1 * np.arange(side),
        "longitude": 5 + 0.1 * np.arange(side),
    }
    grid = xr.Dataset(
        {
            name: (
                ("time", "latitude", "longitude"),
                values,
                cf_attributes(name, "hour"),
            )
            for name, values in (("air_temperature", t), ("relative_humidity", h))
        },
        coords={"time": times.astype("datetime64[ns]")}
        | {k: (k, v, PLACE_ATTRS[k]) for k, v in place.items()},
        attrs={"step": "hour", "kind": "reanalysis", "source": "made", "repairs": "[]"},
    )
    packing = {
        "dtype": "int16", "scale_factor": 200 / 65536, "add_offset": 50.0,
        "_FillValue": -32768, "chunks": (744, min(side, 32), min(side, 32)),
    }  # fmt: skip
    grid.to_zarr(path, zarr_format=2, encoding=dict.fromkeys(grid.data_vars, packing))
    return xr.open_zarr(path)


def deflated_file(path, side, years):
    """The same in deflated NetCDF of four bytes a value, as ERA5 is sent."""
    grid = packed_store(path.with_suffix(".zarr"), side, years)
    whole = grid.astype("float32")
    for variable in whole.variables.values():
        variable.encoding = {}
    chunks = {"time": 744, "latitude": min(side, 32), "longitude": min(side, 32)}
    packing = {
        "zlib": True, "complevel": 1, "shuffle": True,
        "chunksizes": tuple(chunks.values()),
    }  # fmt: skip
    whole.to_netcdf(
        path, engine="netcdf4", encoding=dict.fromkeys(whole.data_vars, packing)
    )
    held = xr.open_dataset(path, engine="netcdf4", chunks=chunks)
    return held.assign({name: held[name].astype(float) for name in held.data_vars})


STORES = {"zarr": packed_store, "nc": deflated_file}


def decode(grid):
    """Decode every chunk and keep nothing."""
    ends = [
        da.map_blocks(
            lambda a: np.zeros((1, 1, 1)), grid[name].data,
            chunks=(1, 1, 1), dtype=float, meta=np.empty((0, 0, 0)),
        )
        for name in grid.data_vars
    ]  # fmt: skip
    dask.compute(*ends, scheduler="threads", num_workers=2)


def plain(grid):
    """Work the same out in xarray's own operations."""
    t, h = grid["air_temperature"].clip(min=-1.1), grid["relative_humidity"] / 100
    w, k = 349 + t * (1.29 + t * 0.0135), 0.805 + t * (0.000736 - t * 2.73e-6)
    k1, k2 = 6.27 - t * (0.00938 + t * 0.000303), 1.91 + t * (0.0407 - t * 0.000293)
    x = k * h
    emc = 1800 / w * (x / (1 - x) + (k1 * x + 2 * k1 * k2 * x**2)
                      / (1 + k1 * x + k1 * k2 * x**2))  # fmt: skip
    months = emc.resample(time="MS")
    found = xr.Dataset({"mean": months.mean(), "least": months.min()})
    return found.compute(scheduler="threads", num_workers=2)


def ours(grid):
    return emc_grid(grid, utc_offset=0.0).compute(scheduler="threads", num_workers=2)


def spent(function, grid, rounds):
    found = []
    for _ in range(rounds):
        begin = time.process_time()
        function(grid)
        found.append(time.process_time() - begin)
    return min(found)


@pytest.mark.parametrize("kind", STORES)
def test_bench_emc(benchmark, tmp_path, kind):
    """Decoding alone, EMC with monthly minimum, and xarray's own way to it."""
    full = benchmark.enabled
    make = STORES[kind]
    keep_freed_memory()  # For both: as every run of a map does.
    path = tmp_path / f"air.{kind}"
    grid = make(path, 64 if full else 4, 2 if full else 1)
    read = open_grid(path)  # As `emcforecast map` opens it, checks and all.
    found = benchmark.pedantic(ours, (read,), rounds=1, warmup_rounds=1)
    reference = plain(grid)
    month = reference["time"].dt.month
    middle = reference["least"].groupby(month).median("time")
    np.testing.assert_allclose(
        found["emc_lowest_p50"], middle.transpose(*found["emc_lowest_p50"].dims),
        atol=0.02,
    )  # fmt: skip
    if full:
        alone = spent(decode, grid, 5)
        mine = spent(ours, read, 5)
        benchmark.extra_info |= {
            "over decoding alone": mine / alone,
            "xarray's operations over it": spent(plain, grid, 1) / mine,
        }
    grid.close()


def test_bench_boards(benchmark, tmp_path):
    """Boards of some cells; what 64 × 64 cells and ten years would take."""
    full = benchmark.enabled
    years, cells = (10, 32) if full else (1, 4)
    run = map_run()
    path = tmp_path / "air.zarr"
    run.make_store(path, years, cells)
    grid = run.open_store(path)
    begin = time.perf_counter(), time.process_time()
    found = benchmark.pedantic(
        work_through, ([grid], run.boards, {}, None, Work(threads=2)), rounds=1
    )
    clock, worked = time.perf_counter() - begin[0], time.process_time() - begin[1]
    assert np.isfinite(found["lowest_p50"]).all()
    benchmark.extra_info |= {
        "minutes of 64 × 64 cells, ten years, by the clock": clock
        / (years * cells) * 40960 / 60,
        "the same, processor time over two cores": worked
        / (years * cells) * 40960 / 120,
    }  # fmt: skip
