"""What the weather does to a place, column by column, by hand arithmetic."""

from typing import Any

import numpy as np
import pytest
import xarray as xr

from emcforecast.physics import sun
from emcforecast.storage.drivers import Fallback, FallbackKind, drivers_of
from emcforecast.weather.series import make_series

SIGMA = 5.670374e-8


def hours_of(count: int, first: str = "2021-03-01", **given: Any) -> xr.Dataset:
    """Hours at 10 °C and 50 % but for what is given; a number is one for all."""
    place = {
        key: given.pop(key)
        for key in ("latitude", "longitude", "utc_offset")
        if key in given
    }
    columns = {"air_temperature": 10.0, "relative_humidity": 50.0} | given
    return make_series(
        np.datetime64(first, "h") + np.arange(count),
        {name: np.broadcast_to(value, count) for name, value in columns.items()},
        step="hour", kind="observed", source="made hours", **place,
    )  # fmt: skip


def kinds(weather: xr.Dataset) -> list[FallbackKind]:
    return [one.kind for one in drivers_of(weather).fallbacks]


def magnus(t: Any) -> Any:
    return 611.2 * np.exp(17.62 * t / (243.12 + t))


def clear_sky_loss(t: float, pressure: float, cloud: Any) -> Any:
    """Berdahl and Martin's clear sky at the dew point, closed by low cloud."""
    up = np.log(pressure / 611.2)
    dew = np.clip(243.12 * up / (17.62 - up), -30.0, 30.0) / 100.0
    clear = 0.711 + 0.56 * dew + 0.73 * dew**2
    open_ = (1.0 - clear) * (1.0 - 0.784 * np.asarray(cloud))
    return SIGMA * (t + 273.15) ** 4 * open_


def clear_days(first: str, count: int, latitude: float) -> np.ndarray:
    """Sun of clear days at 0° east, which tests/published holds against pvlib."""
    time = np.datetime64(first, "h") + np.arange(24 * count)
    return sun.clear_sky(time, latitude, 0.0).reshape(count, 24).mean(axis=1)


def cloud_told(weather: xr.Dataset, cloud: np.ndarray) -> None:
    """Hold the loss to the sky against that under a cloud of each hour."""
    found = drivers_of(weather).column("sky_loss")
    assert found == pytest.approx(clear_sky_loss(10.0, 0.5 * magnus(10.0), cloud))


def test_every_column_by_hand() -> None:
    weather = hours_of(
        48, "2021-06-10", wind_speed=5.0, shortwave=0.0, precipitation=0.0,
        latitude=45.0, longitude=0.0,
    )  # fmt: skip
    drivers = drivers_of(weather)
    expected = {
        "air_temperature": 10.0,
        "vapour_pressure": 0.5 * magnus(10.0),
        # 0.6 of the wind in the open reaches a building (an assumption, no source).
        "wind": 3.0,
        "sun": 0.0,
        # Dark days: the sky is closed.
        "sky_loss": clear_sky_loss(10.0, 0.5 * magnus(10.0), 1.0),
        "radiative": 4.0 * SIGMA * 283.15**3,
        # A steady series: the ground is as warm as the air; from 5 to 17 °C is a year.
        "ground_temperature": 10.0,
        "ground_saturation": magnus(10.0),
        "season": 5.0 / 12.0,
        "month": 5.0,
        "bare": 1.0,
    }
    for name, value in expected.items():
        assert drivers.column(name) == pytest.approx(np.full(48, value)), name
    assert [one.kind for one in drivers.fallbacks] == [FallbackKind.SHORT_SERIES]


@pytest.mark.parametrize(
    ("t", "season"), [(4.0, 0.0), (5.6, 0.05), (16.4, 0.95), (18.0, 1.0)]
)
def test_the_season_of_a_short_series_goes_by_its_warmth(
    t: float, season: float
) -> None:
    found = drivers_of(hours_of(48, air_temperature=t)).column("season")
    assert found == pytest.approx(np.full(48, season))


def test_months_are_counted_from_january_by_the_clock_of_the_place() -> None:
    found = drivers_of(hours_of(60 * 24, "2020-12-31", utc_offset=1)).column("month")
    # An hour of 2021 has begun at the place when it is 23 h at Greenwich.
    assert np.flatnonzero(np.diff(found)).tolist() == [22, 22 + 31 * 24, 22 + 59 * 24]
    assert found[[0, 23, 24 * 40, -1]].tolist() == [11.0, 0.0, 1.0, 2.0]


