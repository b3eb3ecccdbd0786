"""The time axis of a NetCDF file in any calendar, and one point of its grid."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import prod

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.series import NOMINAL_YEAR
from emcforecast.weather.times.cf_times import decode_times

EARTH_KM = 6371.0
MOST_POINTS = 20_000_000
"""A grid of the whole world at a sixteenth of a degree."""
FARTHEST_KM = 150.0
"""A place farther than this from every point is not in the file."""


@dataclass(frozen=True)
class Axis:
    """When the values of a file are.

    `time`: UTC, start of day or month for those steps; `step`: "hour", "day", "month"
    or "normals"; `hours`: length of a step (h).
    """

    dimension: str
    time: TimeArray
    step: str
    hours: float
    repairs: tuple[Repair, ...]


def time_axis(ds: xr.Dataset, variable: str) -> Axis:
    """Find and decode the times of a variable."""
    dims = [str(dim) for dim in ds[variable].dims]
    month = next((d for d in dims if d.lower() == "month" and ds.sizes[d] == 12), None)
    if month is not None:
        year = np.datetime64(f"{NOMINAL_YEAR}-01", "M") + np.arange(12)
        return Axis(month, year.astype("datetime64[ns]"), "normals", 730.5, ())
    found = _time_coordinate(ds, dims)
    if found is None:
        raise WeatherError(
            _(
                "the file holds a single time or none; a series of at least "
                "weeks is needed"
            )
        )
    name, dimension = found
    time, repairs = decode_times(ds[name])
    if time.size < 2:
        raise WeatherError(
            _("the file holds a single time; a series of at least weeks is needed")
        )
    steps = np.diff(np.sort(time)) / np.timedelta64(1, "h")
    usual = float(np.median(steps))
    if usual <= 6.5:
        return Axis(dimension, time, "hour", usual, repairs)
    if 23.0 <= usual <= 25.0:
        days = time.astype("datetime64[D]").astype("datetime64[ns]")
        return Axis(dimension, days, "day", 24.0, repairs)
    if 27.0 * 24 <= usual <= 32.0 * 24:
        first = time.astype("datetime64[M]").astype("datetime64[ns]")
        return Axis(dimension, first, "month", 730.5, repairs)
    raise WeatherError(
        _(
            "values are {usual:g} h apart; they must be at most 6 h "
            "apart, daily or monthly",
            usual=usual,
        )
    )


def _time_coordinate(ds: xr.Dataset, dims: list[str]) -> tuple[str, str] | None:
    usual = ("valid_time", "time", "time_counter", "date", "datetime")
    named = [name for name in usual if name in ds.variables]
    since = r"\s*(seconds?|minutes?|hours?|days?|months?) since"
    named += [
        str(name)
        for name, variable in ds.variables.items()
        if variable.attrs.get("standard_name") == "time"
        or re.match(since, str(variable.attrs.get("units", "")))
    ]
    for name in dict.fromkeys(named):
        variable = ds[name]
        if variable.ndim == 1 and str(variable.dims[0]) in dims:
            return name, str(variable.dims[0])
    return None


def distance_km(
    latitude: npt.ArrayLike, longitude: npt.ArrayLike, north: float, east: float
) -> FloatArray:
    """Great-circle distance (km) of points from the place `north`, `east` (degrees).

    Examples
    --------
    >>> round(float(distance_km(0.0, 359.0, 0.0, 1.0)))
    222
    """
    lat1, lat2 = np.radians(np.asarray(latitude, dtype=np.float64)), np.radians(north)
    turn = np.radians(np.asarray(longitude, dtype=np.float64) - east)
    half = (
        np.sin((lat1 - lat2) / 2) ** 2
        + np.cos(lat1) * np.cos(lat2) * np.sin(turn / 2) ** 2
    )
    result: FloatArray = 2.0 * EARTH_KM * np.arcsin(np.sqrt(half))
    return result


def _place_coordinate(
    ds: xr.Dataset, names: tuple[str, ...], unit: str
) -> xr.DataArray | None:
    for name, variable in ds.coords.items():
        if str(name).lower() in names or str(variable.attrs.get("units", "")) in (
            f"degrees_{unit}",
            f"degree_{unit}",
        ):
            return ds[name]
    return None


def at_point(
    ds: xr.Dataset, time: str, hints: Hints
) -> tuple[xr.Dataset, dict[str, float], list[Repair]]:
    """Take one point out of a file."""
    lat = _place_coordinate(ds, ("latitude", "lat", "nav_lat", "xlat"), "north")
    lon = _place_coordinate(ds, ("longitude", "lon", "nav_lon", "xlong"), "east")
    if lat is None or lon is None:
        place = {
            name: float(getattr(hints, name))
            for name in ("latitude", "longitude", "elevation")
            if getattr(hints, name) is not None
        }
        return ds, place, []
    dims = [str(d) for d in dict.fromkeys((*lat.dims, *lon.dims)) if d != time]
    points = prod(ds.sizes[d] for d in dims)
    if points > MOST_POINTS:
        raise WeatherError(
            _(
                "the file holds {points:,} grid points, too many to search; "
                "cut your place out of it first",
                points=points,
            )
        )
    lat2, lon2 = xr.broadcast(lat, lon) if lat.dims != lon.dims else (lat, lon)
    north = lat2.to_numpy().astype(np.float64).ravel()
    east = lon2.to_numpy().astype(np.float64).ravel()
    shape = lat2.shape
    index, repairs = _pick(ds, north, east, dims, hints)
    where = dict(
        zip((str(d) for d in lat2.dims), np.unravel_index(index, shape), strict=True)
    )
    point = ds.isel({d: int(i) for d, i in where.items() if d in ds.dims})
    place = {
        "latitude": float(north[index]),
        "longitude": (float(east[index]) + 180.0) % 360.0 - 180.0,
    }
    if hints.elevation is not None:
        place["elevation"] = hints.elevation
    return point, place, repairs


def _pick(
    ds: xr.Dataset, north: FloatArray, east: FloatArray, dims: list[str], hints: Hints
) -> tuple[int, list[Repair]]:
    if north.size == 1:
        return 0, []
    labels = _labels(ds, dims)
    if hints.place is not None and labels:
        if hints.place not in labels:
            raise WeatherError(
                _(
                    "the file has no place '{place}'; it has {labels}",
                    place=hints.place,
                    labels=", ".join(labels)[:200],
                )
            )
        return labels.index(hints.place), []
    if hints.latitude is None or hints.longitude is None:
        if labels:
            raise WeatherError(
                _(
                    "the file holds {count} places ({labels}); choose one with "
                    "--place, or the nearest with --latitude and --longitude",
                    count=north.size,
                    labels=", ".join(labels)[:120],
                )
            )
        raise WeatherError(
            _(
                "the file holds {count} grid points, {south:.2f} to {north:.2f} north, "
                "{west:.2f} to {east:.2f} east; choose with --latitude and --longitude",
                count=north.size,
                south=north.min(),
                north=north.max(),
                west=east.min(),
                east=east.max(),
            )
        )
    away = distance_km(north, east, hints.latitude, hints.longitude)
    index = int(np.argmin(away))
    if away[index] > FARTHEST_KM:
        raise WeatherError(
            _(
                "{latitude:g}, {longitude:g} is {away:.0f} km from the "
                "nearest point of the file ({north:.2f}, {east:.2f}); get a "
                "file that covers it",
                latitude=hints.latitude,
                longitude=hints.longitude,
                away=away[index],
                north=north[index],
                east=east[index],
            )
        )
    return index, [
        repair(
            RepairKind.GRID_POINT,
            label=labels[index] if labels else "",
            latitude=float(north[index]),
            longitude=float(east[index]),
            distance_km=float(away[index]),
        )
    ]


def _labels(ds: xr.Dataset, dims: list[str]) -> list[str]:
    if len(dims) != 1:
        return []
    for variable in ds.coords.values():
        if variable.dims == (dims[0],) and variable.dtype.kind in "UOST":
            return [
                v.decode() if isinstance(v, bytes) else str(v)
                for v in variable.to_numpy().tolist()
            ]
    return []
