"""Small gridded weather, true in form, that tests write in every layout."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import xarray as xr

HOURS = 48
Write = Callable[..., Path]


def air(
    time: object = None, lat: object = None, lon: object = None, *, name: str = "t2m"
) -> xr.Dataset:
    """Kelvin and dew point on a small grid; each cell differs from every other."""
    when = np.arange(HOURS) if time is None else np.asarray(time)
    north = np.array([50.0, 49.0, 48.0]) if lat is None else np.asarray(lat)
    east = np.array([8.0, 9.0, 10.0, 11.0]) if lon is None else np.asarray(lon)
    shape = (when.size, north.size, east.size)
    t = np.random.default_rng(7).uniform(270.0, 295.0, shape)
    ds = xr.Dataset(
        {
            name: (("time", "lat", "lon"), t, {"units": "K"}),
            "d2m": (("time", "lat", "lon"), t - 5.0, {"units": "K"}),
        },
        coords={
            "time": ("time", when, {"units": "hours since 2020-01-01 00:00"}),
            "lat": ("lat", north, {"units": "degrees_north"}),
            "lon": ("lon", east, {"units": "degrees_east"}),
        },
    )
    if when.dtype.kind in "MO":
        ds["time"].attrs.clear()
    return ds
