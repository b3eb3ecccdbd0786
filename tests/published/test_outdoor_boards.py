"""Boards outdoors and in lofts, over real hourly climates."""

from collections.abc import Callable
from functools import cache

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from outside import PublishedCheck, Record

from emcforecast.ensemble.simulate import running_emc, simulate
from emcforecast.physics.moist_air import saturation_vapour_pressure, vapour_pressure
from emcforecast.physics.sorption import (
    equilibrium_humidity,
    equilibrium_moisture_content,
)
from emcforecast.storage.air import air_in
from emcforecast.wood.board import Board

SOURCE = PublishedCheck(
    what=(
        "sheltered boards against the published basis, uncovered stacks and ten "
        "months in a loft"
    ),
    source=(
        "EMC of monthly means, the basis of the city tables, in 27 real climates; "
        "common practice for stacks and lofts (no source)"
    ),
    provenance="memory",
    kind="foretold",
    tolerance="0.6 % MC, the misses listed with their reasons",
    why="an earlier model was within 0.5 over seven climates",
)


Weather = Callable[[str], xr.Dataset]
Numbers = Callable[[str], tuple[float, float, float, float]]

HUMID = ("Kalvenau", "Greensboro", "Pittsburgh", "Chicago", "New York typical")
OPEN = ("Miami", "Sand Point", "New York EWR", "New York JFK", "New York LGA")
GERMAN = tuple(f"Germany {region}" for region in range(1, 16))
DRY = ("Tucson", "Aurora")


def film_limit(t: np.ndarray, rh: np.ndarray) -> float:
    """Moisture content (%) at which vapour in and out balance over the whole record.

    mean(e) = mean(a_w e_s): what wood settles at when the air film is all that holds
    it back. Bisection on one number.
    """
    e = float(vapour_pressure(t, rh).mean())
    e_s = saturation_vapour_pressure(t)
    low, high = 0.5, 30.0
    for _ in range(16):
        middle = (low + high) / 2
        held = equilibrium_humidity(t, np.full_like(t, middle)) / 100 * e_s
        low, high = (low, middle) if float(held.mean()) > e else (middle, high)
    return low


def sheltered(weather: xr.Dataset) -> xr.Dataset:
    """Outdoor air at a roofed board, nothing else."""
    air = weather[["air_temperature", "relative_humidity"]].copy()
    air.attrs = dict(weather.attrs) | {"surface_transfer": 1e-3, "rain_film": 0.0}
    return air


def numbers(weather: xr.Dataset) -> tuple[float, float, float, float]:
    """Film limit, board at rest, mean hourly EMC, published basis; year's means."""
    t = weather.air_temperature.to_numpy()
    rh = weather.relative_humidity.to_numpy()
    month = weather.indexes["time"].month
    means = [pd.Series(x).groupby(month).mean().to_numpy() for x in (t, rh)]
    board = running_emc(sheltered(weather), Board("white oak", 27.0))
    return (
        film_limit(t, rh),
        float(board.mean()),
        float(np.mean(equilibrium_moisture_content(t, rh))),
        float(np.mean(equilibrium_moisture_content(means[0], means[1]))),
    )


@pytest.fixture(scope="module")
def numbers_of(weather_of: Weather) -> Numbers:
    """Give the four numbers of a named place, each worked out once."""
    return cache(lambda place: numbers(weather_of(place)))


@pytest.mark.parametrize("place", [*HUMID, *OPEN, *GERMAN, *DRY])
def test_board_lies_between_its_two_limits(place: str, numbers_of: Numbers) -> None:
    # the two limits of diffusion into wood: film alone, or inside alone
    film, board, hourly, _ = numbers_of(place)
    assert film < board < hourly


# Published city tables use monthly means. Over seven real climates an earlier model
# found a sheltered 27 mm board within 0.5 % MC of that basis; 0.6 is asked for here.
# The climates that miss it, each with its reason. The kernel is not it: a stiff solver
# on the same equations rests within 0.03 of it there (test_stiff_solver.py).
SEA = (
    "damp sea air in the warm hours: even the film limit is near the published basis, "
    "and a board lies between that and the mean of hourly EMC, 1.2 and 1.8 above"
)
BEYOND = {
    "New York JFK": SEA,
    "New York typical": SEA,
    "Germany 15": (
        "by less than 0.1: hot dry afternoons of the foothills, when wood lets most "
        "water through"
    ),
    "Aurora": (
        "hot dry afternoons of the high plains: hourly EMC weighted by how fast wood "
        "diffuses is 1.7 below the basis, and the film limit 2.8"
    ),
}


