"""What the storage checks share: a year of even weather."""

import numpy as np
import pytest
import xarray as xr

from emcforecast.weather.series import make_series


@pytest.fixture(scope="session")
def year() -> xr.Dataset:
    """A made year with everything in it, for the model's own laws only."""
    time = np.arange("2001-01-01", "2002-01-01", dtype="datetime64[h]")
    h = np.arange(time.size)
    rng = np.random.default_rng(5)
    t = 9.0 - 11.0 * np.cos(2 * np.pi * (h - 480) / 8760)
    t = t - 4.0 * np.cos(2 * np.pi * (h - 3) / 24) + rng.normal(0, 1.5, h.size)
    rh = np.clip(78.0 + 12.0 * np.cos(2 * np.pi * (h - 3) / 24), 0.0, 100.0)
    up = np.cos(2 * np.pi * (h - 12) / 24)
    return make_series(
        time,
        {
            "air_temperature": t,
            "relative_humidity": rh,
            "wind_speed": rng.uniform(0.5, 6.0, h.size),
            "shortwave": np.maximum(0.0, 500.0 * up),
            "precipitation": np.where(rng.random(h.size) < 0.05, 1.0, 0.0),
        },
        step="hour",
        kind="observed",
        source="a made year",
        latitude=48.0,
        longitude=0.0,
        utc_offset=0.0,
    )
