"""Sun, sky, ground and snow against a solar library and published formulas."""

import numpy as np
import pandas as pd
import pytest

from emcforecast.physics import ground, sky, sun

PLACES = [(61.5, 24.0), (45.0, -93.0), (25.8, -80.3), (-33.9, 151.2), (0.0, 0.0)]
HOURS = np.arange("2019-01-01", "2021-01-01", 7, dtype="datetime64[h]")


@pytest.mark.parametrize(("latitude", "longitude"), PLACES)
def test_sun_stands_where_pvlib_says(latitude: float, longitude: float) -> None:
    pvlib = pytest.importorskip("pvlib")
    times = pd.DatetimeIndex(HOURS, tz="UTC")
    zenith = pvlib.solarposition.get_solarposition(times, latitude, longitude)["zenith"]
    due = np.cos(np.radians(zenith.to_numpy()))
    mine = sun.sun_height(HOURS, latitude, longitude)
    # 0.3° of height, what Spencer's series leaves in leap years
    assert np.abs(mine - due).max() < 0.006


def test_sun_above_the_air_is_pvlibs() -> None:
    pvlib = pytest.importorskip("pvlib")
    days = np.arange("2019-01-01", "2020-01-01", dtype="datetime64[D]")
    noon = days.astype("datetime64[h]") + 12
    mine = sun.extraterrestrial(noon, 0.0, 0.0)
    height = np.mean(
        [sun.sun_height(noon + np.timedelta64(m, "m"), 0.0, 0.0) for m in (10, 30, 50)],
        axis=0,
    )
    facing = pvlib.irradiance.get_extra_radiation(np.arange(1, 366))
    assert np.abs(mine / height / facing - 1.0).max() < 0.002


def test_clear_sky_is_pvlibs_haurwitz() -> None:
    pvlib = pytest.importorskip("pvlib")
    minutes = np.arange("2019-06-01", "2019-06-04", dtype="datetime64[m]")
    zenith = np.degrees(np.arccos(sun.sun_height(minutes, 45.0, 7.0)))
    each = pvlib.clearsky.haurwitz(pd.Series(zenith))["ghi"].to_numpy()
    hours = np.arange("2019-06-01", "2019-06-04", dtype="datetime64[h]")
    mine = sun.clear_sky(hours, 45.0, 7.0)
    # three looks an hour against sixty
    assert np.abs(mine - each.reshape(-1, 60).mean(axis=1)).max() < 6.0


def test_sun_from_daily_range_is_fao_56() -> None:
    """FAO-56 equation 50 with its own extraterrestrial sun (equation 21).

    Its Example 15 (from memory) has Lyon in July with a range of 26.6 - 14.8 K: R_a
    40.6 and R_s 22.3 MJ/m² a day.
    """
    july = np.arange("2021-07-15", "2021-07-16", dtype="datetime64[h]")
    above = sun.extraterrestrial(july, 45.72, 5.08).sum() * 3600.0 / 1e6
    assert above == pytest.approx(40.6, abs=0.5)
    estimate = sun.sun_from_daily_range(july, 26.6 - 14.8, 45.72, 5.08, 0.16)
    assert estimate.sum() * 3600.0 / 1e6 == pytest.approx(22.3, abs=0.4)


def test_longwave_of_the_sky() -> None:
    # Berdahl and Martin's clear sky: 0.711 at a dew point of 0 °C; full low cloud
    # closes 0.784 of the rest
    assert float(sky.sky_emissivity(611.2, 0.0)) == pytest.approx(0.711, abs=1e-9)
    assert float(sky.sky_emissivity(611.2, 1.0)) == pytest.approx(
        0.711 + 0.784 * 0.289, abs=1e-9
    )
    loss = sky.sky_loss(0.0, 611.2, 0.0)
    assert float(loss) == pytest.approx(0.289 * 5.670374e-8 * 273.15**4)


def test_cloud_takes_sun_as_kasten_and_czeplak_say() -> None:
    n = np.array([0.0, 0.3, 0.5, 0.8, 1.0])
    given = 700.0 * (1.0 - 0.75 * n**3.4)
    assert np.abs(sky.cloud_from_sun(given, 700.0) - n).max() < 1e-9
    assert np.isnan(sky.cloud_from_sun(0.0, 0.0))


def test_ground_follows_the_year_late_and_damped() -> None:
    time = np.arange("2001", "2004", dtype="datetime64[h]")
    angle = 2 * np.pi * ground.hour_of_year(time) / 8766.0
    air = 7.0 - 12.0 * np.cos(angle - 0.3) + np.random.default_rng(0).normal(
        0, 3, time.size
    )  # fmt: skip
    g = ground.ground_temperature(time, air)
    assert g.mean() == pytest.approx(7.0, abs=0.1)
    assert (g.max() - g.min()) / 2 == pytest.approx(0.65 * 12.0, abs=0.1)
    late = (np.argmax(g[:8760]) - np.argmax(-np.cos(angle[:8760] - 0.3))) / 24
    assert late == pytest.approx(25.0, abs=1.0)


def test_short_series_has_a_ground_too() -> None:
    time = np.arange("2001-06-01", "2001-07-01", dtype="datetime64[h]")
    g = ground.ground_temperature(time, np.full(time.size, 15.0))
    assert np.abs(g - 15.0).max() < 1e-9


def test_snow_falls_lies_and_melts() -> None:
    t = np.concatenate([np.full(100, -5.0), np.full(100, 4.0)])
    rain = np.full(200, 0.2)
    water = ground.snow_water(t, rain)
    assert water[99] == pytest.approx(20.0)
    # 3 mm for each K and day: 20 mm last 40 h at 4 °C
    assert water[139] == pytest.approx(0.0, abs=1e-9)
    assert water[138] > 0.0
    bare = ground.bare_share(water)
    assert bare[99] == pytest.approx(0.15)
    assert bare[-1] == 1.0
