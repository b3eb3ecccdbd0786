"""The hours of days and months of means, by hand arithmetic."""

from typing import Any

import numpy as np
import pytest
import xarray as xr
from scipy.stats import norm

from emcforecast.weather.mend.hours_from_means import (
    DAY_DEPARTURES,
    hourly_from_daily,
    hourly_from_monthly,
    humid_day,
    rain_hours,
    temperature_course,
)
from emcforecast.weather.repairs import RepairKind, repairs_of
from emcforecast.weather.series import make_series

# The design day of building handbooks: hundredths of the daily range below the day's
# highest, at 1 to 24 h solar time (from memory).
HANDBOOK = [
    *(87, 92, 96, 99, 100, 98, 93, 84, 71, 56, 39, 23),
    *(11, 3, 0, 3, 10, 21, 34, 47, 58, 68, 76, 82),
]


def magnus(t: Any) -> Any:
    """Pressure of saturation, Pa."""
    return 611.2 * np.exp(17.62 * t / (243.12 + t))


def kinds(series: xr.Dataset) -> set[RepairKind]:
    return {one.kind for one in repairs_of(series)}


def days(count: int = 10, first: str = "2021-06-01", **columns: Any) -> xr.Dataset:
    """Equal days at 15 °C and 60 % but for what is given, at 0° east."""
    given: dict[str, Any] = {"air_temperature": 15.0, "relative_humidity": 60.0}
    place = {k: columns.pop(k) for k in ("latitude", "longitude") if k in columns}
    return hourly_from_daily(
        np.datetime64(first) + np.arange(count),
        {k: np.broadcast_to(v, count) for k, v in (given | columns).items()},
        kind="observed", source="daily means", **place,
    )  # fmt: skip


def months(first: str = "2001-01", kind: str = "normals", **columns: Any) -> xr.Dataset:
    """Twelve months at 15 °C and 60 % but for what is given."""
    given: dict[str, Any] = {"air_temperature": 15.0, "relative_humidity": 60.0}
    return make_series(
        np.datetime64(first) + np.arange(12),
        {k: np.broadcast_to(v, 12) for k, v in (given | columns).items()},
        step="month", kind=kind, source="monthly means",
    )  # fmt: skip


def by_day(series: xr.Dataset, name: str) -> np.ndarray:
    return series[name].to_numpy().reshape(-1, 24)


def test_the_course_of_a_day_is_the_handbooks() -> None:
    hours = np.arange(1, 25)
    course = temperature_course(hours)
    assert 100.0 * (course[14] - course) == pytest.approx(HANDBOOK, abs=1e-9)
    # The day's mean is 1351/24 = 56.3 hundredths of the range below its highest.
    assert 100.0 * course[14] == pytest.approx(1351 / 24)
    # Straight lines between, over midnight too: 82 and 87 make 84.5; any day will do.
    between = temperature_course([0.5, 24.5, 15.25, -8.75])
    assert 100.0 * (course[14] - between) == pytest.approx([84.5, 84.5, 0.75, 0.75])


def test_a_day_keeps_its_vapour_and_its_mean_humidity() -> None:
    t = 15.0 + 12.0 * temperature_course(np.arange(24) + 0.5)
    wanted = [40.0, 92.0]
    dry, damp = humid_day(np.tile(t, (2, 1)), np.array(wanted))
    assert [dry.mean(), damp.mean()] == pytest.approx(wanted, abs=0.01)
    for humid in (dry, damp):
        pressure = (humid * magnus(t))[humid < 100.0]
        assert pressure == pytest.approx(pressure.mean(), rel=1e-9)
    assert damp.max() == 100.0
    # Vapour pressure is constant where the air is not full, and full where it is cold.
    assert np.flatnonzero(damp == 100.0).tolist() == [
        k for k in range(24) if t[k] < t[damp < 100.0].min()
    ]


