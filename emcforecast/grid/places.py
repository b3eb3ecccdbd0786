"""Latitude and longitude of gridded files, whatever they are called."""

from __future__ import annotations

import re
from collections.abc import Hashable

import numpy as np
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.grid.bounded import MOST_PLACES
from emcforecast.grid.series import PLACE_ATTRS
from emcforecast.language import _

_NAMES = {
    "latitude": ("latitude", "lat", "nav_lat", "xlat", "gridlat_0", "lats", "coadsy"),
    "longitude": ("longitude", "lon", "nav_lon", "xlong", "gridlon_0", "lons", "long"),
}
_UNITS = {
    "latitude": re.compile(r"degrees?_?n(orth)?|degreen|degreesn"),
    "longitude": re.compile(r"degrees?_?e(ast)?|degreee|degreese"),
}
LIST = "list"
"""The dim of the one row in which a list of cells is laid."""
AROUND = 359.0
"""Degrees that a grid right round the world covers, its last step included."""


def find_places(
    ds: xr.Dataset, variable: xr.DataArray, rest: tuple[Hashable, ...]
) -> tuple[xr.DataArray, xr.DataArray]:
    """Return latitude and longitude of a variable, degrees, each 0-, 1- or 2-D.

    `rest`: dims of the variable that are not time. Raises `WeatherError` where there
    are none. Those of cells in a list are laid in one row.
    """
    found = {}
    for what in ("latitude", "longitude"):
        held = [_still(ds, name) for name in _candidates(ds, what)]
        held = [h for h in held if set(h.dims) <= set(rest)]
        # Curved grids name their own axes so too: those of the earth are wanted.
        held.sort(key=lambda h: (_is_rotated(h), -h.ndim if _is_rotated(h) else 0))
        if held and not _is_rotated(held[0]):
            found[what] = held[0]
    if len(found) < 2:
        made = _unprojected(ds, variable)
        if made is None:
            names = ", ".join(map(str, ds.variables))[:160]
            raise WeatherError(
                _(
                    "the grid has no latitude and longitude (it has {names}); "
                    "add them as coordinates, on one or two dims, in "
                    "degrees_north and degrees_east",
                    names=names,
                )
            )
        return made
    latitude, longitude = found["latitude"], found["longitude"]
    if max(latitude.size, longitude.size) > MOST_PLACES:
        raise WeatherError(
            _(
                "the grid gives the places of over {most:,} cells one "
                "by one; cut the region wanted out of it first",
                most=MOST_PLACES,
            )
        )
    if latitude.ndim == 1 and latitude.dims == longitude.dims:
        # A list of cells is a curved grid of one row.
        return latitude.expand_dims(LIST), longitude.expand_dims(LIST)
    return latitude, longitude


def _candidates(ds: xr.Dataset, what: str) -> list[Hashable]:
    named = [
        key
        for key, held in ds.variables.items()
        if held.dtype.kind in "iuf"
        and (
            str(held.attrs.get("standard_name", "")).lower() == what
            or _UNITS[what].fullmatch(
                str(held.attrs.get("units", "")).lower().replace(" ", "_")
            )
            or str(key).lower() in _NAMES[what]
        )
    ]
    edges = {str(held.attrs.get("bounds", "")) for held in ds.variables.values()}
    return [key for key in named if str(key) not in edges]


def _still(ds: xr.Dataset, name: Hashable) -> xr.DataArray:
    """Return a coordinate without the time that some files give it too."""
    held = ds[name].reset_coords(drop=True)
    for dim in held.dims:
        if str(dim).lower() in ("time", "valid_time", "t") and held.ndim > 1:
            held = held.isel({dim: 0}, drop=True)
    return held


def _is_rotated(held: xr.DataArray) -> bool:
    return str(held.attrs.get("standard_name", "")).startswith("grid_")


def _unprojected(
    ds: xr.Dataset, variable: xr.DataArray
) -> tuple[xr.DataArray, xr.DataArray] | None:
    """Work latitude and longitude out of the projection that a file names."""
    said = (variable.attrs, variable.encoding)
    mapping = next((h["grid_mapping"] for h in said if "grid_mapping" in h), None)
    if mapping is None or str(mapping) not in ds.variables:
        return None
    axes = []
    for sign, names in (("x", ("x", "xc", "rlon")), ("y", ("y", "yc", "rlat"))):
        standard = (f"projection_{sign}_coordinate", "grid_longitude", "grid_latitude")
        fits = [
            dim
            for dim in variable.dims
            if dim in ds.variables
            and (
                ds[dim].attrs.get("standard_name") == standard[0]
                or ds[dim].attrs.get("standard_name") == standard["xy".index(sign) + 1]
                or str(dim).lower() in names
            )
        ]
        if not fits:
            return None
        axes.append(ds[fits[0]])
    from pyproj import CRS, Transformer
    from pyproj.exceptions import CRSError

    try:
        crs = CRS.from_cf(dict(ds[mapping].attrs))
    except CRSError as error:
        raise WeatherError(
            _(
                "the projection '{mapping}' of the grid is not understood; "
                "add latitude and longitude on two dims",
                mapping=mapping,
            )
        ) from error
    x, y = (axis * _metres(axis) for axis in axes)
    rows, columns = xr.broadcast(y, x)
    turn = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    east, north = turn.transform(columns.to_numpy(), rows.to_numpy())
    dims = rows.dims
    return xr.DataArray(north, dims=dims), xr.DataArray(east, dims=dims)


