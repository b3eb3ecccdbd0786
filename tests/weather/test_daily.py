"""Daily values: what is missing stays missing, what is said is kept."""

import numpy as np
import pytest

from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.mend.hours_from_means import (
    hourly_from_daily,
    hourly_from_monthly,
)
from emcforecast.weather.read import read_weather
from emcforecast.weather.series import make_series

DAYS = np.arange("2022-12-01", "2024-02-01", dtype="datetime64[D]")
NUMBER = np.arange(DAYS.size)
WARM = np.round(10 - 9 * np.cos(2 * np.pi * (NUMBER - 45) / 365.25), 1)
DAMP = np.round(75 + 10 * np.sin(NUMBER / 9.0), 0)
RAIN = np.where(NUMBER % 3 == 0, 4.5, 0.0)


def rebuilt(keep, **more):
    return hourly_from_daily(
        DAYS[keep],
        {
            "air_temperature": WARM[keep],
            "relative_humidity": DAMP[keep],
            "precipitation": RAIN[keep],
            **{name: values[keep] for name, values in more.items()},
        },
        kind="observed",
        source="a notebook",
    )


def by_day(series, name):
    return series[name].to_series().resample("1D").sum(min_count=24).to_numpy()


def test_the_rain_of_a_day_that_is_not_there_is_unknown():
    keep = (NUMBER < 100) | (NUMBER > 103)
    series = rebuilt(keep)
    np.testing.assert_allclose(
        by_day(series, "precipitation"), np.where(keep, RAIN, np.nan), atol=1e-9
    )
    assert np.isnan(series["air_temperature"].to_numpy().reshape(-1, 24)[100:104]).all()


def test_a_day_without_its_rain_alone_is_unknown_too():
    series = hourly_from_daily(
        DAYS,
        {
            "air_temperature": WARM,
            "relative_humidity": DAMP,
            "precipitation": np.where(NUMBER == 30, np.nan, RAIN),
        },
        kind="observed",
        source="a notebook",
    )
    unknown = np.isnan(by_day(series, "precipitation"))
    assert unknown.tolist() == (NUMBER == 30).tolist()


def test_a_table_with_lost_days_says_what_became_of_their_rain(tmp_path):
    file = tmp_path / "days.csv"
    file.write_text(
        "date,temp_c,rh_pct,rain_mm\n"
        + "".join(
            f"{day},{t},{h},{r}\n"
            for number, (day, t, h, r) in enumerate(
                zip(DAYS, WARM, DAMP, RAIN, strict=True)
            )
            if number not in (200, 300)
        )
    )
    series = read_weather(file)
    told = " / ".join(repair_sentences(series))
    assert "48 hours without precipitation taken as no rain" in told
    assert "48 hours in longer gaps filled from the same hours" in told


def test_a_day_told_twice_is_averaged_and_said():
    order = np.r_[0:60, 40, 60 : DAYS.size]
    warm = WARM[order].copy()
    warm[60] += 6.0  # the second telling of day 40
    series = hourly_from_daily(
        DAYS[order],
        {"air_temperature": warm, "relative_humidity": DAMP[order]},
        kind="observed",
        source="a notebook",
    )
    mean = series["air_temperature"].to_numpy().reshape(-1, 24).mean(axis=1)
    assert mean[40] == pytest.approx(WARM[40] + 3.0)
    told = " / ".join(repair_sentences(series))
    assert "1 day already seen; averaged with the first" in told
    assert "disagrees on temperature, by up to 6.0 K" in told


@pytest.mark.parametrize("name", ["precipitation", "wind_speed", "shortwave"])
def test_what_lacks_a_month_is_left_out_of_monthly_weather_and_said(name):
    values = np.full(14, 60.0 if name != "wind_speed" else 3.0)
    values[5] = np.nan
    series = make_series(
        np.arange("2020-01", "2021-03", dtype="datetime64[M]"),
        {
            "air_temperature": np.linspace(0, 13, 14),
            "relative_humidity": np.full(14, 75.0),
            name: values,
        },
        step="month",
        kind="reanalysis",
        source="a notebook",
    )
    hourly = hourly_from_monthly(series)
    assert name not in hourly
    words = name.replace("_", " ")
    assert f"{words} lacks months: not used" in repair_sentences(hourly)
