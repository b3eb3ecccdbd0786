"""The demonstration weather is its generator's, and looks like real weather."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from pvlib.solarposition import get_solarposition

from emcforecast.tables import path
from emcforecast.weather.read import demonstration
from emcforecast.weather.series import check_contract
from emcforecast.weather.years import years_of

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


# Each statistic beside measured years: it must lie between the least of them divided by
# the factor and the greatest of them times the factor. 1: inside what was measured.
# INLAND: six inland test reference years of the German weather service (demandlib).
INLAND = {
    "mean_t": 1.0,
    "mean_rh": 1.0,
    "published": 1.0,
    "published_low": 1.0,
    "published_high": 1.0,
    "trap": 1.0,
    "trap_low": 1.1,
    "trap_high": 1.0,
    "day_sd_t_winter": 1.05,
    "day_sd_t_summer": 1.05,
    "day_sd_rh_winter": 1.0,
    "day_sd_rh_summer": 1.0,
    "day_sd_emc": 1.0,
    "lag1_t": 1.0,
    "lag1_rh": 1.0,
    "range_t_winter": 1.0,
    "range_t_summer": 1.0,
    "range_rh_winter": 1.0,
    "range_rh_summer": 1.0,
    "hours_over_95": 1.0,
    "hours_under_40": 1.0,
    "hours_frost": 1.0,
    "wind_mean": 1.0,
    "wind_cv": 1.0,
    "wind_noon_over_night": 1.0,
    # two to five degrees further south: up to 0.15 more sun than at those stations
    # (sunshine of Graz 1844 hours, of southern Germany about 1650, the latter recalled)
    "sun_mean": 1.15,
}
# The German years give no rain and only one year each: rain and the spread from year to
# year stand beside Chicago, three New York airports and Mount Shasta (NOAA).
MEASURED = {
    "rain_year": 1.05,
    "wet_hours": 1.0,
    # a mountain edge has more days of rain than a plain
    "wet_days": 1.25,
    "rh_when_wet": 1.02,
    # two stations with three years each: an SD from three years is loose
    "year_sd_rh": 1.25,
    "year_sd_emc": 1.25,
}


@pytest.fixture(scope="module")
def compare() -> ModuleType:
    return load("compare")


@pytest.fixture(scope="module")
def made(compare: ModuleType) -> dict[str, float]:
    return compare.statistics(compare.demonstration())


@pytest.fixture(scope="module")
def inland(compare: ModuleType) -> list[Any]:
    return [compare.german(region) for region in compare.INLAND]


@pytest.fixture(scope="module")
def inland_statistics(compare: ModuleType, inland: list[Any]) -> list[dict[str, float]]:
    return [compare.statistics(series) for series in inland]


@pytest.fixture(scope="module")
def measured_statistics(compare: ModuleType) -> list[dict[str, float]]:
    measured = [
        *[compare.new_york(origin) for origin in ("EWR", "JFK", "LGA")],
        compare.observed("Chicago", "chicago_ohare_2015_2017.csv.gz", -6),
        compare.observed("Mount Shasta", "mount_shasta_2015_2017.csv.gz", -8),
    ]
    return [compare.statistics(series) for series in measured]


def assert_between(value: float, real: list[float], factor: float) -> None:
    assert real
    assert min(real) / factor <= value <= max(real) * factor


@pytest.mark.parametrize("key", INLAND)
def test_like_measured_years_of_central_europe(
    key: str, made: dict[str, float], inland_statistics: list[dict[str, float]]
) -> None:
    real = [one[key] for one in inland_statistics]
    assert_between(made[key], real, INLAND[key])


@pytest.mark.parametrize("key", MEASURED)
def test_rain_and_spread_like_measured_years(
    key: str, made: dict[str, float], measured_statistics: list[dict[str, float]]
) -> None:
    real = [one[key] for one in measured_statistics if key in one]
    assert_between(made[key], real, MEASURED[key])


def by_month(compare: ModuleType, frame: pd.DataFrame) -> pd.DataFrame:
    """Monthly mean temperature, humidity and daily range of temperature."""
    table = compare.monthly(frame)
    day = frame.t.resample("D")
    swing = (day.max() - day.min())[day.count() >= 20]
    return table.assign(swing=swing.groupby(swing.index.month).mean())


@pytest.mark.parametrize(
    ("what", "beyond"),
    # beyond the driest and the dampest, coldest and warmest of the six stations: 1 K
    # for two degrees of latitude (0.5 to 0.7 K a degree, recalled), 1 % RH and 0.5 K
    # for a month of one year against the mean of twelve
    [("t", 1.0), ("rh", 1.0), ("swing", 0.5)],
)
def test_every_month_lies_among_the_stations(
    what: str, beyond: float, compare: ModuleType, inland: list[Any]
) -> None:
    own = by_month(compare, compare.demonstration().frame)[what]
    real = pd.DataFrame({s.name: by_month(compare, s.frame)[what] for s in inland})
    assert (own >= real.min(axis=1) - beyond).all()
    assert (own <= real.max(axis=1) + beyond).all()


# SD over 1979 to 2018 of each month's mean temperature, K, a straight trend taken out:
# ERA5 monthly means (Copernicus Climate Change Service), mean over 46.5 to 47.25 N and
# 10.5 to 11.25 E, worked out from the file of that box in an open glacier data set.
ERA5_SD = (1.91, 2.38, 1.89, 1.26, 1.40, 1.32, 1.41, 1.21, 1.73, 1.60, 1.83, 1.82)
SEASONS = {
    "winter": (12, 1, 2),
    "spring": (3, 4, 5),
    "summer": (6, 7, 8),
    "autumn": (9, 10, 11),
}


BOX = ROOT / "../shared/archives/era5_monthly_t2m_only_1979-2018.nc"


@pytest.mark.skipif(not BOX.is_file(), reason="the file of the box is not here")
def test_spread_of_the_reanalysis_is_as_written() -> None:
    with xr.open_dataset(BOX) as box:
        t = box.t2m.mean(("latitude", "longitude")).to_numpy().reshape(40, 12)
    years = np.arange(40)
    for month in range(12):
        trend = np.polyval(np.polyfit(years, t[:, month], 1), years)
        spread = (t[:, month] - trend).std(ddof=2)
        assert spread == pytest.approx(ERA5_SD[month], abs=0.005)


@pytest.mark.parametrize("season", SEASONS)
def test_years_differ_as_in_the_reanalysis(season: str, compare: ModuleType) -> None:
    # SD of 36 months, each about its own month's mean: its error is about 0.12 of it
    # (1 / sqrt(2 x 33)); within twice that, and a tenth for another place in the Alps
    t = compare.demonstration().frame.t.iloc[24:-24].resample("MS").mean()
    own = t.groupby(t.index.month).var()
    months = list(SEASONS[season])
    spread = float(np.sqrt(own[months].mean()))
    real = float(np.sqrt(np.mean([ERA5_SD[m - 1] ** 2 for m in months])))
    assert 0.66 < spread / real < 1.34


# Long-term means as printed (read): °C of January, July and the year, mm of January,
# July and the year. Ljubljana, Maribor 1961-1990 from a table of a Slovene institute;
# Graz (winter and summer for January and July, a third of a season's rain) from HISTALP
# as printed in a German book of 2009.
NORMALS = {
    "Ljubljana": (-1.0, 19.6, 9.7, 85, 132, 1395),
    "Maribor": (-1.5, 19.3, 9.4, 50, 124, 1048),
    "Graz": (-2.3, 18.6, 9.5, 31, 126, 838),
}


def test_near_the_long_term_means_of_its_region(compare: ModuleType) -> None:
    # temperature within 1 K of the nearest town (the means are of colder decades); rain
    # within 0.2 of the least and the most, the standard error of twelve months whose
    # rain differs by two thirds (recalled)
    frame = compare.demonstration().frame
    t = frame.t.groupby(frame.index.month).mean()
    fall = frame.rain.groupby(frame.index.month).sum() / 12
    own = (t[1], t[7], frame.t.mean(), fall[1], fall[7], fall.sum())
    for value, *towns in zip(own[:3], *(v[:3] for v in NORMALS.values()), strict=True):
        assert min(abs(value - town) for town in towns) < 1.0
    for value, *towns in zip(own[3:], *(v[3:] for v in NORMALS.values()), strict=True):
        assert 0.8 * min(towns) < value < 1.2 * max(towns)


def test_storms_in_summer_and_snow_in_some_winters(weather: xr.Dataset) -> None:
    # the scenario's own words: heavy hours fall in summer afternoons, snow that falls
    # (all below 0 °C, most at 1 °C: common rule) differs severalfold between winters
    rain = weather.precipitation.to_series()
    heavy = rain[rain > 8.0].index + pd.Timedelta(hours=1)
    summer = heavy.month.isin((5, 6, 7, 8, 9))
    afternoon = (heavy.hour >= 13) & (heavy.hour < 23)
    assert summer.mean() > 0.5
    assert afternoon[summer].mean() > 0.6
    snow = rain[weather.air_temperature.to_series() < 0.5]
    winters = snow.groupby(snow.index.year + (snow.index.month > 7)).sum().iloc[1:-1]
    assert winters.max() > 100.0
    assert winters.min() < 0.4 * winters.max()


def test_page_shows_the_comparison_as_it_is() -> None:
    page = (ROOT / "docs" / "demonstration.md").read_text(encoding="utf-8")
    shown = page.split("<!-- comparison -->")[1].split("<!-- end -->")[0]
    assert shown.strip() == load("compare").table().strip()
