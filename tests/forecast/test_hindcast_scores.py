"""Scores put together by hand arithmetic."""

import numpy as np
import pytest

from emcforecast.errors import WeatherError
from emcforecast.forecast.hindcast_scores import Case, Hindcast, scored, skill
from emcforecast.storage.settings import Setting, default_setting

SHED, INDOOR = default_setting("shed"), default_setting("indoor")


def case(what: str, setting: Setting, start: str, **numbers: float) -> Case:
    """A truth of 20, a middle of 21, covered; a score of 0.5 against one of 2."""
    given = {"truth": 20.0, "covered": True, "middle": 21.0, "crps": 0.5}
    return Case(what, setting.name, start, **(given | {"reference": 2.0} | numbers))


CASES = [
    case("60 days ahead", SHED, "04-01", middle=17.0, covered=False, crps=1.5),
    case("30 days ahead", SHED, "04-01"),
    case("30 days ahead", SHED, "10-01", middle=20.5, crps=0.25, reference=1.0),
    case("120 days ahead", INDOOR, "04-01"),
    case("240 days ahead", INDOOR, "04-01"),
    case("days to 20 %", SHED, "04-01", truth=50.0, middle=46.0, reference=8.0),
    case("days to 15 %", SHED, "04-01", truth=90.0, middle=100.0, reference=40.0),
]


def answer(target: float = 15.0) -> Hindcast:
    settings = [SHED, INDOOR]
    return scored(CASES, settings, ["04-01", "07-01", "10-01"], (2015, 2016), target)


def test_moisture_is_scored_by_the_documented_days_ahead() -> None:
    # docs/hindcast.md scores 30, 60, 120 and 240 days ahead.
    found = answer().moisture
    assert [(one.what, one.cases) for one in found] == [
        *(("30 days ahead", 2), ("60 days ahead", 1)),
        *(("120 days ahead", 1), ("240 days ahead", 1)),
    ]
    assert {one.unit for one in found} == {"% MC"}


def test_means_over_cases_by_hand() -> None:
    first, second, *_ = answer().moisture
    # Misses of 1 and 1/2, scores of 1/2 and 1/4 against 2 and 1.
    assert (first.error, first.bias, first.coverage) == (0.75, 0.75, 1.0)
    assert (first.crps, first.reference, first.skill) == (0.375, 1.5, 0.75)
    # 3 too low, and not in the range.
    assert (second.error, second.bias, second.coverage) == (3.0, -3.0, 0.0)
    # All five moistures: 1 + 1/2 + 3 + 1 + 1 and 1 + 1/2 - 3 + 1 + 1, over 5.
    whole = answer().whole
    assert (whole.cases, whole.coverage) == (5, 0.8)
    assert (whole.error, whole.bias) == pytest.approx((1.3, 0.1))
    assert (whole.crps, whole.reference) == pytest.approx((0.65, 1.8))
    assert whole.skill == pytest.approx(1.0 - 0.65 / 1.8)


def test_moistures_alone_go_by_place_and_start() -> None:
    found = answer()
    assert {name: one.cases for name, one in found.by_setting.items()} == {
        **{"shed": 3, "indoor": 2}
    }
    assert found.by_setting["shed"].what == SHED.about.title
    # Nothing was stacked in July.
    assert {name: one.cases for name, one in found.by_start.items()} == {
        **{"04-01": 4, "10-01": 1}
    }


def test_dates_go_by_20_percent_and_the_target_each_once() -> None:
    dates = answer().dates
    assert [(one.what, one.unit) for one in dates] == [
        *(("days to 20 %", "days"), ("days to 15 %", "days"))
    ]
    assert [(one.error, one.bias) for one in dates] == [(4.0, -4.0), (10.0, 10.0)]
    assert [one.reference for one in dates] == [8.0, 40.0]
    assert [one.what for one in answer(20.0).dates] == ["days to 20 %"]


def test_weather_without_a_single_moisture_is_refused() -> None:
    with pytest.raises(WeatherError, match="no stack"):
        scored(CASES[-2:], [SHED], ["04-01"], (2015,), 15.0)


def test_a_small_reference_is_still_one() -> None:
    assert skill(0.25, 0.5) == 0.5
    assert np.isnan(skill(0.0, 0.0))