def test_wind_is_never_still_and_gaps_take_the_mean() -> None:
    speed = np.array([0.0, 0.8, 2.0, 5.2, np.nan, np.nan])
    drivers = drivers_of(hours_of(6, wind_speed=speed))
    # The mean of four is 2 m/s; 0.5 m/s at least (anemometers stop at about 1).
    expected = [0.5, 0.5, 1.2, 3.12, 1.2, 1.2]
    assert drivers.column("wind") == pytest.approx(expected)
    assert Fallback(FallbackKind.WIND_HOURS, 2, 2.0) in drivers.fallbacks
    none = drivers_of(hours_of(6))
    assert none.column("wind") == pytest.approx(np.full(6, 0.6 * 3.0))
    assert Fallback(FallbackKind.WIND, taken=3.0) in none.fallbacks


def test_air_of_no_vapour_has_the_driest_sky_that_was_measured() -> None:
    found = drivers_of(hours_of(48, relative_humidity=0.0, shortwave=0.0))
    # A dew point of -30 °C, the lowest measured, and a closed sky.
    loss = clear_sky_loss(10.0, float(magnus(-30.0)), 1.0)
    assert found.column("sky_loss") == pytest.approx(np.full(48, loss))


def test_cloud_is_told_by_days_from_none_to_all() -> None:
    # More sun than any clear sky leaves no cloud, none at all covers it; between them
    # the share of a clear sky's sun is 1 - 0.75 n^3.4 (Kasten and Czeplak).
    flat = np.repeat([1300.0, 0.0, 1300.0], 24)
    cloud_told(
        hours_of(72, shortwave=flat, latitude=45.0, longitude=0.0),
        np.repeat([0.0, 1.0, 0.0], 24),
    )
    clear = clear_days("2021-03-01", 1, 45.0)[0]
    half = hours_of(24, shortwave=0.5 * clear, latitude=45.0, longitude=0.0)
    loss = drivers_of(half).column("sky_loss")
    cloud = (0.5 / 0.75) ** (1.0 / 3.4)
    expected = clear_sky_loss(10.0, 0.5 * magnus(10.0), cloud)
    assert loss == pytest.approx(np.full(24, expected))


def test_days_too_dark_to_tell_take_a_neighbours_cloud_for_a_week() -> None:
    """At 68° north, overcast before the polar night and clear after it."""
    first, count = "2021-10-15", 120
    # A clear sky of less than 15 W/m² over the day tells nothing (an assumption).
    bright = np.flatnonzero(clear_days(first, count, 68.0) > 15.0)
    last = int(bright[bright < 60].max())
    back = int(bright[bright > 60].min())
    assert back - last > 30
    received = np.where(np.arange(count) < 60, 0.0, 900.0)
    cloud = np.interp(np.arange(count), [last, back], [1.0, 0.0])
    cloud[last + 8 : back - 7] = 0.6
    cloud_told(
        hours_of(
            24 * count, first, shortwave=np.repeat(received, 24),
            latitude=68.0, longitude=0.0,
        ),
        np.repeat(cloud, 24),
    )  # fmt: skip
    # One day alone that tells, and none at all.
    few = slice(last * 24, (last + 3) * 24)
    weather = hours_of(24 * count, first, shortwave=0.0, latitude=68.0, longitude=0.0)
    cloud_told(weather.isel(time=few), np.ones(72))
    night = slice((last + 1) * 24, (last + 4) * 24)
    cloud_told(weather.isel(time=night), np.full(72, 0.6))


def alike(one: xr.Dataset, other: xr.Dataset) -> None:
    """The same sun and sky, hour by hour."""
    for name in ("sun", "sky_loss"):
        first, second = (drivers_of(weather).column(name) for weather in (one, other))
        assert np.ptp(first) > 2.0
        np.testing.assert_allclose(first, second, atol=1e-6, err_msg=name)


