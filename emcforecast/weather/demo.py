"""The weather of Alder Bottom, an invented valley town, packed with the package."""

from __future__ import annotations

import numpy as np
import xarray as xr

from emcforecast.tables import path
from emcforecast.weather.series import make_series

FIRST_HOUR = np.datetime64("2007-01-01T00", "ns")

_FILE = "demonstration.npz"
# what one stored step stands for
_SCALE = {
    "air_temperature": 0.1,
    "relative_humidity": 0.1,
    "precipitation": 0.1,
    "wind_speed": 0.1,
    "shortwave": 1.0,
}


def demonstration() -> xr.Dataset:
    """Return twelve years of hourly weather of the demonstration place.

    Returns
    -------
    xarray.Dataset
        A weather series of kind ``"demonstration"``: 2007 to 2018 in UTC, leap days
        included, with temperature (°C), relative humidity (%), precipitation (mm an
        hour), wind at 10 m (m/s) and sun (W/m²). Resolution 0.1, the sun's 1.

    Notes
    -----
    Made by ``data/demonstration/generate.py`` from a seed; no station has measured
    it. How it compares with real humid temperate weather is described in
    ``docs/demonstration.md``. Stored as first differences in 16-bit integers.

    Examples
    --------
    >>> ds = demonstration()
    >>> ds.sizes["time"], ds.attrs["kind"]
    (105192, 'demonstration')
    """
    with np.load(path(_FILE)) as packed:
        variables = {
            name: np.cumsum(packed[name], dtype=np.int16) * scale
            for name, scale in _SCALE.items()
        }
    hours = len(variables["air_temperature"])
    return make_series(
        FIRST_HOUR + np.arange(hours) * np.timedelta64(1, "h"),
        variables,
        step="hour",
        kind="demonstration",
        source="Alder Bottom, an invented valley town; made weather, not measured",
        licence="CC0-1.0",
        attribution="Invented weather, made from a seed for demonstration",
        latitude=39.1,
        longitude=-81.8,
        elevation=215.0,
        utc_offset=-5.0,
    )