@pytest.mark.parametrize(("said", "taken"), [(100.0, 99.5), (0.0, 1.0), (1.5, 1.5)])
def test_the_humidity_of_a_day_is_held_within_bounds(said: float, taken: float) -> None:
    # 1 to 99.5 % in the mean of a day (an assumption, no source).
    found = humid_day(np.full((1, 24), 10.0), np.array([said]))
    assert found == pytest.approx(np.full((1, 24), taken))


def test_rain_falls_in_the_dampest_hours_a_millimetre_in_each() -> None:
    damp = np.tile(np.arange(24.0), (6, 1))
    total = np.array([2.5, 0.3, 4.0, 36.0, 0.0, np.nan])
    found = rain_hours(total, damp)
    expected = np.zeros((6, 24))
    expected[0, 21:] = 2.5 / 3.0
    expected[1, 23:] = 0.3
    expected[2, 20:] = 1.0
    expected[3] = 1.5
    expected[5] = np.nan
    np.testing.assert_allclose(found, expected)


def test_days_between_their_extremes() -> None:
    found = days(
        2, daily_maximum=[20.0, 24.0], daily_minimum=[12.0, 10.0], air_temperature=16.0
    )
    t = by_day(found, "air_temperature")
    assert t.mean(axis=1) == pytest.approx([16.0, 16.0])
    # Between 14 and 15 h, and 4 and 5 h, in hour's middle: 97 hundredths of the range
    # less half a hundredth at the foot, 98, lie between 1.5 and 99.5 below.
    assert np.ptp(t, axis=1) == pytest.approx([0.98 * 8.0, 0.98 * 14.0])
    assert RepairKind.HOURS_OF_DAYS in kinds(found)
    assert RepairKind.MEAN_OF_EXTREMES not in kinds(found)


def test_a_mean_that_is_missing_is_that_of_the_extremes() -> None:
    found = hourly_from_daily(
        np.datetime64("2021-06-01") + np.arange(2),
        {"relative_humidity": [60.0, 60.0], "daily_maximum": [20.0, 24.0],
         "daily_minimum": [12.0, 10.0]},
        kind="observed", source="extremes",
    )  # fmt: skip
    t = by_day(found, "air_temperature")
    assert t.mean(axis=1) == pytest.approx([16.0, 17.0])
    assert RepairKind.MEAN_OF_EXTREMES in kinds(found)


def test_extremes_that_cannot_be_give_way_to_the_other_days() -> None:
    # 50 K apart, the lowest above the highest, unknown: the mean of 8 and 16 K for all
    # three; 44 K and none at all are possible.
    top = np.array([19.0, 23.0, 40.0, 10.0, np.nan])
    low = np.array([11.0, 7.0, -10.0, 20.0, 5.0])
    swing = np.ptp(
        by_day(days(5, daily_maximum=top, daily_minimum=low), "air_temperature"), axis=1
    )
    assert swing / 0.98 == pytest.approx([8.0, 16.0, 12.0, 12.0, 12.0])
    top, low = np.array([37.0, 15.0]), np.array([-7.0, 15.0])
    swing = np.ptp(
        by_day(days(2, daily_maximum=top, daily_minimum=low), "air_temperature"), axis=1
    )
    assert swing / 0.98 == pytest.approx([44.0, 0.0])
    # None known at all: 10 K (common practice, no source), and it is said.
    found = days(3)
    swing = np.ptp(by_day(found, "air_temperature"), axis=1)
    assert swing / 0.98 == pytest.approx([10.0] * 3)


def test_days_in_any_order_and_with_holes_lie_on_their_dates() -> None:
    dates = np.array(["2021-06-04", "2021-06-01", "2021-06-01"], "datetime64[D]")
    found = hourly_from_daily(
        dates,
        {"air_temperature": [10.0, 20.0, 21.0], "relative_humidity": [50.0, 60.0, 60.0],
         "wind_speed": [2.0, 4.0, 4.0], "precipitation": [1.0, 3.0, 3.0]},
        kind="observed", source="holes",
    )  # fmt: skip
    assert found.sizes["time"] == 4 * 24
    t = by_day(found, "air_temperature").mean(axis=1)
    # A day told twice counts once, in its mean, and it is said.
    assert t == pytest.approx([20.5, np.nan, np.nan, 10.0], nan_ok=True)
    repeated = [
        one for one in repairs_of(found) if one.kind is RepairKind.REPEATED_DAYS
    ]
    assert [one.count for one in repeated] == [1]
    assert (by_day(found, "wind_speed")[[0, 3]] == [[4.0], [2.0]]).all()
    rain = by_day(found, "precipitation")
    assert rain.sum(axis=1) == pytest.approx([3.0, np.nan, np.nan, 1.0], nan_ok=True)
    assert RepairKind.READINGS_DISAGREE not in kinds(found)
    assert RepairKind.REPEATED_DAYS not in kinds(days(2))


