"""How a grid is cut: time in one piece, cells in blocks that fit the memory."""

import math
from collections.abc import Hashable, Iterator
from dataclasses import dataclass

import numpy as np
import xarray as xr

from emcforecast.grid.series import spatial_dims

THREAD_BYTES = 150_000_000
"""What a thread may hold: the weather of a block, and one cell being worked out."""
HOUR_BYTES = 400
"""What working out a cell takes for every hour of its record: measured, of two threads
on forty years, with what the heap does not give back."""
COPIES = 3
"""Times the weather of a block is held: in chunks, joined, and turned by cells."""
MOST_CELLS = 256
"""Cells of a block at most; larger chunks of a store are cut."""
JOINED_CELLS = 64
"""Cells that small chunks are joined to, so that every worker has several blocks."""

Region = dict[Hashable, slice]
"""Slices of the two dims of space."""


@dataclass(frozen=True)
class Plan:
    """The blocks of a grid.

    Parameters
    ----------
    rows, columns : str
        The dims of space.
    block : (int, int)
        Rows and columns of a block.
    sizes : (int, int)
        Rows and columns of the grid.
    """

    rows: Hashable
    columns: Hashable
    block: tuple[int, int]
    sizes: tuple[int, int]

    def regions(self) -> Iterator[Region]:
        """Yield every block's slices, row by row."""
        for r in range(0, self.sizes[0], self.block[0]):
            for c in range(0, self.sizes[1], self.block[1]):
                yield {
                    self.rows: slice(r, min(r + self.block[0], self.sizes[0])),
                    self.columns: slice(c, min(c + self.block[1], self.sizes[1])),
                }

    @property
    def count(self) -> int:
        """How many blocks."""
        return math.prod(
            -(-size // step) for size, step in zip(self.sizes, self.block, strict=True)
        )


def plan_blocks(
    ds: xr.Dataset, block_bytes: int | None = None, *, streamed: bool = False
) -> Plan:
    """Plan the blocks of a grid series.

    Parameters
    ----------
    ds : Dataset
        In whatever chunks.
    block_bytes : int, optional
        Most bytes of weather in a block; as many as leave a thread room for a cell
        of this length when left out, so that memory does not grow with the record.
    streamed : bool
        Time is read chunk by chunk and never whole: a block is then never less than a
        chunk of the store.

    Returns
    -------
    Plan
        Blocks are chunks of the store where these are small enough, else parts of
        them, cut evenly.
    """
    rows, columns = spatial_dims(ds)
    weather = [v for v in ds.data_vars.values() if "time" in v.dims]
    cell_bytes = sum(v.sizes["time"] * v.dtype.itemsize for v in weather)
    if block_bytes is None:
        times = ds["time"].to_numpy()
        hours = int((times[-1] - times[0]) / np.timedelta64(1, "h"))
        block_bytes = (THREAD_BYTES - HOUR_BYTES * hours) // COPIES
    most = max(min(block_bytes // max(cell_bytes, 1), MOST_CELLS), 1)
    sizes = ds.sizes[rows], ds.sizes[columns]
    longest = _longest_chunks(ds)
    whole = longest.get(rows, 1), longest.get(columns, 1)
    if math.prod(whole) <= most:
        block = _grown(whole, sizes, min(most, JOINED_CELLS))
    elif streamed:
        block = whole
    else:
        block = _fitting(whole, most)
    return Plan(rows, columns, block, sizes)


def decodings(ds: xr.Dataset, plan: Plan) -> float:
    """Return how often each part of a store is decoded when blocks are read singly."""
    longest = _longest_chunks(ds)
    often = 1.0
    for dim, step in zip((plan.rows, plan.columns), plan.block, strict=True):
        often *= max(longest.get(dim, 1) / step, 1.0)
    return often


def _longest_chunks(ds: xr.Dataset) -> dict[Hashable, int]:
    """Longest chunk along each dim, over the variables; none where nothing is lazy."""
    longest: dict[Hashable, int] = {}
    for variable in ds.data_vars.values():
        for dim, lengths in variable.chunksizes.items():
            longest[dim] = max(longest.get(dim, 1), *lengths)
    return longest


def _fitting(whole: tuple[int, int], most: int) -> tuple[int, int]:
    """Cut a chunk into even parts of at most so many cells, rows first."""
    if whole[1] <= most:
        parts = -(-whole[0] // max(most // whole[1], 1))
        return -(-whole[0] // parts), whole[1]
    parts = -(-whole[1] // most)
    return 1, -(-whole[1] // parts)


def _grown(
    whole: tuple[int, int], sizes: tuple[int, int], most: int
) -> tuple[int, int]:
    """Join chunks to blocks of at most so many cells, along columns first."""
    across = max(min(most // math.prod(whole), -(-sizes[1] // whole[1])), 1)
    columns = min(across * whole[1], sizes[1])
    down = max(min(most // (whole[0] * columns), -(-sizes[0] // whole[0])), 1)
    return min(down * whole[0], sizes[0]), columns


def one_stretch_of_time(ds: xr.Dataset) -> xr.Dataset:
    """Bring time into one chunk, and cells into the blocks of the plan."""
    plan = plan_blocks(ds)
    return ds.chunk({"time": -1, plan.rows: plan.block[0], plan.columns: plan.block[1]})
