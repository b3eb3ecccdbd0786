"""Sky, ground and snow against published formulas; the sun is in tests/published."""

import numpy as np
import pytest

from emcforecast.physics import ground, sky, sun


def test_longwave_of_the_sky() -> None:
    # Berdahl and Martin's clear sky: 0.711 at a dew point of 0 °C; full low cloud
    # closes 0.784 of the rest
    assert float(sky.sky_emissivity(611.2, 0.0)) == pytest.approx(0.711, abs=1e-9)
    assert float(sky.sky_emissivity(611.2, 1.0)) == pytest.approx(
        0.711 + 0.784 * 0.289, abs=1e-9
    )
    loss = sky.sky_loss(0.0, 611.2, 0.0)
    assert float(loss) == pytest.approx(0.289 * 5.670374e-8 * 273.15**4)


@pytest.mark.parametrize(
    ("dew", "counts_as"), [(29.0, 29.0), (33.0, 30.0), (-29.0, -29.0), (-33.0, -30.0)]
)
def test_the_clear_sky_is_held_where_it_was_measured(
    dew: float, counts_as: float
) -> None:
    # Dew points of -30 to 30 °C; WMO's saturation by hand.
    pressure = 611.2 * np.exp(17.62 * dew / (243.12 + dew))
    d = counts_as / 100.0
    expected = 0.711 + 0.56 * d + 0.73 * d * d
    assert float(sky.sky_emissivity(pressure, 0.0)) == pytest.approx(expected, abs=1e-9)


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


def test_the_ground_of_a_short_series_forgets_in_thirty_days() -> None:
    # A step from 0 to 10 °C after thirty days: 1 - 1/e of it thirty days later.
    time = np.datetime64("2001-03-01T00") + np.arange(60 * 24)
    air = np.where(np.arange(time.size) < 720, 0.0, 10.0)
    g = ground.ground_temperature(time, air)
    assert g[719] == pytest.approx(0.0, abs=1e-9)
    assert g[1439] == pytest.approx(10.0 * (1.0 - np.exp(-1.0)), abs=1e-9)
    # Missing hours lie on a straight line; nothing at all gives nothing.
    gap = air.copy()
    gap[100:200] = np.nan
    np.testing.assert_allclose(ground.ground_temperature(time, gap), g, atol=1e-9)
    assert np.isnan(ground.ground_temperature(time, np.full(1440, np.nan))).all()


def test_a_short_memory_starts_with_the_first_hour() -> None:
    found = ground.backward_mean(np.array([2.0, 4.0]), 1.5)
    keep = np.exp(-1.0 / 1.5)
    assert found.tolist() == pytest.approx([2.0, 4.0 - 2.0 * keep])
    assert ground.backward_mean(np.array([2.0, 4.0]), 0.5)[0] == pytest.approx(2.0)


def test_snow_of_missing_hours_and_of_a_whole_winter() -> None:
    found = ground.snow_water(np.full(3, -5.0), np.array([1.0, np.nan, 1.0]))
    assert found.tolist() == [1.0, 1.0, 2.0]
    # Snow below 0.5 °C; melt at 3 mm a day and K above 0.
    found = ground.snow_water(np.array([0.4, 0.6, -1.0]), np.array([2.0, 2.0, 0.0]))
    assert found.tolist() == pytest.approx([1.95, 1.875, 1.875])
    fall = np.zeros(9000)
    fall[100] = 5.0
    water = ground.snow_water(np.full(9000, -5.0), fall)
    assert (water[0], water[99], water[100]) == (5.0, 5.0, 10.0)


@pytest.mark.parametrize(
    ("daily_range", "share"),
    # 0.17 √range of the sun above the air, between the 0.16 of the interior and the
    # 0.19 of coasts (FAO-56, eq. 50), from a tenth to 0.78.
    [(0.0, 0.1), (0.3, 0.1), (4.0, 0.34), (9.0, 0.51), (25.0, 0.78)],
)
def test_sun_from_the_daily_range(daily_range: float, share: float) -> None:
    day = np.arange("2021-06-21", "2021-06-22", dtype="datetime64[h]")
    found = sun.sun_from_daily_range(day, daily_range, 45.0, 0.0)
    above = sun.extraterrestrial(day, 45.0, 0.0)
    assert found.sum() / above.sum() == pytest.approx(share, rel=1e-6)
    coast = sun.sun_from_daily_range(day, 4.0, 45.0, 0.0, 0.19)
    assert coast.sum() / above.sum() == pytest.approx(0.38, rel=1e-6)


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


def test_the_annual_course_needs_most_of_a_year():
    # 0.82 of 8766 h is 7188.
    hours = np.arange(9000)
    time = np.datetime64("2021-01-01T00") + hours
    wave = 10.0 - 8.0 * np.cos(2.0 * np.pi * hours / 8766.0)
    assert ground.annual_course(time[:7150], wave[:7150]) is None
    found = ground.annual_course(time[:7250], wave[:7250])
    assert found is not None
    assert (found.mean, found.swing) == pytest.approx((10.0, 8.0), abs=0.01)
    # Warmest half a year after the start; half the swing, 25 days later.
    assert found.at(np.array([4383.0 + 600.0]), 0.5, 600.0) == pytest.approx([14.0])


def test_snow_that_lay_at_the_end_of_the_first_year_lies_at_its_start():
    # Ten hours of 1 mm below freezing at the end of the first year; 5 K melt
    # 3 mm a day each: 0.625 mm an hour.
    t, fall = np.full(2 * 8760, 5.0), np.zeros(2 * 8760)
    t[8750:8760], fall[8750:8760] = -2.0, 1.0
    water = ground.snow_water(t, fall)
    assert water[0] == pytest.approx(10.0 - 0.625)
    assert water[8759] == pytest.approx(10.0)
    assert water[20] == 0.0
    assert ground.snow_water(t[:8000], fall[:8000]).max() == 0.0
