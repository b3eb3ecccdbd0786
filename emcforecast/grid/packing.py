"""Packed whole numbers of a file, kept so until a chunk is read and then unpacked once.

xarray undoes packing in several passes over the memory, which take most of the time of
reading a fast store; what is packed plainly is unpacked here in one.
"""

from __future__ import annotations

from numbers import Real
from typing import Any

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.physics.kernels.grids import unpack

TIMES = ("time", "valid_time")
MARKS = ("_FillValue", "missing_value")
SCALES = ("scale_factor", "add_offset")
NO_MARK = -(2**62)
"""A number that no packed value is."""
PACKED = "emcforecast_packed"
"""Attribute of what is still packed."""
AS_IT_STANDS: dict[str, Any] = {"decode_times": False, "decode_timedelta": False}


def opened(source: Any, **how: Any) -> xr.Dataset:
    """Open a dataset as it stands, times not decoded, masks and most packing undone.

    What `is_packed` is left packed, with the attributes that say how; `unpacked` has
    its values.
    """
    raw = xr.open_dataset(source, mask_and_scale=False, **AS_IT_STANDS, **how)
    packed = [name for name, held in raw.data_vars.items() if is_packed(held)]
    plain = xr.decode_cf(raw.drop_vars(packed), **AS_IT_STANDS)
    return plain.assign({name: raw[name].assign_attrs({PACKED: 1}) for name in packed})


def is_packed(held: xr.DataArray) -> bool:
    """Whether a variable is packed plainly: whole numbers over time, rows, columns."""
    said = [held.attrs[name] for name in (*SCALES, *MARKS) if name in held.attrs]
    return (
        held.ndim == 3
        and str(held.dims[0]) in TIMES
        and held.dtype.kind == "i"
        and held.dtype.itemsize <= 4
        and "_Unsigned" not in held.attrs
        and any(name in held.attrs for name in SCALES)
        and all(isinstance(one, Real) and np.isfinite(float(one)) for one in said)
    )


def unpacked(held: xr.DataArray) -> xr.DataArray:
    """Return a variable in its own units, missing values NaN; lazily where it is."""
    said = held.attrs
    if PACKED not in said:
        return held
    scale = float(said.get("scale_factor", 1.0))
    offset = float(said.get("add_offset", 0.0))
    marks = tuple(_mark(said.get(name)) for name in MARKS)
    result: xr.DataArray = xr.apply_ufunc(
        _values,
        held,
        kwargs={"scale": scale, "offset": offset, "marks": marks},
        dask="parallelized",
        output_dtypes=[np.float64],
        keep_attrs=False,
    )
    kept = {name: said[name] for name in said if name not in (*SCALES, *MARKS, PACKED)}
    return result.assign_attrs(kept)


def _mark(given: Any) -> int:
    """Return the packed number that means none, or one that no value is."""
    if given is None or float(given) != int(given):
        return NO_MARK
    return int(given)


def _values(
    packed: np.ndarray, *, scale: float, offset: float, marks: tuple[int, int]
) -> FloatArray:
    flat = np.ascontiguousarray(packed).reshape(-1)
    out = np.empty(flat.size)
    unpack(flat, scale, offset, *marks, out)
    return out.reshape(packed.shape)
