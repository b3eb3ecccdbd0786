"""A grid cut by time laid out anew by cells, once, so that no chunk is read twice."""

import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast._types import Progress
from emcforecast.files import exists
from emcforecast.grid.blocks import Plan
from emcforecast.language import _
from emcforecast.weather.formats.content import whole

OFTEN = 1.5
"""Readings of each part of the store from which on laying it out anew pays."""
SLAB_BYTES = 64_000_000
"""Weather held at a time."""
DONE = "complete"


def spooled(
    ds: xr.Dataset, plan: Plan, folder: Path, progress: Progress | None = None
) -> xr.Dataset:
    """Return the same grid in chunks of the plan's blocks, written to a folder.

    Parameters
    ----------
    ds : Dataset
        A grid series cut by time.
    plan : Plan
        Its blocks.
    folder : Path
        Made for it; as it is where an earlier run has completed it.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Notes
    -----
    The store is read once, in its own order; disk for the whole weather is needed.
    """
    tell = progress or (lambda fraction, what: None)
    names = [str(n) for n, v in ds.data_vars.items() if "time" in v.dims]
    done = folder.with_name(f"{folder.name}.{DONE}")
    if not exists(done):
        shutil.rmtree(folder, ignore_errors=True)
        slabs = list(_slabs(ds, plan))
        block = {plan.rows: plan.block[0], plan.columns: plan.block[1]}
        length = max(stop - start for start, stop in slabs)
        bare = ds[names].drop_vars(list(ds.coords)).drop_attrs()
        chunks = {"time": length, **block}
        encoding = {
            name: {
                "chunks": tuple(min(chunks[d], ds.sizes[d]) for d in ds[name].dims),
                "compressors": None,
            }
            for name in names
        }
        bare.chunk(chunks).to_zarr(
            folder,
            mode="w",
            compute=False,
            encoding=encoding,
            consolidated=False,
            zarr_format=2,
        )
        for start, stop in slabs:
            rows = slice(start, stop)
            with whole(_("a part of the grid")):
                held = bare.isel(time=rows).load()
            held.to_zarr(folder, region={"time": rows}, consolidated=False)
            tell(stop / ds.sizes["time"], _("laying the grid out by cells"))
        done.touch()
    laid = xr.open_zarr(folder, consolidated=False, decode_timedelta=False)
    for name in names:
        laid[name].attrs = ds[name].attrs
    others = ds.drop_vars(names)
    return others.assign({name: laid[name] for name in names}).assign_attrs(ds.attrs)


def _slabs(ds: xr.Dataset, plan: Plan) -> Iterator[tuple[int, int]]:
    """Yield rows of time to hold at once, along the store's chunks, all of a length."""
    weather = [v for v in ds.data_vars.values() if "time" in v.dims]
    row = sum(v.nbytes // v.sizes["time"] for v in weather)
    most = max(SLAB_BYTES // max(row, 1), 1)
    chunk = max(max(v.chunksizes.get("time", (1,))) for v in weather)
    length = max(most // chunk, 1) * chunk
    bounds = [*np.arange(0, ds.sizes["time"], length), ds.sizes["time"]]
    yield from ((int(a), int(b)) for a, b in pairwise(bounds))


def remove_spool(folder: Path) -> None:
    """Remove what `spooled` wrote, if it did."""
    folder.with_name(f"{folder.name}.{DONE}").unlink(missing_ok=True)
    shutil.rmtree(folder, ignore_errors=True)
