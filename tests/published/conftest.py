"""What the checks against the world share: open hourly data as weather series."""

import importlib.util
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType

import pandas as pd
import pytest
import xarray as xr

from emcforecast.weather.read import demonstration
from emcforecast.weather.series import make_series

ROOT = Path(__file__).resolve().parents[2]
NAMES = {
    "t": "air_temperature",
    "rh": "relative_humidity",
    "rain": "precipitation",
    "wind": "wind_speed",
    "sun": "shortwave",
}


def load_compare() -> ModuleType:
    file = ROOT / "data" / "demonstration" / "compare.py"
    spec = importlib.util.spec_from_file_location("world_compare", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def compare() -> ModuleType:
    """Load data/demonstration/compare.py: its own readers of open hourly data."""
    return load_compare()


# latitude, longitude, elevation, UTC offset
PLACES = {
    "Greensboro": (36.1, -79.95, 273, -5),
    "Sand Point": (55.32, -160.52, 7, -9),
    "Miami": (25.8, -80.27, 2, -5),
    "New York EWR": (40.70, -74.17, 3, -5),
    "New York JFK": (40.64, -73.78, 4, -5),
    "New York LGA": (40.78, -73.87, 3, -5),
    "New York typical": (40.65, -73.80, 5, -5),
    "Pittsburgh": (40.35, -79.92, 380, -5),
    "Chicago": (41.98, -87.92, 201, -6),
    "Aurora": (39.72, -104.75, 1726, -7),
    "Tucson": (32.17, -110.88, 809, -7),
    "Port Angeles": (48.12, -123.50, 91, -8),
}


def series_of(name: str) -> xr.Dataset:
    """Build one place's weather series from its independent reader."""
    if name == "Kalvenau":
        return demonstration()
    compare = load_compare()
    readers = {
        "Greensboro": lambda: compare.tmy3(name, "723170TYA.CSV"),
        "Sand Point": lambda: compare.tmy3(name, "703165TY.csv"),
        "Miami": lambda: compare.tmy2_miami(),
        "New York typical": lambda: compare.typical(name, "new_york.csv.gz", -5),
    }
    if name.startswith("Germany"):
        one = compare.german(int(name.split()[1]))
        place = (51.0, 10.0, 200.0, 1.0)
    else:
        place = PLACES[name]
        if name in readers:
            one = readers[name]()
        elif name.startswith("New York"):
            one = compare.new_york(name.split()[2])
        else:
            file = f"{name.lower().replace(' ', '_')}.csv.gz"
            one = compare.typical(name, file, place[3])
    frame = one.frame.copy()
    index = frame.index - pd.Timedelta(hours=place[3])
    kind = "observed" if "2013" in one.name else "typical year"
    if kind == "typical year":
        index = pd.DatetimeIndex([stamp.replace(year=2001) for stamp in index])
    frame.index = index
    # the three airports lack a few dozen hours: straight lines across them
    frame = frame.sort_index().asfreq("h").interpolate(limit_direction="both")
    return make_series(
        frame.index.to_numpy(),
        {NAMES[column]: frame[column].to_numpy(float) for column in frame},
        step="hour",
        kind=kind,
        source=one.name,
        latitude=place[0],
        longitude=place[1],
        elevation=place[2],
        utc_offset=place[3],
    )


@pytest.fixture(scope="session")
def weather_of() -> Callable[[str], xr.Dataset]:
    """Give the weather of a named place, each read once."""
    return cache(series_of)
