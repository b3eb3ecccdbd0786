"""A yard and a short record of weather that the tests share."""

from pathlib import Path

import numpy as np
import pytest

from emcforecast.weather.read import read_weather

YARD = """\
name = "Test yard"
units = "us"
[weather]
file = "demo"
[setting.loft]
kind = "loft"
[[stack]]
name = "ash"          # ten months in an airy loft
species = "white ash"
thickness = "4/4"
stacked = 2025-12-15
setting = "loft"
use = "furniture"
need = 2027-04-01
[[stack]]
name = "poplar"
species = "yellow-poplar"
thickness = "4/4"
stacked = 2026-05-02
setting = "shed"
[[stack]]
name = "oak"
species = "white oak"
thickness = "8/4"
sawn = 2026-04-01
setting = "shed"
use = "decking"
samples = [{ board = "A", weight = "4.46 lb", mc = 62.2 }]
[[stack]]
name = "later"
species = "white oak"
thickness = "4/4"
sawn = 2027-01-10
setting = "shed"
"""


@pytest.fixture(scope="session")
def short_weather():
    """The demonstration's last four years: enough for a range, quick to follow."""
    weather = read_weather("demo")
    return weather.sel(time=slice(np.datetime64("2015-01-01"), None))


@pytest.fixture(scope="session")
def yard_text_of_tests() -> str:
    return YARD


@pytest.fixture
def yard_file(tmp_path: Path) -> Path:
    path = tmp_path / "yard.toml"
    path.write_text(YARD)
    return path
