"""A place's page and a yard's page, made once a process from four weather years."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from emcforecast.answers.place import Asked, PlaceAnswers, place_answers
from emcforecast.answers.yard import yard_answer
from emcforecast.forecast.targets import target_for_use
from emcforecast.pages.place import place_page
from emcforecast.pages.yard import yard_page
from emcforecast.weather.read import read_weather
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
def pages(
    place_html: str, yard_html: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[str, Path]]:
    """Return both pages as files."""
    folder = tmp_path_factory.mktemp("pages")
    found = {"place": place_html, "yard": yard_html}
    for name, text in found.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in found}
