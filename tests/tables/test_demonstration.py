"""The demonstration weather is its generator's, and looks like real weather."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from pvlib.solarposition import get_solarposition

from emcforecast.tables import path, rows
from emcforecast.weather.read import demonstration
from emcforecast.weather.series import check_contract, years_of

ROOT = Path(__file__).resolve().parents[2]


def load(name: str) -> ModuleType:
    file = ROOT / "data" / "demonstration" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(f"demonstration_{name}", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def weather() -> xr.Dataset:
    return demonstration()


def test_packed_file_is_the_generators(weather: xr.Dataset) -> None:
    made = load("generate").make()
    for name, values in made.items():
        scale = 1.0 if name == "shortwave" else 10.0
        packed = np.rint(weather[name].to_numpy() * scale).astype(np.int16)
        np.testing.assert_array_equal(packed, values, err_msg=name)


def test_small_enough_for_the_wheel() -> None:
    assert path("demonstration.npz").stat().st_size < 1_000_000


def test_contract_and_whole_years(weather: xr.Dataset) -> None:
    check_contract(weather)
    assert years_of(weather) == list(range(2007, 2019))
    assert weather.sizes["time"] == 12 * 8760 + 3 * 24
    assert not any(np.isnan(v).any() for v in weather.data_vars.values())


def test_sun_is_where_a_solar_library_puts_it(weather: xr.Dataset) -> None:
    # pvlib's NREL SPA; mid-interval elevation, half-hour twilights left out
    one = weather.sel(time="2012")
    middle = pd.DatetimeIndex(one.time.to_numpy()).tz_localize("UTC")
    place = get_solarposition(
        middle + pd.Timedelta(minutes=30),
        one.attrs["latitude"],
        one.attrs["longitude"],
    )
    height = place["apparent_elevation"].to_numpy()
    sun = one.shortwave.to_numpy()
    assert (sun[height > 8] > 0).all()
    assert (sun[height < -8] == 0).all()
    # never brighter than outside the atmosphere, and bright at times
    top = 1367 * np.sin(np.radians(np.maximum(height, 0)))
    assert (sun[height > 10] < 0.9 * top[height > 10]).all()
    assert (sun / np.maximum(top, 1))[height > 40].max() > 0.7


# Each statistic beside the real humid temperate series (Greensboro NC typical year,
# Pittsburgh, Chicago, three
# New York airports 2013, Chicago O'Hare 2015-17): it must lie between the
# least of them divided by the factor and the greatest of them times the factor.
# The factor says how far an invented valley may differ from airports in the open.
BETWEEN = {
    "published": 1.05,
    "published_low": 1.1,
    "published_high": 1.1,
    "trap": 1.15,
    "trap_high": 1.1,
    "day_sd_t_winter": 1.0,
    "day_sd_t_summer": 1.0,
    "day_sd_rh_winter": 1.0,
    "day_sd_rh_summer": 1.0,
    "day_sd_emc": 1.0,
    "lag1_t": 1.05,
    "lag1_rh": 1.05,
    # the floor of a valley swings more in a day than an airport in the open
    "range_t_winter": 1.1,
    "range_t_summer": 1.1,
    "range_rh_winter": 1.1,
    "range_rh_summer": 1.1,
    "hours_over_95": 1.5,
    "hours_under_40": 2.0,
    "hours_frost": 1.0,
    "wind_mean": 1.3,
    "wind_cv": 1.2,
    "wind_noon_over_night": 1.1,
    "sun_mean": 1.1,
    "rain_year": 1.1,
    "wet_hours": 1.1,
    "wet_days": 1.25,
    "rh_when_wet": 1.02,
    # two real stations with three years each: an SD from three years is loose
    "year_sd_t": 1.5,
    "year_sd_rh": 1.25,
    "year_sd_emc": 1.25,
    "year_sd_t_winter": 1.3,
    "year_sd_t_summer": 1.3,
}


@pytest.fixture(scope="module")
def compared() -> tuple[dict[str, float], list[dict[str, float]]]:
    compare = load("compare")
    humid = [
        compare.tmy3("Greensboro", "723170TYA.CSV"),
        *[compare.new_york(origin) for origin in ("EWR", "JFK", "LGA")],
        compare.typical("Pittsburgh", "pittsburgh.csv.gz", -5),
        compare.typical("Chicago typical", "chicago.csv.gz", -6),
        compare.observed("Chicago", "chicago_ohare_2015_2017.csv.gz", -6),
    ]
    made = compare.statistics(compare.demonstration())
    return made, [compare.statistics(series) for series in humid]


@pytest.mark.parametrize("key", BETWEEN)
def test_like_real_humid_temperate_weather(
    key: str, compared: tuple[dict[str, float], list[dict[str, float]]]
) -> None:
    made, real = compared
    values = [one[key] for one in real if key in one]
    assert values
    factor = BETWEEN[key]
    assert min(values) / factor <= made[key] <= max(values) * factor


def test_page_shows_the_comparison_as_it_is() -> None:
    page = (ROOT / "docs" / "demonstration.md").read_text(encoding="utf-8")
    shown = page.split("<!-- comparison -->")[1].split("<!-- end -->")[0]
    assert shown.strip() == load("compare").table().strip()


def test_near_published_cities_of_its_climate() -> None:
    # Wood Handbook Table 13-1 (after Simpson 1998): yearly mean of seven cities of the
    # humid temperate interior; a month may differ by 2 % MC, the year by 1
    cities = ("Indianapolis", "St. Louis", "Louisville", "Raleigh", "Richmond")
    rows_ = [r for r in rows("emc_outdoor_us") if r["city"] in cities]
    rows_ += [
        r
        for r in rows("emc_outdoor_us")
        if (r["city"], r["state"]) in {("Charleston", "WV"), ("Washington", "DC")}
    ]
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun")
    months += ("Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    published = np.array([[float(r[m]) for m in months] for r in rows_])
    compare = load("compare")
    made = compare.monthly(compare.demonstration().frame).published.to_numpy()
    assert len(published) == 7
    assert abs(made.mean() - published.mean()) < 1.0
    assert np.abs(made - published.mean(axis=0)).max() < 2.0