def _metres(axis: xr.DataArray) -> float:
    return (
        1000.0 if str(axis.attrs.get("units", "")).lower() in ("km", "1000m") else 1.0
    )


def on_places(
    variables: xr.Dataset, latitude: xr.DataArray, longitude: xr.DataArray
) -> xr.Dataset:
    """Give variables their places: dims and coordinates as a grid series has them.

    Longitudes are brought to -180 to 180, a grid right round the world is turned to
    begin in the west, and a repeated last column is left out.
    """
    latitude, longitude = _clean(latitude, 90.0), _clean(longitude, 720.0)
    out = variables.drop_vars(
        [n for n in variables.coords if n in ("latitude", "longitude")]
    )
    if latitude.ndim < 2 and longitude.ndim < 2:
        return _plain(out, latitude, longitude)
    rows, columns = xr.broadcast(latitude, longitude)
    out = out.expand_dims([d for d in rows.dims if d not in out.dims])
    rename = {d: n for d, n in zip(rows.dims, ("y", "x"), strict=True) if d in _CLASH}
    rows, columns = rows.rename(rename), columns.rename(rename)
    out = out.drop_vars([d for d in rename if d in out.coords]).rename(rename)
    out = out.drop_vars(out.coords)
    return out.assign_coords(
        latitude=(rows.dims, rows.to_numpy(), PLACE_ATTRS["latitude"]),
        longitude=(rows.dims, wrapped(columns.to_numpy()), PLACE_ATTRS["longitude"]),
    )


_CLASH = ("latitude", "longitude", "time")


def _plain(
    out: xr.Dataset, latitude: xr.DataArray, longitude: xr.DataArray
) -> xr.Dataset:
    for what, place in (("latitude", latitude), ("longitude", longitude)):
        if place.ndim == 0:
            out = out.expand_dims({what: [float(place)]}, axis=-1)
        elif place.dims[0] != what:
            dim = place.dims[0]
            out = out.drop_vars([n for n in out.coords if dim in out[n].dims])
            out = out.rename({dim: what})
    north = latitude.to_numpy().ravel().astype(np.float64)
    east = longitude.to_numpy().ravel().astype(np.float64)
    _require_rising("latitudes", np.diff(north))
    _require_rising("longitudes", wrapped(np.diff(east)))
    out = out.drop_vars(out.coords)
    out = out.assign_coords(
        latitude=("latitude", north, PLACE_ATTRS["latitude"]),
        longitude=("longitude", wrapped(east), PLACE_ATTRS["longitude"]),
    )
    if east.size > 2:
        step = float(np.median(np.abs(np.diff(east))))
        span = float(east.max() - east.min())
        if span > 360.0 - 0.1 * step:
            # The first column comes again at the other end.
            keep = np.arange(east.size - max(1, round((span - 360.0) / step) + 1))
            out, east = out.isel(longitude=keep), east[keep]
            span = float(east.max() - east.min())
        if span + step > AROUND:
            out = out.isel(longitude=np.argsort(wrapped(east), kind="stable"))
    return out


def _require_rising(what: str, steps: np.ndarray) -> None:
    """Refuse rows or columns that go forth and back: their places are damaged."""
    if steps.size and not (bool((steps > 0).all()) or bool((steps < 0).all())):
        raise WeatherError(
            _(
                "the {what} of the grid neither rise nor fall from cell to "
                "cell; the file is damaged, or its cells are in no rows and "
                "columns",
                what=what,
            )
        )


def _clean(place: xr.DataArray, most: float) -> xr.DataArray:
    values = place.astype(np.float64)
    values = values.where(np.abs(values) <= most + 1e-3)
    if bool(values.isnull().all()):
        raise WeatherError(_("the grid's latitudes or longitudes are no degrees"))
    if place.ndim < 2 and bool(values.isnull().any()):
        raise WeatherError(_("some latitudes or longitudes of the grid are missing"))
    return values.clip(-90.0, 90.0) if most == 90.0 else values


def wrapped(longitude: np.ndarray) -> np.ndarray:
    """Return longitudes as -180 up to, not including, 180.

    Examples
    --------
    >>> wrapped(np.array([0.0, 190.0, 379.0, -180.0])).tolist()
    [0.0, -170.0, 19.0, -180.0]
    """
    return np.asarray((longitude + 180.0) % 360.0 - 180.0)
