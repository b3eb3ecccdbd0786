"""`floor` from Python: what must hold whatever the weather."""

import numpy as np
import pytest

from emcforecast import floor, read_weather
from emcforecast.charts.floor import floor_figure
from emcforecast.ensemble.calendar import day_slot, smooth
from emcforecast.ensemble.percentiles import over_years
from emcforecast.errors import InputError, WeatherError
from emcforecast.report.floor import floor_rows, floor_text
from emcforecast.report.floor_sentences import floor_sentences
from emcforecast.storage.setting_text import parse_setting
from emcforecast.weather.series import make_series


def steady(temperature: float, humidity: float, months: int = 24) -> object:
    """Hourly weather that never changes, from January 2021."""
    end = np.datetime64("2021-01") + np.timedelta64(months, "M")
    time = np.arange(np.datetime64("2021-01-01T00"), end.astype("datetime64[h]"))
    return make_series(
        time,
        {
            "air_temperature": np.full(time.size, temperature),
            "relative_humidity": np.full(time.size, humidity),
            "wind_speed": np.full(time.size, 3.0),
            "shortwave": np.zeros(time.size),
            "precipitation": np.zeros(time.size),
        },
        step="hour",
        kind="observed",
        source="steady air",
        latitude=45.0,
        longitude=0.0,
    )


def test_steady_air_rests_at_the_published_table() -> None:
    # Wood Handbook Table 4-2: 70 °F and 65 % RH give 12.0 %. Under its own roof a stack
    # has the outdoor air but for the damp of the ground, which a switch turns off.
    answer = floor(
        steady((70 - 32) / 1.8, 65.0),
        settings=[parse_setting("outdoor=stack-roof,ground_damp=off")],
    )
    month = answer.settings["outdoor"].months[6]
    assert month.published_basis_emc == pytest.approx(12.0, abs=0.1)
    assert month.mean == pytest.approx(12.0, abs=0.1)
    assert month.lowest.p50 == pytest.approx(12.0, abs=0.1)
    assert answer.settings["outdoor"].day_range == pytest.approx(
        np.full((3, 365), 12.0), abs=0.1
    )


def test_place_spread_holds_the_stated_place() -> None:
    answer = floor(read_weather("demo"), "yellow-poplar", 27)
    for setting in answer.settings.values():
        low = setting.lowest
        assert low.place.low <= low.p50 + 0.2
        assert low.place.high >= low.p50 - 0.2
        assert low.place.high - low.place.low > 0.1
        assert low.p10 is not None
        assert low.p90 is not None
        assert low.p10 < low.p50 < low.p90


def test_less_than_a_year_is_refused() -> None:
    with pytest.raises(WeatherError, match="whole year"):
        floor(steady(10.0, 70.0, months=5))


def test_years_have_ranges_only_when_there_are_several() -> None:
    assert over_years(np.array([10.0])).p10 is None
    many = over_years(np.arange(11.0))
    assert (many.p10, many.p50, many.p90) == (1.0, 5.0, 9.0)
    assert np.isnan(over_years(np.array([np.nan])).p50)


def test_a_day_keeps_its_place_in_leap_years() -> None:
    days = np.array(["2019-12-31", "2020-02-28", "2020-02-29", "2020-03-01"])
    assert day_slot(days.astype("datetime64[D]")).tolist() == [364, 58, 58, 59]


def test_smoothing_wraps_over_new_year() -> None:
    curve = np.zeros(365)
    curve[0] = 15.0
    smoothed = smooth(curve, 15)
    assert smoothed.sum() == pytest.approx(15.0)
    assert smoothed[360] == pytest.approx(1.0)


def yearly(humidity_by_year: list[float], dry_months: tuple[int, ...] = ()) -> object:
    """Steady air of a humidity of its own in each year; 20 % RH less in dry months."""
    weather = steady(20.0, 80.0, months=12 * len(humidity_by_year))
    time = weather["time"].to_numpy()
    year = time.astype("datetime64[Y]").astype(int) - 51
    month = time.astype("datetime64[M]").astype(int) % 12 + 1
    air = np.array(humidity_by_year)[year] - 20.0 * np.isin(month, dry_months)
    return weather.assign(
        relative_humidity=("time", air, weather["relative_humidity"].attrs)
    )


def test_the_year_is_lowest_at_the_end_of_its_dry_season() -> None:
    # Dry in June alone: a thin board falls until the air turns, on 30 June.
    answer = floor(
        yearly([80.0, 80.0, 80.0], (6,)),
        "yellow-poplar",
        6,
        settings=[parse_setting("outdoor=stack-roof,ground_damp=off")],
    )
    found = answer.settings["outdoor"]
    assert found.lowest.month == 6
    # Table 4-2 at 68 °F: 60 % gives 10.9, 80 % gives 16.0.
    assert found.months[5].lowest.p50 == pytest.approx(10.9, abs=0.3)
    assert found.lowest.p50 == pytest.approx(found.months[5].lowest.p50, abs=0.05)
    assert found.months[2].mean == pytest.approx(16.0, abs=0.3)


def test_every_year_of_the_record_counts_in_the_lowest() -> None:
    # Two years: the middle lies half way between their two lows, the tenth a tenth of
    # the way up. Table 4-2 at 68 °F: 80 % gives 16.0, 50 % gives 9.2.
    answer = floor(
        yearly([80.0, 50.0]),
        settings=[parse_setting("outdoor=stack-roof,ground_damp=off")],
    )
    low = answer.settings["outdoor"].lowest
    assert low.p10 is not None
    assert low.p50 == pytest.approx(0.5 * (16.0 + 9.2), abs=0.4)
    assert low.p10 == pytest.approx(9.2 + 0.1 * 6.8, abs=0.4)


def test_any_number_of_places_stand_side_by_side_and_each_as_if_alone() -> None:
    words = ["shed", "shed=loft", "shed=barn", "shed=barn,roof=metal"]
    weather = read_weather("demo")
    answer = floor(weather, "yellow-poplar", 27, words)
    assert list(answer.settings) == [
        *("outdoor", "shed", "loft", "barn", "barn,roof=metal", "indoor")
    ]
    for name in ("loft", "barn,roof=metal"):
        alone = floor(weather, "yellow-poplar", 27, [f"shed={name}"]).settings["shed"]
        assert answer.settings[name].lowest.p50 == pytest.approx(alone.lowest.p50)
        assert answer.settings[name].kind == alone.kind
    lines = floor_text(answer, [], [], "si", months=True).splitlines()
    assert max(len(line) for line in lines) <= 80
    assert sum(line.startswith("January") for line in lines) == 2
    assert "barn,roof=metal: In the closed" in " ".join(
        floor_sentences(answer, [], "si")
    )
    rows = {(row["setting"], row["month"]) for row in floor_rows(answer)}
    assert len(rows) == 6 * 12
    figure = floor_figure(answer, {name: name for name in answer.settings}, targets=[])
    written = {text.get_text() for text in figure.axes[0].texts}
    assert written >= set(answer.settings)


def test_one_place_given_twice_is_refused() -> None:
    with pytest.raises(InputError, match="shed=loft' is given twice"):
        floor(read_weather("demo"), settings=["shed=loft", "shed=loft"])
