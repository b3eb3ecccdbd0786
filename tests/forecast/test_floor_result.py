"""The answer of `floor` put together by hand, and what it passes on."""

import sys
from typing import Any

import numpy as np
import pytest
import xarray as xr

from emcforecast.ensemble.percentiles import YearRange
from emcforecast.forecast.floor import chosen_settings, floor
from emcforecast.forecast.floor_result import Floor, Lowest, Month, SettingFloor, Span
from emcforecast.storage.setting_text import parse_setting
from emcforecast.weather.series import make_series
from emcforecast.wood.board import Board

FLOOR = sys.modules["emcforecast.forecast.floor"]


def month_of(number: int) -> Month:
    """Every number differs: temperature 10 + m, humidity 60 + m, EMC 12 + m/10 …"""
    tenth = 0.1 * number
    return Month(
        number, 10.0 + number, 60.0 + number, 12.0 + tenth, 12.5 + tenth, 13.0 + tenth,
        YearRange(9.0 + tenth, 10.0 + tenth, 11.0 + tenth, 8.0, 12.0),
        Span(7.0 + tenth, 14.0 + tenth),
    )  # fmt: skip


def by_hand(years: tuple[int, ...] = (2020, 2021), month: int = 6) -> Floor:
    months = tuple(month_of(number) for number in range(1, 13))
    lowest = Lowest(month, 8.5, 9.25, 10.0, Span(8.0, 11.0), 8.25, 10.5)
    shed = SettingFloor("shed", "barn", months, lowest, np.full((3, 365), 12.0))
    return Floor(Board("white oak", 27), {"shed": shed}, years, {"source": "by hand"})


def test_a_dataset_by_hand() -> None:
    found = by_hand().to_dataset()
    assert found["month"].to_numpy().tolist() == list(range(1, 13))
    june = found.sel(place="shed", month=6)
    expected = {
        **{"air_temperature": 16.0, "relative_humidity": 66.0, "emc": 12.6},
        **{"board_mean": 13.6, "lowest_p10": 9.6, "lowest_p50": 10.6},
        **{"lowest_p90": 11.6, "lowest_place_low": 7.6, "lowest_place_high": 14.6},
        **{"year_lowest_p10": 8.5, "year_lowest_p50": 9.25, "year_lowest_p90": 10.0},
        **{"year_lowest_month": 6.0},
    }
    assert {name: float(june[name]) for name in june.data_vars} == pytest.approx(
        expected
    )
    assert found.attrs["kinds"] == "barn"
    assert found.attrs["weather_years"] == "2020, 2021"


@pytest.mark.parametrize(
    ("month", "name"), [(1, "January"), (6, "June"), (12, "December")]
)
def test_a_summary_names_the_month_and_counts_the_years(month: int, name: str) -> None:
    several, single = repr(by_hand(month=month)), repr(by_hand((2020,), month))
    assert name in several
    assert "2 weather years" in several
    assert "1 weather year" in single
    assert "years" not in single


@pytest.mark.parametrize(
    ("said", "names"),
    [
        # One of a place goes by the place, several by their kinds, and several of one
        # kind by all that was said; the usual one keeps the place's name.
        (["shed=loft,roof=metal"], ["shed"]),
        (["shed", "shed=loft,roof=metal"], ["shed", "loft"]),
        (["shed=barn", "shed=loft,roof=metal"], ["barn", "loft"]),
        (["shed=loft", "shed=loft,roof=metal"], ["loft", "loft,roof=metal"]),
        (["shed", "shed=shed,height=5"], ["shed", "shed,height=5"]),
    ],
)
def test_places_side_by_side_are_named_as_shortly_as_may_be(
    said: list[str], names: list[str]
) -> None:
    found = chosen_settings([parse_setting(word) for word in said])
    assert list(found) == ["outdoor", *names, "indoor"]


def steady_year() -> xr.Dataset:
    time = np.arange("2021-01-01T00", "2022-01-01T00", dtype="datetime64[h]")
    values = {"air_temperature": 15.0, "relative_humidity": 65.0, "wind_speed": 3.0,
              "shortwave": 0.0, "precipitation": 0.0}  # fmt: skip
    return make_series(
        time,
        {name: np.full(time.size, value) for name, value in values.items()},
        step="hour", kind="observed", source="steady air",
        latitude=45.0, longitude=0.0,
    )  # fmt: skip


def test_each_month_and_the_year_get_their_own_spread(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What a different place would do, 1 to 13 % MC under and ten times that over, is
    added to the middle of its own month, the thirteenth to that of the year."""

    def spread(*given: Any) -> list[np.ndarray]:
        under = np.arange(1.0, 14.0)
        return [np.stack([-under, 10.0 * under])] * len(given[3])

    monkeypatch.setattr(FLOOR, "place_spread", spread)
    told: list[float] = []
    answer = floor(
        steady_year(),
        "yellow-poplar",
        20,
        progress=lambda done, what: told.append(done),
    )
    for setting in answer.settings.values():
        for number, month in enumerate(setting.months, 1):
            middle = month.lowest.p50
            assert month.month == number
            assert month.place.low == pytest.approx(middle - number)
            assert month.place.high == pytest.approx(middle + 10.0 * number)
        year = setting.lowest
        assert year.place.low == pytest.approx(year.p50 - 13.0)
        assert year.place.high == pytest.approx(year.p50 + 130.0)
    # What is done never goes back, begins with nothing and ends with all.
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)
    assert answer.years == (2021,)
