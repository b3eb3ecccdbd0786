"""Hours rebuilt from months and days, held against hourly weather."""

import datetime as dt
import importlib.util
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from emcforecast.errors import WeatherError
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.mend.hours_from_means import (
    hourly_from_daily,
    hourly_from_monthly,
)
from emcforecast.weather.read import read_weather
from emcforecast.weather.series import make_series
from emcforecast.weather.years import years_of

# A humid temperate valley as an expert sees it: °C and % by month.
T = [1, 3, 8, 14, 18, 23, 25, 24, 20, 14, 8, 3]
RH = [72, 69, 66, 65, 70, 73, 75, 77, 78, 75, 73, 73]
PVLIB_DATA = Path(importlib.util.find_spec("pvlib").origin).parent / "data"


def normals(t=T, rh=RH, **more):
    return make_series(
        np.arange("2001-01", "2002-01", dtype="datetime64[M]"),
        {"air_temperature": t, "relative_humidity": rh, **more},
        step="month",
        kind="normals",
        source="table",
    )


def by_month(ds, name):
    return ds[name].groupby("time.month").mean().to_numpy()


def test_every_month_keeps_its_means():
    hourly = hourly_from_monthly(normals())
    assert hourly.sizes["time"] == 8760
    assert hourly.attrs["rebuilt_from"] == "month"
    np.testing.assert_allclose(by_month(hourly, "air_temperature"), T, atol=1e-6)
    np.testing.assert_allclose(by_month(hourly, "relative_humidity"), RH, atol=0.05)
    told = " ".join(repair_sentences(hourly))
    assert "mostly within 0.8 % MC outdoors" in told
    assert "daily range of temperature unknown: taken as 10 K" in told
    assert "45°" in told


@settings(max_examples=20, deadline=None)
@given(
    t=st.lists(st.floats(-30, 35), min_size=12, max_size=12),
    rh=st.lists(st.floats(15, 95), min_size=12, max_size=12),
)
def test_any_normals_stay_possible(t, rh):
    hourly = hourly_from_monthly(normals(t, rh))
    humid = hourly["relative_humidity"].to_numpy()
    assert humid.min() > 0.0
    assert humid.max() <= 100.0
    np.testing.assert_allclose(by_month(hourly, "air_temperature"), t, atol=1e-6)


def test_days_swing_as_they_should():
    hourly = hourly_from_monthly(
        normals().assign_attrs(daily_range=[8.0] * 12, longitude=-75.0, latitude=40.0)
    )
    july = hourly.sel(time="2001-07")
    by_day = july["air_temperature"].to_series().resample("1D")
    swing = by_day.max() - by_day.min()
    assert float(swing.mean()) == pytest.approx(8.0, abs=0.3)
    hottest = july["air_temperature"].groupby("time.hour").mean().to_numpy().argmax()
    # 15 h sun time at 75° west is 20 h UTC.
    assert int(hottest) in (19, 20)
    noon = july["shortwave"].groupby("time.hour").mean().to_numpy().argmax()
    assert int(noon) in (16, 17)
    # Vapour pressure is constant within the day.
    t, h = july["air_temperature"].to_numpy()[:24], july["relative_humidity"][:24]
    e = h.to_numpy() / 100 * 611.2 * np.exp(17.62 * t / (243.12 + t))
    assert np.ptp(e[h.to_numpy() < 99.9]) < 1.0


def test_rain_wind_and_sun_keep_their_monthly_amounts():
    rain = np.linspace(20, 110, 12)
    sun = np.linspace(60, 250, 12)
    hourly = hourly_from_monthly(
        normals(precipitation=rain, wind_speed=np.full(12, 3.0), shortwave=sun)
    )
    np.testing.assert_allclose(
        hourly["precipitation"].groupby("time.month").sum(), rain, rtol=1e-9
    )
    np.testing.assert_allclose(by_month(hourly, "shortwave"), sun, rtol=0.01)
    wet = float((hourly["precipitation"] > 0).mean())
    assert 0.03 < wet < 0.2  # it rains some 3 to 20 % of the hours, not all the time


def test_sun_without_measurement_is_about_right():
    # FAO-56, example 16 and table 2.6: at 45° north extraterrestrial radiation is 41.8
    # MJ/m² a day in June; 0.17 sqrt(10) of it is 22.5 MJ/m², which is 260 W/m².
    hourly = hourly_from_monthly(normals())
    assert float(hourly["shortwave"].sel(time="2001-06").mean()) == pytest.approx(
        260, rel=0.04
    )


def test_several_years_of_months_and_holes():
    months = np.arange("2010-03", "2013-03", dtype="datetime64[M]")
    ds = make_series(
        months,
        {"air_temperature": T * 3, "relative_humidity": RH * 3},
        step="month",
        kind="observed",
        source="table",
    )
    hourly = hourly_from_monthly(ds)
    assert hourly.sizes["time"] == 24 * (365 * 3 + 1)
    assert years_of(hourly) == [2011, 2012]
    monthly = hourly["air_temperature"].resample(time="MS").mean()
    np.testing.assert_allclose(monthly, T * 3, atol=1e-6)
    assert hourly_from_monthly(hourly) is hourly
    ds["relative_humidity"][5] = np.nan
    with pytest.raises(WeatherError, match="2010-08 has no relative humidity"):
        hourly_from_monthly(ds)


