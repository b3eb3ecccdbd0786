"""How a variable of a file is cut into the chunks that are read at a time."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from math import prod
from typing import Any

import numpy as np
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.language import _

Chunks = Mapping[str, Any] | str | int
CHUNK_BYTES = 8_000_000
"""What small pieces of a file are read together up to, unpacked."""


def as_stored(
    held: xr.DataArray, encoding: Mapping[str, Any], dims: tuple[Hashable, ...]
) -> dict[str, int]:
    """Return chunks that each hold whole pieces of the file; {} where it has none.

    A piece that lies in two chunks would be read and unpacked twice.
    """
    stored = encoding.get("preferred_chunks") or {}
    if held.chunks is not None or not dims or not set(held.dims) <= set(stored):
        return {}
    piece = prod(int(stored[dim]) for dim in held.dims) * np.dtype(float).itemsize
    together = max(CHUNK_BYTES // piece, 1)
    chunks = {str(dim): int(stored[dim]) for dim in held.dims}
    chunks[str(dims[0])] *= together
    return chunks


def chunked(
    held: xr.DataArray,
    chunks: Chunks,
    dims: tuple[Hashable, ...],
    latitude: xr.DataArray,
    longitude: xr.DataArray,
) -> xr.DataArray:
    """Return a variable in chunks as they are asked for, by its dims or their meaning.

    Raises `WeatherError` for a dim that is not there.
    """
    if held.chunks is not None and chunks == "auto":
        return held  # A dataset in pieces already keeps them.
    if not isinstance(chunks, Mapping):
        return held.chunk(chunks)
    names: dict[str, Hashable] = {str(d): d for d in held.dims}
    if dims:
        names["time"] = dims[0]
    for what, place in (("latitude", latitude), ("longitude", longitude)):
        if place.ndim == 1:
            names[what] = place.dims[0]
    unknown = [name for name in chunks if name not in names]
    if unknown:
        raise WeatherError(
            _(
                "chunks are given for '{unknown}'; the grid has {names}",
                unknown=unknown[0],
                names=", ".join(names),
            )
        )
    wanted = {names[name]: size for name, size in chunks.items()}
    return held.chunk({**dict.fromkeys(held.dims, "auto"), **wanted})