def near_cases() -> list[object]:
    found: list[object] = []
    for place in (*HUMID, *OPEN, *GERMAN, *DRY):
        reason = BEYOND.get(place)
        marks = [pytest.mark.xfail(strict=True, reason=reason)] if reason else []
        found.append(pytest.param(place, marks=marks))
    return found


@pytest.mark.parametrize("place", near_cases())
def test_board_is_near_the_published_basis(
    place: str, numbers_of: Numbers, record_reached: Record
) -> None:
    _, board, _, published = numbers_of(place)
    kind = "misses listed" if place in BEYOND else "other climates"
    record_reached(f"{kind}, % MC", board - published)
    assert abs(board - published) < 0.6


RAINY = ("Kalvenau", "New York EWR", "New York JFK")
DRY_RAIN = (
    "its typical year has rain in 268 hours where the airports of the same city "
    "measured 578 and 599: the stack stays too dry"
)
# common practice, no source: in a humid temperate climate with rain an uncovered
# stack lies at 16 to 20 % and seldom below
STACKS = [
    *RAINY,
    pytest.param(
        "New York typical", marks=pytest.mark.xfail(strict=True, reason=DRY_RAIN)
    ),
]


@pytest.mark.parametrize("place", [*RAINY, "New York typical"])
def test_uncovered_stack_lies_at_sixteen_to_twenty(
    place: str, weather_of: Weather
) -> None:
    bare = running_emc(air_in(weather_of(place), "stack"), Board("white oak", 27.0))
    assert 16 <= float(bare.median()) <= 21


@pytest.mark.parametrize("place", STACKS)
def test_uncovered_stack_seldom_gets_below_sixteen(
    place: str, weather_of: Weather, record_reached: Record
) -> None:
    weather = weather_of(place)
    bare = running_emc(air_in(weather, "stack"), Board("white oak", 27.0)).to_numpy()
    roofed = running_emc(air_in(weather, "stack-roof"), Board("white oak", 27.0))
    least = float(np.quantile(bare, 0.05))
    group = "other places" if place in RAINY else "misses listed"
    record_reached(
        f"driest twentieth of the year below 16, {group}", max(16 - least, 0)
    )
    assert least >= 15
    # the roof is worth some points: rain is what holds the bare stack up
    assert bare.mean() - float(roofed.mean()) > 3


def test_courses_below_others_get_less_rain(weather_of: Weather) -> None:
    weather = weather_of("Kalvenau").isel(time=slice(0, 3 * 8760))
    summer = weather.indexes["time"].month.isin([6, 7, 8, 9])

    def moisture(setting: str) -> float:
        board = running_emc(air_in(weather, setting), Board("white oak", 27.0))
        return float(board.to_numpy()[summer].mean())

    everywhere = moisture("stack,wet_share=1")
    # an expert has the average of a fully wetted stack 3 to 5 % MC too wet in rainy
    # summers; practice (above) allows about half of that
    assert 1.0 < everywhere - moisture("stack") < 5.0


MEASURED = ("Greensboro", "Pittsburgh", "Chicago", "New York typical")


@pytest.mark.parametrize("species", ["yellow-poplar", "white ash", "basswood"])
def test_ten_months_in_an_airy_loft(
    species: str, weather_of: Weather, record_reached: Record
) -> None:
    # common practice, no source: 25 mm of a fast hardwood, December to October in a
    # ventilated barn loft, reads 10 to 13 %. Typical years of four humid temperate
    # places, each after itself
    beyond = []
    for place in MEASURED:
        air = air_in(weather_of(place), "loft").isel(time=slice(0, 8760))
        next_year = air.assign_coords(time=air.time + np.timedelta64(365, "D"))
        two = xr.concat([air, next_year], "time", combine_attrs="override")
        year = two.indexes["time"][0].year
        stay = two.sel(time=slice(f"{year}-12-01", f"{year + 1}-10-01"))
        end = float(simulate(stay, Board(species, 25.0))["mean"][-1])
        beyond.append(max(10.0 - end, end - 13.0, 0.0))
    record_reached("ten months in a loft, beyond 10 to 13", max(beyond))
    assert max(beyond) == 0.0
