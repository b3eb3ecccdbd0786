"""Closed unheated buildings, basements and a solar shed against published moisture."""

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import pytest
import xarray as xr
from outside import PublishedCheck, Record

from emcforecast.ensemble.simulate import running_emc, simulate
from emcforecast.physics.sun import clear_sky
from emcforecast.storage.air import air_in
from emcforecast.tables import rows
from emcforecast.weather.series import make_series
from emcforecast.wood.board import Board

SOURCE = PublishedCheck(
    what="wood in closed unheated buildings and basements, air in a solar-heated shed",
    source=(
        "DIN 1052 (closed unheated building 9 to 15 %), EN 942 (internal joinery, "
        "unheated 12 to 16 %, heated to 12-21 °C 9 to 13 %), a published solar dryer "
        "(52 °C and under 20 % inside at 21 °C and 50 % outside, second hand; about 30 "
        "days from green to 7 %, retrieved), two measured roof spaces "
        "(TRH-tietokanta, CC BY 4.0)"
    ),
    provenance="memory",
    kind="fitted",
    tolerance="printed ranges, for the year's mean; 52 °C ± 5 K; 30 days ×/÷ 2",
    why=(
        "the ranges are of wood in service; the places' numbers come from standards "
        "and judgement with these ranges in view, the solar shed's window from its "
        "one pair; foretold are only the measured roof spaces and the days"
    ),
)

Weather = Callable[[str], xr.Dataset]
Mean = Callable[[str, str], float]
GERMAN = tuple(f"Germany {region}" for region in range(1, 16))
HUMID = ("Kalvenau", "Greensboro", "Pittsburgh", "Chicago", "New York typical")
# Beyond the range of DIN 1052, each with its reason; EN 942 takes the first in.
MISSED = {
    "Germany 6": "by 0.02: the damp heights of the Westerwald",
    "Germany 11": (
        "a summit of the Ore Mountains at 1200 m, half the year in cloud: 16.8 % in a "
        "closed building, where the air outside stands for 22"
    ),
}


def published_range(use: str) -> tuple[float, float]:
    row = next(row for row in rows("target_mc") if row["use"] == use)
    return float(row["low_pct"]), float(row["high_pct"])


def beyond(value: float, low: float, high: float) -> float:
    return max(low - value, value - high, 0.0)


@pytest.fixture(scope="module")
def board_mean(weather_of: Weather) -> Mean:
    """Give the mean moisture of a board in a place's building, each worked out once."""

    @cache
    def mean(place: str, setting: str) -> float:
        air = air_in(weather_of(place), setting)
        return float(running_emc(air, Board("red oak", 27.0)).mean())

    return mean


def cases(places: tuple[str, ...], *missed: str) -> list[Any]:
    return [
        pytest.param(
            place,
            marks=[pytest.mark.xfail(strict=True, reason=MISSED[place])]
            if place in missed
            else [],
        )
        for place in places
    ]


@pytest.mark.parametrize("place", cases((*HUMID, *GERMAN), *MISSED))
def test_wood_in_a_closed_building(
    place: str, board_mean: Mean, record_reached: Record
) -> None:
    mean = board_mean(place, "barn")
    low, high = published_range("timber-frame-unheated")
    group = "misses listed" if place in MISSED else "other places"
    record_reached(f"closed building, beyond 9 to 15, {group}", beyond(mean, low, high))
    assert low <= mean <= high


@pytest.mark.parametrize("place", cases(GERMAN, "Germany 11"))
def test_joinery_in_an_unheated_building(
    place: str, board_mean: Mean, record_reached: Record
) -> None:
    mean = board_mean(place, "barn")
    low, high = published_range("interior-joinery-unheated")
    group = "misses listed" if place == "Germany 11" else "other places"
    record_reached(
        f"closed building, beyond 12 to 16, {group}", beyond(mean, low, high)
    )
    assert low <= mean <= high


@pytest.mark.parametrize("place", GERMAN)
def test_joinery_in_a_basement_below_a_heated_house(
    place: str, board_mean: Mean, record_reached: Record
) -> None:
    # EN 942: heated to 12 to 21 °C, as such a basement is from above
    mean = board_mean(place, "basement")
    record_reached("basement, beyond 9 to 13 % MC", beyond(mean, 9.0, 13.0))
    assert 9.0 <= mean <= 13.0


