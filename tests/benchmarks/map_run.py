"""A map of so many years and cells in a process of its own: seconds and memory.

``python map_run.py FOLDER YEARS CELLS THREADS`` prints JSON.
"""

import json
import resource
import sys
import time
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast.grid.floor import floor_grid
from emcforecast.grid.series import PLACE_ATTRS
from emcforecast.grid.work import Work, work_through
from emcforecast.weather.series import cf_attributes

CHUNK = 4


def make_store(path: Path, years: int, cells: int) -> None:
    """Write hourly air of made weather, the years one after another."""
    rng = np.random.default_rng(7)
    times = np.arange("1980-01-01", f"{1980 + years}-01-01", dtype="datetime64[h]")
    hour = np.arange(times.size)
    warm = 9.0 - 10.0 * np.cos(2 * np.pi * hour / 8766.0)
    warm -= 4.0 * np.cos(2 * np.pi * (hour - 3) / 24.0)
    days = rng.normal(0.0, 4.0, (times.size // 24 + 1, 2)).repeat(24, 0)[: times.size]
    t = warm + days[:, 0]
    h = np.clip(76.0 - 1.6 * (t - warm) - 0.8 * (warm - 9.0) + days[:, 1], 8.0, 99.0)
    columns = cells // CHUNK
    off = np.arange(cells).reshape(CHUNK, columns) * 0.02
    place = {
        "latitude": 50.0 - 0.1 * np.arange(CHUNK),
        "longitude": 5.0 + 0.1 * np.arange(columns),
    }
    for first in range(0, columns, CHUNK):
        part = off[:, first : first + CHUNK]
        grid = xr.Dataset(
            {
                name: (
                    ("time", "latitude", "longitude"),
                    (values[:, None, None] + sign * part).astype(np.float32),
                )
                for name, values, sign in (
                    ("air_temperature", t, 1.0),
                    ("relative_humidity", h, -0.5),
                )
            },
            coords={"time": times.astype("datetime64[ns]")}
            | {"latitude": place["latitude"]}
            | {"longitude": place["longitude"][first : first + CHUNK]},
        )
        chunks = (8766, CHUNK, CHUNK)
        if first == 0:
            grid.to_zarr(
                path, mode="w", zarr_format=2, consolidated=False,
                encoding={name: {"chunks": chunks} for name in grid.data_vars},
            )  # fmt: skip
        else:
            grid.to_zarr(path, append_dim="longitude", consolidated=False)


def open_store(path: Path) -> xr.Dataset:
    """Open it as a grid series."""
    raw = xr.open_zarr(path, consolidated=False)
    grid = raw.astype(np.float64)
    for name in grid.data_vars:
        grid[name].attrs = cf_attributes(str(name), "hour")
    for name in ("latitude", "longitude"):
        grid[name].attrs = PLACE_ATTRS[name]
    return grid.assign_attrs(
        step="hour", kind="reanalysis", source="made weather", repairs="[]"
    )


def boards(ds: xr.Dataset) -> xr.Dataset:
    """Larch in a loft."""
    return floor_grid(ds, "European larch", 27, "shed=loft")


def main() -> None:
    """Make the store where it is missing, compute the map, print what it took."""
    folder, years, cells, threads = Path(sys.argv[1]), *map(int, sys.argv[2:])
    store = folder / f"weather-{years}-{cells}.zarr"
    if not store.exists():
        make_store(store, years, cells)
        print(json.dumps({}))
        return
    begin = time.perf_counter(), time.process_time()
    work_through([open_store(store)], boards, {}, None, Work(threads=threads))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(
        json.dumps(
            {
                "seconds": time.perf_counter() - begin[0],
                "processor_seconds": time.process_time() - begin[1],
                "peak_mb": peak,
            }
        )
    )


if __name__ == "__main__":
    main()