def test_a_day_is_warmest_at_15_h_by_its_own_sun() -> None:
    # 15 degrees an hour: 75° west is 5 h behind, 60° east 4 h before.
    for east, warmest in ((0.0, 14), (-75.0, 19), (60.0, 10)):
        t = by_day(days(2, longitude=east), "air_temperature")
        assert (np.argmax(t, axis=1) % 24).tolist() in (
            [warmest] * 2,
            [warmest + 1] * 2,
        )
        assert t[0, (warmest, warmest + 1)] == pytest.approx(t[0].max(), abs=0.01)


def test_measured_daily_sun_keeps_its_mean_and_lies_about_noon() -> None:
    found = days(3, shortwave=[250.0, 100.0, 0.0], latitude=45.0, longitude=0.0)
    sun = by_day(found, "shortwave")
    assert sun.mean(axis=1) == pytest.approx([250.0, 100.0, 0.0])
    assert np.argmax(sun[:2], axis=1).tolist() in ([11, 11], [12, 12])
    assert (sun[:, :3] == 0.0).all()
    # Without a place: 45° of the half in which June is warmer than December.
    same = days(3, shortwave=[250.0, 100.0, 0.0])
    np.testing.assert_allclose(by_day(same, "shortwave"), sun)
    # No hour has more than 1400 W/m², a little above the sun outside the air, whatever
    # is said of the day; and where there is no sun at all none is made.
    assert by_day(days(1, shortwave=900.0, latitude=45.0), "shortwave").max() == 1400.0
    night = days(1, "2021-12-21", shortwave=3.0, latitude=80.0)
    assert (by_day(night, "shortwave") == 0.0).all()


def test_days_of_a_month_depart_as_a_normal_law_does() -> None:
    """Middles of the five fifths of a normal law, their spread brought to one."""
    fifths = norm.ppf([0.5, 0.7, 0.9, 0.3, 0.1])
    expected = fifths / fifths.std()
    np.testing.assert_allclose(DAY_DEPARTURES, expected, atol=0.001)
    # 10 % relative humidity per standard deviation (docs/method.md).
    humid = by_day(hourly_from_monthly(months()), "relative_humidity").mean(axis=1)
    whole = humid[150:180]  # June, thirty days
    assert whole == pytest.approx(60.0 + 10.0 * np.tile(expected, 6), abs=0.02)
    # Days of a damp month are held between 2 and 99 %, and keep its mean.
    for level in (6.0, 96.0):
        daily = by_day(
            hourly_from_monthly(months(relative_humidity=level)), "relative_humidity"
        ).mean(axis=1)
        bound = 99.0 if level > 50.0 else 2.0
        assert (np.abs(daily - bound).min(), daily[:31].mean()) == pytest.approx(
            (0.0, level), abs=0.05
        )


