"""Sums that run over the day come apart into the hours they were made of.

The sums are pandas' own (groupby, cumsum) over days that end at midnight, as the data
documentation of ERA5-Land describes them.
"""

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.mend.running_sums import hours_of_running_sums
from emcforecast.weather.read import read_weather

RNG = np.random.default_rng(5)
TIME = pd.date_range("2021-04-01T00:00", periods=24 * 60, freq="h")
CLOCK = TIME.hour.to_numpy()
RAIN = np.where(RNG.random(TIME.size) < 0.08, RNG.gamma(1.0, 0.8, TIME.size), 0.0)
SUN = 3.6e6 * np.maximum(np.sin((CLOCK - 6.5) / 12 * np.pi), 0.0) * 0.7
DAY = (TIME - pd.Timedelta("1h")).floor("D")


def running(hours):
    return pd.Series(hours, index=TIME).groupby(DAY).cumsum().to_numpy()


@pytest.mark.parametrize("hours", [RAIN, SUN], ids=["rain", "sun"])
def test_hours_come_back(hours):
    found, told = hours_of_running_sums(TIME.to_numpy(), running(hours))
    assert told
    # The first stamp is midnight: what fell before the file begins is not known.
    assert np.isnan(found[0])
    np.testing.assert_allclose(found[1:], hours[1:], atol=1e-9 * hours.max())


@pytest.mark.parametrize("hours", [RAIN, SUN], ids=["rain", "sun"])
def test_hours_come_back_round_a_gap(hours):
    """Two pieces of a record: only the hour after the gap stays unknown."""
    kept = np.ones(TIME.size, dtype=bool)
    kept[300:515] = False
    found, told = hours_of_running_sums(TIME.to_numpy()[kept], running(hours)[kept])
    assert told
    unknown = np.zeros(TIME.size, dtype=bool)
    unknown[[0, 515]] = True
    np.testing.assert_array_equal(np.isnan(found), unknown[kept])
    both = ~unknown[kept]
    np.testing.assert_allclose(found[both], hours[kept][both], atol=1e-9 * hours.max())


@pytest.mark.parametrize(
    "hours",
    [RAIN, SUN, np.zeros(TIME.size), np.where(TIME.day == 9, 1.0, 0.0)],
    ids=["rain", "sun", "drought", "one wet day"],
)
def test_amounts_of_hours_stay(hours):
    found, told = hours_of_running_sums(TIME.to_numpy(), hours)
    assert not told
    np.testing.assert_array_equal(found, hours)


def reanalysis(rain, sun):
    shape = ("valid_time", "latitude", "longitude")

    def cube(values, units):
        return shape, np.asarray(values)[:, None, None], {"units": units}

    warm = 285.0 + 5 * np.sin(CLOCK / 24 * 2 * np.pi) + np.arange(TIME.size) / 200
    return xr.Dataset(
        {
            "t2m": cube(warm, "K"),
            "d2m": cube(warm - 4.0, "K"),
            "tp": cube(rain / 1000.0, "m"),
            "ssrd": cube(sun, "J m**-2"),
        },
        coords={"valid_time": TIME, "latitude": [46.0], "longitude": [7.0]},
    )


@pytest.mark.parametrize("form", ["NetCDF", "CSV"])
def test_both_products_give_the_same_weather(form, tmp_path):
    series = {}
    for name, rain, sun in (
        ("hours", RAIN, SUN),
        ("sums", running(RAIN), running(SUN)),
    ):
        made = reanalysis(rain, sun)
        if form == "NetCDF":
            path = tmp_path / f"{name}.nc"
            made.to_netcdf(path, engine="h5netcdf")
        else:
            path = tmp_path / f"{name}.csv"
            frame = made.squeeze().to_dataframe().reset_index()
            frame.to_csv(path, index=False, date_format="%Y-%m-%d %H:%M:%S")
        series[name] = read_weather(path, gaps="keep")
    told = " / ".join(repair_sentences(series["sums"]))
    assert "tp adds up over the day: taken apart into hours" in told
    assert "ssrd adds up over the day: taken apart into hours" in told
    assert "adds up" not in " / ".join(repair_sentences(series["hours"]))
    for name, most in (("precipitation", 0.002), ("shortwave", 0.1)):
        one, other = (series[key][name].to_numpy() for key in ("hours", "sums"))
        both = np.isfinite(one) & np.isfinite(other)
        assert both.sum() > TIME.size - 5
        np.testing.assert_allclose(other[both], one[both], atol=most)
    assert float(series["sums"]["precipitation"].sum()) == pytest.approx(
        RAIN[1:].sum(), abs=0.05
    )


def test_what_fell_before_a_stamp_stays_on_its_side_of_a_gap(tmp_path):
    """An amount stamped 11:00 fell from 10:00 on, however the file is ordered."""
    made = reanalysis(RAIN, SUN)
    kept = np.r_[0:300, 515 : TIME.size]
    found = {}
    for name, rows in (("forward", kept), ("backward", kept[::-1])):
        made.isel(valid_time=rows).to_netcdf(tmp_path / name, engine="h5netcdf")
        found[name] = read_weather(tmp_path / name, gaps="keep")["precipitation"]
    expected = np.full(TIME.size, np.nan)
    expected[kept[kept > 0] - 1] = RAIN[kept[kept > 0]]
    # The hour before the first stamp after the gap has no row of its own.
    expected[514] = np.nan
    for series in found.values():
        values = series.reindex(time=TIME).to_numpy()
        np.testing.assert_allclose(values, expected, atol=1e-6)
