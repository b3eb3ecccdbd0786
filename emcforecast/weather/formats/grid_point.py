"""Choose one place of a grid or of a list of places; never without being told."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.weather.hints import Hints

EARTH_KM = 6371.0
FARTHEST_KM = 150.0
"""A place farther than this from every point is not in the file."""


def distance_km(
    latitude: npt.ArrayLike, longitude: npt.ArrayLike, north: float, east: float
) -> FloatArray:
    """Great-circle distance.

    Parameters
    ----------
    latitude, longitude : array_like
        Points, degrees.
    north, east : float
        The place, degrees.

    Returns
    -------
    ndarray
        km.

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


def _coordinate(
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
) -> tuple[xr.Dataset, dict[str, float], list[str]]:
    """Take one point out of a file.

    Parameters
    ----------
    ds : xarray.Dataset
        Variables with coordinates.
    time : str
        Dimension of time, left alone.
    hints : Hints
        The place, when given.

    Returns
    -------
    xarray.Dataset
        Variables without dimensions of place.
    dict of str to float
        Latitude, longitude and elevation of the point, where known.
    list of str
        Which point was taken.

    Raises
    ------
    WeatherError
        When there are several and none, or one far away, was named.
    """
    lat = _coordinate(ds, ("latitude", "lat", "nav_lat", "xlat"), "north")
    lon = _coordinate(ds, ("longitude", "lon", "nav_lon", "xlong"), "east")
    if lat is None or lon is None:
        place = {
            name: float(getattr(hints, name))
            for name in ("latitude", "longitude", "elevation")
            if getattr(hints, name) is not None
        }
        return ds, place, []
    dims = [str(d) for d in dict.fromkeys((*lat.dims, *lon.dims)) if d != time]
    lat2, lon2 = xr.broadcast(lat, lon) if lat.dims != lon.dims else (lat, lon)
    north = lat2.to_numpy().astype(np.float64).ravel()
    east = lon2.to_numpy().astype(np.float64).ravel()
    shape = lat2.shape
    index, notes = _pick(ds, north, east, dims, hints)
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
    return point, place, notes


def _pick(
    ds: xr.Dataset, north: FloatArray, east: FloatArray, dims: list[str], hints: Hints
) -> tuple[int, list[str]]:
    if north.size == 1:
        return 0, []
    labels = _labels(ds, dims)
    if hints.place is not None and labels:
        if hints.place not in labels:
            raise WeatherError(
                f"the file has no place '{hints.place}'; it has "
                f"{', '.join(labels)[:200]}"
            )
        return labels.index(hints.place), []
    if hints.latitude is None or hints.longitude is None:
        what = (
            f"{north.size} grid points, {north.min():.2f} to {north.max():.2f} "
            f"north, {east.min():.2f} to {east.max():.2f} east; choose with "
            "--latitude and --longitude"
        )
        if labels:
            what = (
                f"{north.size} places ({', '.join(labels)[:120]}); choose one with "
                "--place, or the nearest with --latitude and --longitude"
            )
        raise WeatherError(f"the file holds {what}")
    away = distance_km(north, east, hints.latitude, hints.longitude)
    index = int(np.argmin(away))
    if away[index] > FARTHEST_KM:
        raise WeatherError(
            f"{hints.latitude:g}, {hints.longitude:g} is {away[index]:.0f} km from the "
            f"nearest point of the file ({north[index]:.2f}, {east[index]:.2f}); get a "
            "file that covers it"
        )
    name = f" ({labels[index]})" if labels else ""
    return index, [
        f"nearest point{name} {north[index]:.2f}, {east[index]:.2f} taken, "
        f"{away[index]:.0f} km away"
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
