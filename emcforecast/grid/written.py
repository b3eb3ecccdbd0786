"""A map read back from the file it was written to."""

from pathlib import Path

import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.files import exists
from emcforecast.grid.sources import open_raw

ENDINGS = (".zarr", ".nc")
"""Endings a map may have."""


def read_map(path: Path) -> xr.Dataset | None:
    """Open a map that was written here, lazily; None for what is none.

    Parameters
    ----------
    path : Path
        Of any file or store; what cannot be opened is no map.
    """
    if path.suffix not in ENDINGS or not exists(path):
        return None
    try:
        opened = open_raw(path)
    except WeatherError:
        return None
    ds = opened[0]
    return ds if {"weather_step", "local_time"} <= set(ds.attrs) else None