def test_daily_means_follow_a_wave_and_keep_each_month() -> None:
    # A yearly wave of 10 K through exact monthly means: straight lines through twelve
    # middles are off by at most 10 (1 - cos 15°) = 0.34 K, twice that where the mean
    # is kept too; over New Year as anywhere.
    length = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    day = np.arange(365) + 0.5
    wave = 10.0 - 10.0 * np.cos(2.0 * np.pi * (day - 25.0) / 365.0)
    month = np.repeat(np.arange(12), length)
    means = np.bincount(month, wave) / length
    daily = by_day(
        hourly_from_monthly(months(air_temperature=means)), "air_temperature"
    ).mean(axis=1)
    assert np.bincount(month, daily) / length == pytest.approx(means, abs=1e-6)
    assert np.abs(daily - wave).max() < 0.35
    assert np.abs(np.diff(np.append(daily, daily[0]))).max() < 0.25
    # In observed months, which are not repeated, nothing is known of the next January:
    # the year's ends are level.
    ends = by_day(
        hourly_from_monthly(months(kind="observed", air_temperature=means)),
        "air_temperature",
    ).mean(axis=1)
    assert np.abs(np.diff(ends)[[0, 5, -1]]).max() < 1e-9
    assert np.bincount(month, ends) / length == pytest.approx(means, abs=1e-6)


@pytest.mark.parametrize(
    ("total", "wet"), [(60.0, 1), (60.1, 2), (20.0, 1), (110.0, 2)]
)
def test_rain_of_a_month_falls_on_the_dampest_of_five_days(
    total: float, wet: int
) -> None:
    # On the dampest of five days, above 60 mm on the two dampest (an assumption, no
    # source): six such days in June.
    found = hourly_from_monthly(months(precipitation=total))
    june = by_day(found, "precipitation")[151:181]
    humid = by_day(found, "relative_humidity")[151:181].mean(axis=1)
    dampest = np.argsort(-humid.reshape(-1, 5), axis=1)[:, :wet]
    expected = np.zeros((6, 5))
    np.put_along_axis(expected, dampest, total / (6.0 * wet), axis=1)
    assert june.sum(axis=1).reshape(-1, 5) == pytest.approx(expected)


def test_measured_monthly_sun_and_wind_keep_their_means() -> None:
    sun, wind = np.linspace(50.0, 240.0, 12), np.linspace(1.0, 4.0, 12)
    found = hourly_from_monthly(months(shortwave=sun, wind_speed=wind))
    month = found["time"].dt.month
    kept = found["shortwave"].groupby(month).mean().to_numpy()
    assert kept == pytest.approx(sun, rel=1e-9)
    assert found["wind_speed"].groupby(month).std().to_numpy() == pytest.approx(0.0)
    assert found["wind_speed"].groupby(month).mean().to_numpy() == pytest.approx(wind)
    assert RepairKind.SUN_OF_DAILY_RANGE not in kinds(found)
    most = hourly_from_monthly(months(shortwave=600.0))
    assert float(most["shortwave"].max()) == 1400.0
    # Above the polar circle there is no sun in December, whatever a table says.
    north = months(shortwave=5.0).assign_attrs(latitude=80.0, longitude=0.0)
    dark = hourly_from_monthly(north)["shortwave"].sel(time="2001-12")
    assert float(dark.max()) == 0.0


def test_a_month_without_wind_leaves_wind_out_and_says_so() -> None:
    wind = np.full(12, 3.0)
    wind[4] = np.nan
    found = hourly_from_monthly(months(wind_speed=wind, precipitation=50.0))
    assert "wind_speed" not in found
    assert "precipitation" in found
    assert {RepairKind.MONTHS_LACKING, RepairKind.SUN_OF_DAILY_RANGE} <= kinds(found)


@pytest.mark.parametrize(
    ("said", "taken"),
    [
        (None, 10.0),
        ([8.0] * 12, 8.0),
        ([8.0] * 11, 10.0),
        ([8.0] * 11 + [0.0], 10.0),
        ([8.0] * 11 + [float("nan")], 10.0),
        ([0.5] * 12, 0.5),
    ],
)
def test_a_daily_range_that_is_not_whole_is_not_taken(
    said: list[float] | None, taken: float
) -> None:
    series = months() if said is None else months().assign_attrs(daily_range=said)
    found = hourly_from_monthly(series)
    swing = np.ptp(by_day(found, "air_temperature"), axis=1)
    assert swing / 0.98 == pytest.approx(taken)
    assert (RepairKind.DAILY_RANGE_UNKNOWN in kinds(found)) == (
        said is None or taken == 10.0
    )