def emc_by_month(ds):
    emc = equilibrium_moisture_content(
        ds["air_temperature"].to_numpy(), ds["relative_humidity"].to_numpy()
    )
    return ds["air_temperature"].copy(data=emc).groupby("time.month").mean().to_numpy()


# Real typical years that general libraries carry; the bound is METHOD's own, 0.8 % MC.
@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_moisture_from_monthly_means_is_near_that_from_hours(name):
    path = PVLIB_DATA / name
    if not path.exists():
        pytest.skip(f"pvlib no longer carries {name}")
    hours = read_weather(path)
    by_day = hours["air_temperature"].to_series().resample("1D")
    swing = (by_day.max() - by_day.min()).to_xarray()
    means = normals(
        by_month(hours, "air_temperature"), by_month(hours, "relative_humidity")
    ).assign_attrs(
        daily_range=swing.groupby("time.month").mean().to_numpy().tolist(),
        longitude=hours.attrs["longitude"],
        latitude=hours.attrs["latitude"],
    )
    rebuilt = hourly_from_monthly(means)
    assert np.abs(emc_by_month(rebuilt) - emc_by_month(hours)).max() < 0.8


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_moisture_from_daily_means_is_nearer_still(name):
    path = PVLIB_DATA / name
    if not path.exists():
        pytest.skip(f"pvlib no longer carries {name}")
    hours = read_weather(path)
    days = hours.to_dataframe().resample("1D")
    mean = days.mean().to_xarray()
    rebuilt = hourly_from_daily(
        mean["time"].to_numpy(),
        {
            "air_temperature": mean["air_temperature"].to_numpy(),
            "relative_humidity": mean["relative_humidity"].to_numpy(),
            "daily_maximum": days.max()["air_temperature"].to_numpy(),
            "daily_minimum": days.min()["air_temperature"].to_numpy(),
        },
        kind="typical year",
        source="daily means",
        longitude=hours.attrs["longitude"],
    )
    np.testing.assert_allclose(
        rebuilt["air_temperature"].to_series().resample("1D").mean(),
        mean["air_temperature"],
    )
    assert np.abs(emc_by_month(rebuilt) - emc_by_month(hours)).max() < 0.4


TABLES = {
    "as in the tutorial": "month,temperature_c,relative_humidity_pct\n"
    + "".join(f"{m + 1},{t},{h}\n" for m, (t, h) in enumerate(zip(T, RH, strict=True))),
    "names, °F, fraction, a yearly row": "Month;Temp (°F);RH\n"
    + "".join(
        f"{dt.date(2001, m + 1, 1):%B};{t * 1.8 + 32:.1f};{h / 100:.2f}\n".replace(
            ".", ","
        )
        for m, (t, h) in enumerate(zip(T, RH, strict=True))
    )
    + "Year;55,4;0,72\n",
    "without units": "month,temperature,humidity\n"
    + "".join(f"{m + 1},{t},{h}\n" for m, (t, h) in enumerate(zip(T, RH, strict=True))),
}


@pytest.mark.parametrize("table", TABLES)
def test_twelve_rows_of_normals(table, tmp_path):
    path = tmp_path / "normals.csv"
    path.write_text(TABLES[table], encoding="utf-8")
    ds = read_weather(path)
    assert (ds.attrs["kind"], ds.attrs["step"]) == ("normals", "month")
    np.testing.assert_allclose(ds["air_temperature"], T, atol=0.06)
    np.testing.assert_allclose(ds["relative_humidity"], RH, atol=0.6)


def test_monthly_tables_that_are_refused(tmp_path):
    path = tmp_path / "m.csv"
    path.write_text(TABLES["as in the tutorial"].rsplit("12,", 1)[0])
    with pytest.raises(WeatherError, match="11 different months"):
        read_weather(path)
    path.write_text(
        "year,month,temp_c,rh\n"
        + "".join(f"{2010 + k // 12},{k % 12 + 1},5,70\n" for k in range(36) if k != 7)
    )
    with pytest.raises(WeatherError, match="2010-08 is missing"):
        read_weather(path)


def test_daily_range_of_a_monthly_table_is_used(tmp_path):
    path = tmp_path / "m.csv"
    path.write_text(
        "month,tmax_c,tmin_c,rh_pct,rain_mm\n"
        + "".join(
            f"{m + 1},{t + 7},{t - 7},{h},50\n"
            for m, (t, h) in enumerate(zip(T, RH, strict=True))
        )
    )
    ds = read_weather(path)
    assert ds.attrs["daily_range"] == [14.0] * 12
    july = hourly_from_monthly(ds).sel(time="2001-07-15")["air_temperature"]
    assert float(july.max() - july.min()) == pytest.approx(14.0, abs=0.5)
