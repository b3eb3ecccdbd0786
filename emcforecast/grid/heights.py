"""Height of the ground at each cell of a grid, from its files or as it is given."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast.bounds import PLACE, spoken, within
from emcforecast.errors import WeatherError
from emcforecast.grid.combine import on_grid_of
from emcforecast.grid.names import ELEVATION, grid_quantity, heights_of
from emcforecast.grid.pieces import Piece, read_piece
from emcforecast.grid.sources import open_raw
from emcforecast.language import _

SAID = "height"


def find_height(
    pieces: Sequence[Piece],
    given: float | str | Path | xr.DataArray | xr.Dataset | None,
    like: xr.DataArray,
) -> xr.DataArray | None:
    """Return heights (m) on the rows and columns of a grid, or None where unknown.

    `given`: a number, heights on a grid, or a file of them; on another grid of latitude
    and longitude the nearest is taken. Cells without one, as at sea, are at 0 m.
    """
    if isinstance(given, int | float):
        if not within(float(given), PLACE["elevation"]):
            raise WeatherError(
                _(
                    "height {given:g} is not within {allowed} m",
                    given=given,
                    allowed=spoken(PLACE["elevation"]),
                )
            )
        flat = like.isel(time=0, drop=True)
        return xr.full_like(flat.drop_attrs(), float(given), dtype=np.float64)
    if given is not None:
        return _nearest(_held(given), like)
    if not pieces:
        return None
    held = pieces[0].values
    held = heights_of(held.assign_attrs(units=pieces[0].units))
    return on_grid_of(like, held, pieces[0].name).fillna(0.0)


def _held(given: str | Path | xr.DataArray | xr.Dataset) -> xr.DataArray:
    if isinstance(given, xr.DataArray):
        files = [given.to_dataset(name=given.name or ELEVATION)]
        name = str(given.name or ELEVATION)
    else:
        files = [given] if isinstance(given, xr.Dataset) else open_raw(given)
        name = ""
    for ds in files:
        names = [str(n) for n, v in ds.data_vars.items()]
        tops = [n for n in names if n == name or grid_quantity(n, ds[n]) == ELEVATION]
        if tops:
            piece = read_piece(ds, ELEVATION, tops[0], "auto", None)
            return heights_of(piece.values.assign_attrs(units=piece.units or "m"))
    raise WeatherError(
        _(
            "the file of heights has none that is recognised (it has "
            "{names}); name the variable orog, in m",
            names=", ".join(names),
        )
    )


def _nearest(held: xr.DataArray, like: xr.DataArray) -> xr.DataArray:
    try:
        return on_grid_of(like, held, SAID).fillna(0.0)
    except WeatherError:
        if held["latitude"].ndim == 2:
            raise
    held = held.sortby("latitude").sortby("longitude")
    found = held.interp(
        latitude=like["latitude"], longitude=like["longitude"], method="nearest"
    )
    if bool(found.isnull().all()):
        raise WeatherError(
            _("the file of heights does not cover the grid; give another")
        )
    flat = found.fillna(0.0).drop_vars(["latitude", "longitude"])
    return flat.assign_coords(latitude=like["latitude"], longitude=like["longitude"])
