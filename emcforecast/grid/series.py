"""The grid series: the one shape of gridded weather every reader must deliver.

A dataset, opened lazily, with

- dims ``time`` first, then the two of the file: ``latitude``, ``longitude``, or names
  such as ``y``, ``x`` with two-dimensional coordinates of latitude and longitude;
- ``air_temperature`` (degC) and ``relative_humidity`` (% over liquid water), optionally
  ``precipitation`` (mm per step), ``wind_speed`` (m s-1 at 10 m) and ``shortwave``
  (W m-2, mean over the step), all float64 along all three dims, NaN where masked;
- optionally ``elevation`` (m) on the two dims of space;
- coordinate ``time``: datetime64[ns], UTC, start of each interval, sorted and unique.
  It may have gaps, such as between two periods. Days that a model's calendar lacks are
  those before them, repeated (`emcforecast.grid.calendars`);
- coordinates ``latitude`` (-90 to 90) and ``longitude`` (-180 up to, not including,
  180), always present, in the order of the file but for one thing: a grid right round
  the world is turned so that its longitudes rise from west to east. A grid that crosses
  the date line without going round keeps its order. Corners of a curved grid without a
  place are NaN;
- attrs as a point series has them (`emcforecast.weather.series`): ``step``, ``kind``,
  ``source``, ``licence``, ``attribution``, ``repairs``.

``step`` is "hour", "2-hour", "3-hour", "4-hour", "6-hour", "day", "month" or
"climatology": twelve months of the nominal year 2001. Months begin on their first day.
"""

from __future__ import annotations

from collections.abc import Hashable

import numpy as np
import xarray as xr

from emcforecast.errors import ContractError
from emcforecast.language import _
from emcforecast.weather.repairs import repairs_of
from emcforecast.weather.series import (
    KINDS,
    REQUIRED,
    VARIABLES,
    require_attr,
    require_units,
)

STEPS: dict[str, float] = {
    "hour": 1.0,
    **{f"{hours}-hour": float(hours) for hours in (2, 3, 4, 6)},
    "day": 24.0,
    "month": 730.5,
    "climatology": 730.5,
}
"""Length of each step, h; of a month on average."""
GRID_KINDS = (*KINDS, "climate model")
ELEVATION = {
    "units": "m",
    "standard_name": "surface_altitude",
    "long_name": "height above the sea",
}
PLACE_ATTRS = {
    "latitude": {
        "units": "degrees_north",
        "standard_name": "latitude",
        "long_name": "latitude",
    },
    "longitude": {
        "units": "degrees_east",
        "standard_name": "longitude",
        "long_name": "longitude",
    },
}


def spatial_dims(ds: xr.Dataset) -> tuple[Hashable, Hashable]:
    """Return the two dims of space of a grid series, rows first.

    Raises `ContractError` when there are not two.
    """
    dims = tuple(d for d in ds["air_temperature"].dims if d != "time")
    if len(dims) != 2:
        raise ContractError(
            _(
                "a grid has two dims beside time; this has {names}",
                names=", ".join(map(str, dims)),
            )
        )
    return dims[0], dims[1]


def check_grid(ds: xr.Dataset) -> None:
    """Refuse a dataset that is not a grid series; no value is computed.

    Raises `ContractError`, naming the first broken rule.
    """
    _check_attrs(ds)
    for name in REQUIRED:
        if name not in ds.data_vars:
            raise ContractError(
                _(
                    "the grid has no {name}; temperature and humidity are both needed",
                    name=name,
                )
            )
    rows, columns = spatial_dims(ds)
    for key, variable in ds.data_vars.items():
        name = str(key)
        if name == "elevation":
            dims: tuple[Hashable, ...] = (rows, columns)
            units = "m"
        elif name in VARIABLES:
            dims, units = ("time", rows, columns), VARIABLES[name][0]
        else:
            raise ContractError(
                _("variable '{name}' is not part of a grid series", name=name)
            )
        if variable.dims != dims or variable.dtype != np.float64:
            raise ContractError(
                _(
                    "{name} must be float64 along {names}",
                    name=name,
                    names=", ".join(map(str, dims)),
                )
            )
        require_units(name, variable, units)
    _check_time(ds)
    _check_places(ds, rows, columns)


def _check_attrs(ds: xr.Dataset) -> None:
    for name, allowed in (("step", tuple(STEPS)), ("kind", GRID_KINDS)):
        require_attr(ds, name, allowed)
    if not ds.attrs.get("source"):
        raise ContractError(_("the grid does not say its source"))
    try:
        repairs_of(ds)
    except ValueError as error:
        raise ContractError(
            _("repairs must be the text of a list of repairs, empty if none")
        ) from error


def _check_time(ds: xr.Dataset) -> None:
    time = ds.variables.get("time")
    if time is None or time.dims != ("time",):
        raise ContractError(_("the grid has no time axis"))
    stamps = time.to_numpy()
    if stamps.dtype != np.dtype("datetime64[ns]"):
        raise ContractError(
            _("time is {dtype}; it must be datetime64[ns]", dtype=stamps.dtype)
        )
    if stamps.size == 0 or bool((np.diff(stamps) <= np.timedelta64(0, "ns")).any()):
        raise ContractError(_("times must be sorted and unique, and at least one"))
    if ds.attrs["step"] == "climatology" and stamps.size != 12:
        raise ContractError(
            _("a climatology has twelve months, not {count}", count=stamps.size)
        )


def _check_places(ds: xr.Dataset, rows: Hashable, columns: Hashable) -> None:
    for name, low, high in (("latitude", -90.0, 90.0), ("longitude", -180.0, 180.0)):
        if name not in ds.coords:
            raise ContractError(_("the grid has no {name}", name=name))
        place = ds[name]
        own = (rows,) if name == "latitude" else (columns,)
        if place.dims not in (own, (rows, columns)):
            raise ContractError(_("{name} is not along the grid's own dims", name=name))
        least, most = float(place.min()), float(place.max())
        if not low <= least <= most <= high:
            raise ContractError(
                _("{name} leaves {low:g} to {high:g}", name=name, low=low, high=high)
            )
