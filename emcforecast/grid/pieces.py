"""One variable of one file, its dims told apart: time, rows, columns and the rest."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.grid.chunks import Chunks, as_stored, chunked
from emcforecast.grid.names import ELEVATION
from emcforecast.grid.packing import unpacked
from emcforecast.grid.places import find_places, on_places
from emcforecast.grid.times import (
    ONE_FORECAST,
    Stamps,
    climatology_stamps,
    find_time,
    months_dim,
    read_stamps,
)
from emcforecast.language import _
from emcforecast.weather.repairs import Repair, RepairKind, repair

_MEMBERS = ("number", "realization", "ensemble", "member", "ens", "member_id")
_STEPS = ("step", "lead", "leadtime", "forecast_period")
SAMPLE = 64
"""Rows and columns, at most, that the unit of a variable is judged from."""


@dataclass(frozen=True)
class Piece:
    """A variable of one file.

    `values`: dims time, then rows and columns, with their places, not computed;
    `stamps`: of its times, None for what does not change; `sample`: some values.
    """

    quantity: str
    name: str
    units: str
    values: xr.DataArray
    stamps: Stamps | None
    sample: FloatArray
    repairs: tuple[Repair, ...]


def read_piece(
    ds: xr.Dataset, quantity: str, name: str, chunks: Chunks, member: int | None
) -> Piece:
    """Tell the dims of a variable apart and give it its places; nothing is computed.

    `chunks`: as xarray has them, by the names of the file or time, latitude and
    longitude. Raises `WeatherError` for dims that nobody can choose from.
    """
    held, repairs = _reduced(ds, name, member)
    held, stamps, dims = _with_time(ds, held)
    if stamps is None and quantity != ELEVATION:
        raise WeatherError(
            _(
                "variable {name} has no time among its dims ({names}): {why}",
                name=name,
                names=", ".join(map(str, held.dims)),
                why=_(ONE_FORECAST),
            )
        )
    if quantity == ELEVATION and dims:
        held, stamps, dims = held.isel({dims[0]: 0}), None, ()
    rest = tuple(d for d in held.dims if d not in dims)
    if len(rest) > 2:
        long = max(rest, key=lambda d: (d not in ds.coords, -held.sizes[d]))
        odd = [d for d in rest if _is_other(d)] or [long]
        raise WeatherError(
            _(
                "variable {name} has {sizes} values along '{odd}'; choose "
                "one of them and write that to a file",
                name=name,
                sizes=held.sizes[odd[0]],
                odd=odd[0],
            )
        )
    latitude, longitude = find_places(ds, ds[name], rest)
    sample = _sample(held, dims)
    if chunks == "auto":
        chunks = as_stored(held, ds[name].encoding, dims) or chunks
    lazy = chunked(held, chunks, dims, latitude, longitude)
    lazy = unpacked(lazy)
    if dims and dims[0] != "time":
        lazy = lazy.rename({dims[0]: "time"})
    placed = on_places(lazy.to_dataset(name="values"), latitude, longitude)["values"]
    rows, columns = (
        ("latitude", "longitude")
        if placed["latitude"].ndim == 1
        else placed["latitude"].dims
    )
    order = ("time", rows, columns) if stamps is not None else (rows, columns)
    return Piece(
        quantity,
        name,
        str(ds[name].attrs.get("units", "")),
        placed.transpose(*order),
        stamps,
        sample,
        tuple(repairs),
    )


def _is_other(dim: Hashable) -> bool:
    low = str(dim).lower()
    return any(w in low for w in ("lev", "height", "depth", "plev", "pressure", "step"))


def _reduced(
    ds: xr.Dataset, name: str, member: int | None
) -> tuple[xr.DataArray, list[Repair]]:
    """Merge versions of an analysis, choose the member, drop dims of one value."""
    held = ds[name].reset_coords(drop=True)
    held = held.drop_vars(held.coords)
    found: list[Repair] = []
    for dim in list(held.dims):
        low, size = str(dim).lower(), held.sizes[dim]
        if low == "expver" and size > 1:
            # Final analyses first, the preliminary ones only where those lack.
            held = _first_known(held.chunk(dict.fromkeys(held.dims, -1)), dim)
            found.append(repair(RepairKind.VERSIONS_MERGED))
        elif low in _MEMBERS and size > 1:
            if member is None:
                raise WeatherError(
                    _(
                        "the grid holds {size} members along '{dim}'; choose one by "
                        "--member 0 to {size2} (member= in Python)",
                        size=size,
                        dim=dim,
                        size2=size - 1,
                    )
                )
            if not 0 <= member < size:
                raise WeatherError(
                    _(
                        "there is no member {member}; 0 to {size} are there",
                        member=member,
                        size=size - 1,
                    )
                )
            held = held.isel({dim: member})
            found.append(repair(RepairKind.MEMBER_TAKEN, member=member, of=size))
    return held, found


def _first_known(held: xr.DataArray, dim: Hashable) -> xr.DataArray:
    merged = held.isel({dim: 0})
    for index in range(1, held.sizes[dim]):
        merged = merged.fillna(held.isel({dim: index}))
    return merged


def _with_time(
    ds: xr.Dataset, held: xr.DataArray
) -> tuple[xr.DataArray, Stamps | None, tuple[Hashable, ...]]:
    """Return the variable with one dim of time or none, its stamps, and that dim."""
    months = months_dim(ds, held)
    years = next((d for d in held.dims if str(d).lower() in ("year", "years")), None)
    if months is not None and years is not None and years in ds.variables:
        return _years_of_months(ds, held, years, months)
    found = find_time(ds, held)
    two = _forecast_times(ds, held)
    if two is not None:
        return two
    if months is not None:
        stamps, dim = climatology_stamps(), months
    elif found is None:
        return _squeezed(held, ()), None, ()
    else:
        stamps = read_stamps(ds, found)
        along = ds.variables[found].dims
        if not along:
            if stamps.time.size == 1 and np.isnat(stamps.time[0]):
                return _squeezed(held, ()), None, ()
            return _squeezed(held, ()).expand_dims("time"), stamps, ("time",)
        dim = str(along[0])
    return _squeezed(held, (dim,)), stamps, (dim,)


def _squeezed(held: xr.DataArray, keep: tuple[Hashable, ...]) -> xr.DataArray:
    """Drop dims of one value that are no place."""
    spare = [
        d
        for d in held.dims
        if held.sizes[d] == 1 and d not in keep and not _is_space(d)
    ]
    return held.isel(dict.fromkeys(spare, 0))


def _is_space(dim: Hashable) -> bool:
    low = str(dim).lower()
    return low in ("x", "y", "i", "j", "rlat", "rlon") or "lat" in low or "lon" in low


def _years_of_months(
    ds: xr.Dataset, held: xr.DataArray, years: Hashable, months: Hashable
) -> tuple[xr.DataArray, Stamps, tuple[Hashable, ...]]:
    year = ds[years].to_numpy().astype(np.int64)
    month = ((year - 1970) * 12)[:, None] + np.arange(12)[None, :]
    stamps = month.ravel().astype("datetime64[M]")
    flat = _flat(held, (years, months))
    never = np.full(stamps.size, np.datetime64("NaT", "s"))
    times = Stamps(stamps.astype("datetime64[s]"), stamps, never, never)
    return flat, times, ("time",)


def _forecast_times(
    ds: xr.Dataset, held: xr.DataArray
) -> tuple[xr.DataArray, Stamps, tuple[Hashable, ...]] | None:
    """Flatten times counted from several starts, where each time comes once."""
    for key, variable in ds.variables.items():
        if variable.ndim != 2 or str(key).lower() not in ("valid_time", "time"):
            continue
        if not set(variable.dims) <= set(held.dims):
            continue
        if not any(str(d).lower() in _STEPS for d in variable.dims):
            continue
        first, second = variable.dims
        flat_time = ds[key].stack(time_=(first, second))
        flat_time = xr.DataArray(
            flat_time.to_numpy(), dims="time_", attrs=variable.attrs
        )
        stamps = read_stamps(flat_time.to_dataset(name=str(key)), str(key))
        if np.unique(stamps.time).size < stamps.time.size:
            raise WeatherError(
                _(
                    "the grid holds forecasts that overlap, along '{first}' and "
                    "'{second}'; keep one value a time",
                    first=first,
                    second=second,
                )
            )
        return _flat(held, (first, second)), stamps, ("time",)
    return None


def _flat(held: xr.DataArray, two: tuple[Hashable, Hashable]) -> xr.DataArray:
    """Put two dims of time one after the other, lazily."""
    lazy = _squeezed(held, two).chunk("auto").stack(time_=two)
    return lazy.drop_vars(lazy.coords).rename(time_="time")


def _sample(held: xr.DataArray, dims: tuple[Hashable, ...]) -> FloatArray:
    where: dict[Hashable, Any] = {}
    for dim in held.dims:
        size = held.sizes[dim]
        if dim in dims:
            where[dim] = np.unique([0, size // 2, size - 1])
        else:
            where[dim] = slice(None, None, max(1, size // SAMPLE))
    times = where.pop(dims[0], None) if dims else None
    thin = held.isel(where)
    parts = [thin] if times is None else [thin.isel({dims[0]: int(i)}) for i in times]
    return np.concatenate(
        [np.asarray(unpacked(part), dtype=np.float64).ravel() for part in parts]
    )
