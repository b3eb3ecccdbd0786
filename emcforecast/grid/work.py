"""A whole map: planned, computed block by block, written, gone on with."""

import tempfile
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from math import prod
from pathlib import Path
from typing import Any

import xarray as xr

from emcforecast._types import Progress
from emcforecast.grid.blocks import Region, decodings, plan_blocks
from emcforecast.grid.run import (
    LARGEST_KEPT,
    LARGEST_KEPT_OF_RECORDS,
    give_back_memory,
    run_blocks,
)
from emcforecast.grid.series import STEPS
from emcforecast.grid.spool import OFTEN, remove_spool, spooled
from emcforecast.grid.store import prepare_store

Answer = Callable[..., xr.Dataset]
"""From one grid series or more, or the same part of each, to their lazy answer."""


WORTH_SECONDS = 12.0
"""Processor time of boards from which processes are worth their start."""
YEAR_SECONDS, REBUILT_SECONDS, CLIMATOLOGY_SECONDS = 0.010, 0.035, 0.016
"""What a cell takes: a year of hours, of days or months made hours, a climatology."""
DAY_HOURS = 24.0


@dataclass(frozen=True)
class Work:
    """How a map is computed, apart from what is asked.

    Parameters
    ----------
    threads : int or None
        Blocks computed at a time; one for each core when None.
    processes : bool
        Compute a long job in processes. They import the main module anew, so a script
        that asks for it keeps its own doing behind ``if __name__ == "__main__":``.
    scheduler : str or None
        Address of a dask.distributed scheduler.
    resume : bool
        Go on with an interrupted run.
    progress : callable or None
        Called with the fraction done and what is being done.
    say : callable or None
        Told the dashboard's address.
    """

    threads: int | None = None
    processes: bool = False
    scheduler: str | None = None
    resume: bool = False
    progress: Progress | None = None
    say: Callable[[str], None] | None = None


def work_through(
    grids: Sequence[xr.Dataset],
    answer: Answer,
    question: Mapping[str, Any],
    output: Path | None = None,
    work: Work = Work(),
    *,
    streamed: bool = False,
) -> xr.Dataset:
    """Compute a map block by block; memory stays bounded whatever the grid's size.

    Parameters
    ----------
    grids : sequence of Dataset
        Grid series over the same cells; the first is planned for.
    answer : callable
        `emcforecast.floor_grid` with its question, say; it is given as many.
    question : mapping
        All that the numbers depend on: an interrupted run is gone on with only where
        it is the same.
    output : Path, optional
        A zarr store or NetCDF file; without one the map is returned in memory.
    work : Work
        Threads, cluster, resuming, progress.
    streamed : bool
        The answer reads time chunk by chunk (`emcforecast.grid.blocks.plan_blocks`).

    Returns
    -------
    Dataset
        The map; lazy where it was written.
    """
    plan = plan_blocks(max(grids, key=_length), streamed=streamed)
    whole = {**question, "grids": list(map(_identity, grids)), "blocks": plan.block}
    with ExitStack() as stack:
        if output is None:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
            path = folder / "map.zarr"
        else:
            path = output
        store = prepare_store(path, answer(*grids), plan, whole, resume=work.resume)
        spools = [
            store.store.with_name(f"{store.store.name}.spool{k}")
            for k in range(len(grids))
        ]
        todo = [
            (number, region)
            for number, region in enumerate(plan.regions())
            if number not in store.ledger.done
        ]
        laid = list(grids)
        if not streamed and todo:
            laid = [
                spooled(ds, plan, spool, work.progress)
                if decodings(ds, plan) > OFTEN
                else ds
                for ds, spool in zip(grids, spools, strict=True)
            ]
            give_back_memory()
        run_blocks(
            todo,
            lambda region: answer(*(ds.isel(region) for ds in laid)),
            store.write,
            threads=work.threads,
            processes=work.processes and not streamed and _is_long(grids, todo),
            scheduler=work.scheduler,
            largest_kept=LARGEST_KEPT if streamed else LARGEST_KEPT_OF_RECORDS,
            progress=work.progress,
            say=work.say,
        )
        result = store.finish()
        for spool in spools:
            remove_spool(spool)
        return result.load() if output is None else result


def _is_long(grids: Sequence[xr.Dataset], blocks: Sequence[tuple[int, Region]]) -> bool:
    """Whether boards of these blocks take longer than processes take to start."""
    cells = sum(
        prod(part.stop - part.start for part in region.values())
        for _number, region in blocks
    )
    seconds: float = cells * sum(map(_cell_seconds, grids))
    return seconds >= WORTH_SECONDS


def _cell_seconds(ds: xr.Dataset) -> float:
    """Return the processor time of one cell's boards, s (docs/maps.md)."""
    step = STEPS[ds.attrs["step"]]
    if ds.attrs["step"] == "climatology":
        return CLIMATOLOGY_SECONDS
    years = step * ds.sizes["time"] / 8766.0
    return years * (YEAR_SECONDS if step < DAY_HOURS else REBUILT_SECONDS)


def _length(ds: xr.Dataset) -> int:
    return ds.sizes["time"]


def _identity(ds: xr.Dataset) -> dict[str, Any]:
    """Tell a grid from another without reading its weather."""
    times = ds["time"].to_numpy()
    return {
        "sizes": {str(k): int(v) for k, v in ds.sizes.items()},
        "times": [str(times[0]), str(times[-1])],
        "variables": sorted(map(str, ds.data_vars)),
        "latitude": [float(ds["latitude"].min()), float(ds["latitude"].max())],
        "longitude": [float(ds["longitude"].min()), float(ds["longitude"].max())],
        "source": str(ds.attrs.get("source", "")),
    }
