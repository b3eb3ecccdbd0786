"""Pieces of one quantity from several files -> one variable on one grid and axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.grid.humidity import Raw, in_units
from emcforecast.grid.pieces import Piece
from emcforecast.grid.times import Axis, joined, make_axis
from emcforecast.language import _
from emcforecast.weather.formats.cf_units import Conversion, conversion_of
from emcforecast.weather.repairs import Repair

APART = 0.02
"""Share of a cell by which places of one grid may differ between files."""
OWN_UNITS = {
    "relative_humidity": "%",
    "precipitation": "mm",
    "shortwave": "w/m2",
    **dict.fromkeys(("pressure", "sea_level_pressure", "vapour_pressure"), "pa"),
    **dict.fromkeys(("specific_humidity", "mixing_ratio"), "kg/kg"),
    **dict.fromkeys(("wind_speed", "eastward_wind", "northward_wind"), "m/s"),
}
"""Of values that are in series units already; others are °C."""


@dataclass(frozen=True)
class Whole:
    """A quantity from all its files: raw values on `axis`, and what was decided."""

    raw: Raw
    axis: Axis
    name: str
    units: str
    stamps: TimeArray
    repairs: tuple[Repair, ...]


def combine(pieces: Sequence[Piece]) -> Whole:
    """Put the pieces of one quantity one after the other in time.

    Raises `WeatherError` where their grids differ or a unit is not understood.
    """
    first = pieces[0]
    stamps = joined([p.stamps for p in pieces if p.stamps is not None])
    axis = make_axis(stamps)
    monthly = axis.step in ("month", "climatology")
    decided: dict[tuple[str, str], tuple[Conversion, list[Repair]]] = {}
    for piece in pieces:
        key = (piece.name, piece.units)
        if key not in decided:
            samples = [p.sample for p in pieces if (p.name, p.units) == key]
            decided[key] = _decide(piece, np.concatenate(samples), axis.hours, monthly)
    conversions = [decided[p.name, p.units][0] for p in pieces]
    parts = [on_grid_of(first.values, p.values, p.name) for p in pieces]
    if len(set(conversions)) > 1:
        parts = [
            in_units(Raw(part, how), "")
            for part, how in zip(parts, conversions, strict=True)
        ]
        conversions = [Conversion(OWN_UNITS.get(first.quantity, "c"))]
    values = parts[0]
    if len(parts) > 1:
        values = xr.concat(
            parts, "time", coords="minimal", compat="override", join="override"
        )
    values = taken(values, axis.take).assign_coords(time=axis.time)
    repairs = [r for _, why in decided.values() for r in why]
    repairs += [r for p in pieces for r in p.repairs]
    return Whole(
        Raw(values, conversions[0]),
        axis,
        first.name,
        first.units,
        stamps.time[axis.take],
        tuple(dict.fromkeys([*repairs, *axis.repairs])),
    )


def _decide(
    piece: Piece, sample: FloatArray, hours: float, monthly: bool
) -> tuple[Conversion, list[Repair]]:
    quantity = piece.quantity
    if quantity == "sea_level_pressure":
        quantity = "pressure"
    conversion, why = conversion_of(
        quantity, piece.name, sample, piece.units, hours=hours, monthly=monthly
    )
    if conversion is None:
        raise WeatherError(
            _(
                "variable {name} has units '{units}', which are not known",
                name=piece.name,
                units=piece.units,
            )
        )
    return conversion, why


def taken(values: xr.DataArray, take: IntArray) -> xr.DataArray:
    """Return values in the order of an axis; the same where that is theirs."""
    if np.array_equal(take, np.arange(values.sizes["time"])):
        return values
    return values.isel(time=take)


def on_grid_of(like: xr.DataArray, values: xr.DataArray, name: str) -> xr.DataArray:
    """Return values on the grid of others, rows and columns turned round if need be.

    Raises `WeatherError` where the grids are different ones.
    """
    for place in ("latitude", "longitude"):
        if like[place].ndim != values[place].ndim:
            raise _different(like, values, name)
        mine, theirs = like[place].to_numpy(), values[place].to_numpy()
        if mine.shape != theirs.shape:
            raise _different(like, values, name)
        if same_places(mine, theirs):
            continue
        if mine.ndim == 2:
            raise _different(like, values, name)
        order = np.argsort(theirs)[np.argsort(np.argsort(mine))]
        if not same_places(mine, theirs[order]):
            raise _different(like, values, name)
        values = values.isel({place: order})
    space = [d for d in like.dims if d != "time"]
    own = [d for d in values.dims if d != "time"]
    out = values.drop_vars(values.coords)
    out = out.rename({o: s for o, s in zip(own, space, strict=True) if o != s})
    if "time" in values.coords:
        out = out.assign_coords(time=values["time"])
    return out.assign_coords(latitude=like["latitude"], longitude=like["longitude"])


def same_places(mine: FloatArray, theirs: FloatArray) -> bool:
    """Tell whether two axes, or grids, of degrees are the same."""
    steps = [
        float(np.nanmedian(np.abs(np.diff(mine, axis=axis))))
        for axis in range(mine.ndim)
        if mine.shape[axis] > 1
    ]
    step = max(steps, default=1.0)
    if not np.array_equal(np.isnan(mine), np.isnan(theirs)):
        return False
    away = np.abs((mine - theirs + 180.0) % 360.0 - 180.0)
    return bool(np.nanmax(away, initial=0.0) <= max(APART * step, 1e-5))


def _different(like: xr.DataArray, values: xr.DataArray, name: str) -> WeatherError:
    def said(grid: xr.DataArray) -> str:
        rows, columns = (grid.sizes[d] for d in grid.dims if d != "time")
        north, east = grid["latitude"], grid["longitude"]
        return _(
            "{rows} × {columns}, {south:.2f} to {north:.2f} north, {west:.2f} to "
            "{east:.2f} east",
            rows=rows,
            columns=columns,
            south=float(north.min()),
            north=float(north.max()),
            west=float(east.min()),
            east=float(east.max()),
        )

    return WeatherError(
        _(
            "the files are on different grids: {mine}, and {name} on {theirs}; put "
            "them on one grid first",
            mine=said(like),
            name=name,
            theirs=said(values),
        )
    )