@pytest.mark.parametrize(
    ("warmest", "longitude"), [(19.5, -67.5), (2.0, -165.0), (8.0, 105.0), (15.0, 0.0)]
)
def test_a_place_unknown_is_warmest_at_15_h(warmest: float, longitude: float) -> None:
    """15° an hour: warmest 4.5 h after 15 h at Greenwich is 67.5° west."""
    hour = np.arange(20 * 24) + 0.5
    wave = 10.0 + 5.0 * np.cos(2.0 * np.pi * (hour - warmest) / 24.0)
    unknown = hours_of(480, "2021-05-01", air_temperature=wave)
    known = hours_of(
        480, "2021-05-01", air_temperature=wave, latitude=45.0, longitude=longitude
    )
    alike(unknown, known)
    assert FallbackKind.PLACE in kinds(unknown)
    assert FallbackKind.PLACE not in kinds(known)


def test_missing_hours_hardly_move_the_warmest_hour() -> None:
    # Half the nights are missing: the fit is of departures from the mean, so a mean
    # of 15 K does not turn it; by least squares (numpy) over the hours known the wave
    # would be found exactly, here within 1 h, 15°.
    hour = np.arange(20 * 24) + 0.5
    wave = 15.0 + 5.0 * np.cos(2.0 * np.pi * (hour - 15.0) / 24.0)
    wave[(hour % 24 < 6.0) & (hour % 48 < 24.0)] = np.nan
    weather = hours_of(480, "2021-06-01", air_temperature=wave)
    found = drivers_of(weather).column("sun")
    by_hour = np.nansum(found.reshape(-1, 24), axis=0)
    assert np.average(hour[:24], weights=by_hour) == pytest.approx(12.0, abs=1.0)


def test_clocks_tell_the_longitude_where_nothing_else_does() -> None:
    hour = np.arange(10 * 24) + 0.5
    wave = 10.0 + 5.0 * np.cos(2.0 * np.pi * (hour - 3.0) / 24.0)
    by_clock = hours_of(240, "2021-05-01", air_temperature=wave, utc_offset=-7)
    known = hours_of(
        240, "2021-05-01", air_temperature=wave, latitude=45.0, longitude=-105.0
    )
    alike(by_clock, known)


def test_a_day_whose_warmth_is_unknown_has_a_range_of_ten() -> None:
    hour = np.arange(5 * 24)
    wave = 10.0 + 4.0 * np.cos(2.0 * np.pi * (hour - 15.0) / 24.0)
    wave[48:72] = 6.0 + 10.0 * (hour[48:72] == 60)
    holed = wave.copy()
    holed[48:72] = np.nan
    whole, gone = (
        drivers_of(hours_of(120, air_temperature=t, latitude=45.0, longitude=0.0))
        for t in (wave, holed)
    )
    np.testing.assert_allclose(gone.column("sun"), whole.column("sun"))
    # FAO-56, equation 50: sun goes as the root of the range.
    days = whole.column("sun").reshape(5, 24).sum(axis=1)
    assert days[2] / days[1] == pytest.approx(np.sqrt(10.0 / 8.0), rel=0.02)


def test_measured_sun_is_never_below_none() -> None:
    given = np.tile(np.where(np.arange(24) == 12, 500.0, -3.0), 3)
    whole = drivers_of(hours_of(72, shortwave=given, latitude=45.0, longitude=0.0))
    assert whole.column("sun") == pytest.approx(np.maximum(given, 0.0))
    given[30:40] = np.nan
    holed = drivers_of(hours_of(72, shortwave=given, latitude=45.0, longitude=0.0))
    known = np.isfinite(given)
    assert holed.column("sun")[known] == pytest.approx(np.maximum(given, 0.0)[known])
    assert Fallback(FallbackKind.SUN_HOURS, 10) in holed.fallbacks
    assert (holed.column("sun")[32:40] > 0.0).all()


@pytest.mark.parametrize(("cold", "told"), [(5, False), (6, True)])
def test_snow_unknown_is_told_where_frost_is_not_rare(cold: int, told: bool) -> None:
    # More than a twentieth of the hours below -2 °C (an assumption, no source).
    t = np.full(100, 8.0)
    t[:cold] = -2.1
    t[cold:50] = -2.0
    assert (FallbackKind.SNOW in kinds(hours_of(100, air_temperature=t))) == told
    snowy = hours_of(100, air_temperature=t, precipitation=1.0)
    assert FallbackKind.SNOW not in kinds(snowy)
    # 1 mm an hour below 0.5 °C; 10 mm hide a roof but for 0.15, of 3 mm 0.745 is seen.
    assert drivers_of(snowy).column("bare")[[2, 20]] == pytest.approx([0.745, 0.15])
