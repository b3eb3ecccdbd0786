"""Grids that ask for more than any weather needs are refused before they are read."""

from __future__ import annotations

from math import prod

import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.formats.netcdf import LARGEST_CHUNK, MOST_TIMES

MOST_VALUES = 20_000_000_000_000
"""Values of a variable: eighty years of hours, every 0.1 degrees of the world."""
MOST_PIECES = 2_000_000
"""Pieces that a variable is stored in: eighty years of hours, each in its own, thrice.
"""
MOST_PLACES = 16_000_000
"""Cells whose place is given one by one."""


def bounded(ds: xr.Dataset, shown: str) -> xr.Dataset:
    """Return a dataset just opened; nothing of it is read.

    Raises `WeatherError` where a dim, a variable, a stored piece or their number is
    beyond what gridded weather has: such a file is damaged, or made to harm.
    """
    for name, variable in ds.variables.items():
        shape = variable.shape
        if len(set(variable.dims)) < len(shape):
            raise _refusal(ds, shown, _("'{name}' has one dimension twice", name=name))
        if max(shape, default=0) > MOST_TIMES or prod(shape) > MOST_VALUES:
            sizes = " × ".join(map(str, shape))
            raise _refusal(
                ds,
                shown,
                _(
                    "'{name}' claims to hold {sizes} values",
                    name=name,
                    sizes=sizes[:80],
                ),
            )
        said = variable.encoding
        piece = said.get("chunks") or said.get("chunksizes")
        if not piece or len(piece) != len(shape):
            continue
        held = (
            prod(map(int, piece))
            * variable.encoding.get("dtype", variable.dtype).itemsize
        )
        if held > LARGEST_CHUNK:
            raise _refusal(
                ds,
                shown,
                _(
                    "'{name}' is stored in pieces of {held:,.0f} MB",
                    name=name,
                    held=held / 1e6,
                ),
            )
        if prod(-(-n // int(k)) for n, k in zip(shape, piece, strict=True)) > (
            MOST_PIECES
        ):
            raise _refusal(
                ds, shown, _("'{name}' is stored in too many pieces", name=name)
            )
    return ds


def _refusal(ds: xr.Dataset, shown: str, what: str) -> WeatherError:
    ds.close()
    return WeatherError(
        _(
            "{shown}: {what}; no weather does. If it is meant so, write it anew in "
            "pieces of some megabytes, or in parts",
            shown=shown,
            what=what,
        )
    )