@pytest.mark.parametrize("place", ["Germany 12", "Germany 13", "Germany 15"])
def test_a_garage_is_no_heated_house(place: str, board_mean: Mean) -> None:
    # EN 942 has unheated buildings about 5 % MC above rooms over 21 °C (12-16, 6-10)
    assert board_mean(place, "barn") - board_mean(place, "house") > 3.0


@pytest.mark.parametrize("name", ["A", "B"])
def test_a_closed_building_is_cooler_in_july_than_a_roof_space(
    name: str, building: Callable[[str], Any], record_reached: Record
) -> None:
    """Measured under tiles: 3.7 to 5.6 K over outdoors; walls and a floor cool."""
    house = building(name)
    outdoors = house.weather.air_temperature.to_numpy()
    july = house.weather.indexes["time"].month == 7
    measured = np.nanmean((house.sensor("attic_mid")[0] - outdoors)[july])
    air = air_in(house.weather, "barn").air_temperature.to_numpy()
    excess = np.nanmean((air - outdoors)[july])
    record_reached("closed building over outdoors in July, K", excess)
    assert 0.5 < excess < measured - 0.5


def test_solar_shed_on_a_clear_day() -> None:
    """Published: 52 °C and under 20 % inside at 21 °C and 50 % outdoors."""
    time = np.arange("2001-06-11", "2001-07-02", dtype="datetime64[h]")
    even = np.ones(time.size)
    weather = make_series(
        time,
        {
            "air_temperature": 21.0 * even,
            "relative_humidity": 50.0 * even,
            "wind_speed": 3.0 * even,
            "shortwave": clear_sky(time, 40.0, 0.0),
        },
        step="hour",
        kind="observed",
        source="a clear June at 40° north",
        latitude=40.0,
        longitude=0.0,
        utc_offset=0.0,
    )
    air = air_in(weather, "solar-shed").isel(time=slice(-24, None))
    hottest = int(np.argmax(air.air_temperature.to_numpy()))
    assert float(air.air_temperature[hottest]) == pytest.approx(52.0, abs=5.0)
    assert float(air.relative_humidity[hottest]) < 20.0
    assert 11 <= hottest <= 17
    # shut and cool by night, when the outside is damper than the day inside
    assert float(air.air_temperature.min()) < 24.0


@pytest.mark.parametrize("place", ["Greensboro", "Chicago"])
def test_solar_shed_in_summer_works_at_its_published_temperature(
    place: str, weather_of: Weather, record_reached: Record
) -> None:
    # an extension service (retrieved): about 120 to 130 °F (49 to 54 °C)
    air = air_in(weather_of(place), "solar-shed")
    daily = air.air_temperature.resample(time="D").max()
    july = daily.where(daily.time.dt.month == 7, drop=True)
    best = float(july.quantile(0.75))
    record_reached(
        "solar shed, sunny July days beyond 49 to 54 °C", beyond(best, 49, 54)
    )
    assert 45.0 <= best <= 58.0


@pytest.mark.parametrize("species", ["yellow-poplar", "loblolly pine", "red oak"])
def test_days_in_a_solar_shed(
    species: str, weather_of: Weather, record_reached: Record
) -> None:
    # an extension article (retrieved): green lumber to 7 % in about 30 days
    # in the typical years of four humid temperate places
    days = []
    for place in HUMID:
        if place == "Kalvenau":
            continue
        air = air_in(weather_of(place), "solar-shed")
        year = air.indexes["time"][0].year
        stay = air.sel(time=slice(f"{year}-05-15", f"{year}-11-15"))
        mean = simulate(stay, Board(species, "4/4"))["mean"].to_numpy()
        days.append(float(np.argmax(mean <= 8.0)) / 24.0)
    middle = float(np.median(days))
    record_reached("solar shed, green to 8 %, days over 30", middle / 30.0)
    assert 15.0 <= middle <= 60.0


@pytest.mark.parametrize("place", HUMID)
def test_a_fan_switched_by_humidity_dries(place: str, board_mean: Mean) -> None:
    """It airs only with drier air, so it never leaves the wood damper."""
    for kind, fan in (("barn", 10.0), ("basement", 3.0)):
        still = board_mean(place, kind)
        aired = board_mean(place, f"{kind},fan={fan:g}")
        always = board_mean(place, f"{kind},ventilation={1.0 + fan:g}")
        assert aired < still - 0.1
        assert aired < always - 0.3
