"""A place's page and a yard's page, made once a process from four weather years."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from emcforecast.answers.map import map_answered
from emcforecast.answers.place import Asked, PlaceAnswers, place_answers
from emcforecast.answers.yard import yard_answer
from emcforecast.forecast.targets import target_for_use
from emcforecast.grid.emc import emc_grid
from emcforecast.grid.series import PLACE_ATTRS
from emcforecast.pages.map import map_page
from emcforecast.pages.place import place_page
from emcforecast.pages.yard import yard_page
from emcforecast.weather.read import read_weather
from emcforecast.weather.series import cf_attributes
from emcforecast.wood.species import resolve_species
from emcforecast.yard.file import read_yard

TODAY = date(2026, 11, 25)
HOSTILE = "<script>alert(1)</script>{{ 7*7 }}"
YARD = f"""\
name = "{HOSTILE} `yard` & more"
units = "us"
[weather]
file = "demo"
[setting.loft]
kind = "loft"
[[stack]]
name = "ash{HOSTILE}"
species = "white ash"
thickness = "4/4"
stacked = 2025-12-15
setting = "loft"
use = "furniture"
need = 2027-04-01
boards = {{ count = 40, length = "8 ft", width = "8 in" }}
[[stack]]
name = "oak"
species = "white oak"
thickness = "8/4"
sawn = 2026-04-01
setting = "shed"
use = "decking"
"""
READINGS = f"""\
time,stack,board,kind,depth,value,wood_temperature,species_setting,note
2026-06-10,oak,,pin,,31,,,{HOSTILE}
2026-10-10,oak,,pin,,8,,,far too dry
"""


@pytest.fixture(scope="session")
def four_years() -> Any:
    return read_weather("demo").sel(time=slice(np.datetime64("2015-01-01"), None))


@pytest.fixture(scope="session")
def place(four_years: Any) -> PlaceAnswers:
    larch = resolve_species("European larch")
    asked = Asked(
        [(larch, "27 mm"), (resolve_species("European ash"), "4/4")],
        [],
        TODAY,
        target_for_use("furniture"),
        date(2027, 11, 25),
    )
    return place_answers(four_years, asked)


@pytest.fixture(scope="session")
def place_html(place: PlaceAnswers) -> str:
    return place_page(place, TODAY)


@pytest.fixture(scope="session")
def yard(four_years: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder = tmp_path_factory.mktemp("yard")
    (folder / "yard.toml").write_text(YARD)
    (folder / "readings.csv").write_text(READINGS)
    known = read_yard(folder / "yard.toml")
    return yard_answer(known, four_years, TODAY, system="us", paths=True)


@pytest.fixture(scope="session")
def yard_html(yard: Any) -> str:
    return yard_page(yard, "us")


@pytest.fixture(scope="session")
def mapped() -> xr.Dataset:
    """Return EMC of twelve made mean months on a small grid, damper to the west."""
    north, east = 52.0 - 2.0 * np.arange(5), 8.0 + 3.0 * np.arange(4)
    season = -np.cos(2 * np.pi * (np.arange(12) - 0.5) / 12)[:, None, None]
    warm = 9.0 + 10.0 * season + 0.4 * (52.0 - north)[None, :, None] + 0.0 * east
    damp = 76.0 - 8.0 * season - 0.8 * (east - 8.0) + 0.0 * north[None, :, None]
    months = np.arange("2001-01", "2002-01", dtype="datetime64[M]")
    grid = xr.Dataset(
        {
            name: (
                ("time", "latitude", "longitude"),
                values,
                cf_attributes(name, "month"),
            )
            for name, values in (("air_temperature", warm), ("relative_humidity", damp))
        },
        coords={"time": months.astype("datetime64[ns]")}
        | {
            name: (name, values, PLACE_ATTRS[name])
            for name, values in (("latitude", north), ("longitude", east))
        },
        attrs={"step": "climatology", "kind": "normals", "source": "Made months",
               "repairs": "[]"},
    )  # fmt: skip
    return emc_grid(grid).compute()


@pytest.fixture(scope="session")
def map_html(mapped: xr.Dataset) -> str:
    return map_page(mapped, map_answered(mapped, {}), TODAY)


@pytest.fixture(scope="session")
def pages(
    place_html: str,
    yard_html: str,
    map_html: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[dict[str, Path]]:
    """Return each page as a file."""
    folder = tmp_path_factory.mktemp("pages")
    found = {"place": place_html, "yard": yard_html, "map": map_html}
    for name, text in found.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in found}
