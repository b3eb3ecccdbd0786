"""Heated, open and dry houses against published interior moisture.

The Wood Handbook's interior map (FPL-GTR-190 fig. 13-1, retrieved as quoted) gives 8 %
as the average of most of the United States, 6 % for the dry southwest and 11 % for the
damp warm coast.
"""

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from emcforecast.ensemble.simulate import running_emc
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.storage.air import air_in
from emcforecast.tables import rows
from emcforecast.wood.board import Board

Weather = Callable[[str], xr.Dataset]


def monthly_emc(weather: xr.Dataset, setting: str) -> np.ndarray:
    air = air_in(weather, setting)
    values = equilibrium_moisture_content(
        air.air_temperature.to_numpy(), air.relative_humidity.to_numpy()
    )
    month = air.indexes["time"].month
    return pd.Series(np.asarray(values)).groupby(month).mean().to_numpy()


@pytest.mark.parametrize("place", ["Chicago", "Pittsburgh", "New York typical"])
def test_heated_house_with_cold_winter_and_humid_summer(
    place: str, weather_of: Weather
) -> None:
    # the average and the winter low of heated houses (common practice, no source,
    # and the interior map above)
    months = monthly_emc(weather_of(place), "indoor")
    assert 7.0 <= months.mean() <= 9.5
    assert 4.5 <= months.min() <= 6.5
    assert months.argmin() in (0, 1, 11)
    assert months.argmax() in (5, 6, 7, 8)


@pytest.mark.parametrize("place", ["Greensboro", "Alder Bottom"])
def test_heated_house_with_milder_winter(place: str, weather_of: Weather) -> None:
    # 1 to 4 °C outdoors in January: air from there is not quite as dry indoors
    months = monthly_emc(weather_of(place), "indoor")
    assert 7.0 <= months.mean() <= 9.5
    assert 4.5 <= months.min() <= 7.5


def test_damp_warm_coast_without_cooling(weather_of: Weather) -> None:
    # interior map: 11 % on average
    months = monthly_emc(weather_of("Miami"), "indoor")
    assert 10.0 <= months.mean() <= 12.5


@pytest.mark.parametrize("place", ["Tucson", "Aurora"])
def test_dry_southwest(place: str, weather_of: Weather) -> None:
    # interior map: 6 % on average; Aurora, Colorado, has the dry air without the heat
    months = monthly_emc(weather_of(place), "indoor")
    assert 4.0 <= months.mean() <= 7.5


@pytest.mark.parametrize(
    ("region", "place"),
    [("us", "Chicago"), ("us-dry-southwest", "Tucson"), ("us-damp-coast", "Miami")],
)
def test_interior_map(region: str, place: str, weather_of: Weather) -> None:
    published = next(
        float(row["typical_pct"])
        for row in rows("target_mc")
        if row["use"] == "indoor-average" and row["region"] == region
    )
    months = monthly_emc(weather_of(place), "indoor")
    assert abs(months.mean() - published) < 1.5
    # a board in that room is at rest near the same mean
    board = running_emc(air_in(weather_of(place), "indoor"), Board("red oak", 19.0))
    assert abs(float(board.mean()) - published) < 1.5


def test_cooled_house_on_the_damp_coast_is_drier(weather_of: Weather) -> None:
    # Cooling that holds 24 °C takes the water out too: 45 to 65 % in the summer months
    # (common practice, no source), so wood lies lower than in the open house.
    air = air_in(weather_of("Miami"), "house-cooled")
    summer = air.relative_humidity.groupby("time.month").mean()[5:9]
    assert float(summer.min()) > 40
    assert float(summer.max()) < 65


@pytest.mark.parametrize(
    ("outdoors", "indoors", "humidity", "emc"),
    [
        (-10, 20.0, 30, 6.2),
        (0, 20.0, 40, 7.7),
        (10, 20.0, 50, 9.3),
        (20, 25.0, 60, 10.8),
    ],
)
def test_moisture_in_the_standard_indoor_climate(
    outdoors: float, indoors: float, humidity: float, emc: float
) -> None:
    # EN 15026 Annex C, normal occupancy (memory): 20 °C below 10 °C outdoors, rising to
    # 25 °C at 20 °C; 30 % at -10 °C rising to 60 % at 20 °C
    got = float(equilibrium_moisture_content(indoors, humidity))
    assert got == pytest.approx(emc, abs=0.1), f"at {outdoors} °C outdoors"
