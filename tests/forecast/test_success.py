"""What counts as ready and as fit for a place, by hand."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from emcforecast.forecast.plan.choose import as_sure
from emcforecast.forecast.plan.success import (
    bounded_below,
    first_day,
    is_ready,
    may_enter,
    rain_unknown,
    starting_places,
    takes_green,
)
from emcforecast.forecast.targets import Target, target_for_use, target_of_number
from emcforecast.storage.setting_text import as_setting

STACK, SHED, LOFT, BARN, HOUSE = (
    as_setting(word) for word in ("stack", "shed", "loft", "barn", "house")
)


def air_of(*places: Any, film: tuple[float, ...] | None = None) -> Any:
    """Two draws of each place, one after another; `film` is what rain they keep."""
    rain_film = np.array(film or [0.05] * 2 * len(places))
    tables = SimpleNamespace(rain_film=rain_film)
    return SimpleNamespace(places=list(places), draws=2, tables=tables)


def test_even_is_a_core_at_most_two_and_a_half_wetter() -> None:
    # docs/plans.md: core less shell at most 2.5 % MC, asked of targets up to 14 %
    # (common practice, no source).
    mean, shell = np.full(4, 10.0), np.full(4, 9.0)
    core = np.array([11.5, 11.6, 12.0, 6.0])
    even = [True, False, False, True]
    for number, asked in ((14.0, True), (14.1, False), (10.0, True)):
        found = is_ready(mean, shell, core, target_of_number(number))
        assert found.tolist() == (even if asked else [True] * 4)


def test_a_bound_itself_is_ready_and_rounding_is_no_fault() -> None:
    deck = Target("decking", 12.0, 19.0, "practice", least=12.0)
    mc = np.array([12.0 - 1e-12, 19.0 + 1e-12, 11.99, 19.01])
    assert is_ready(mc, mc, mc, deck).tolist() == [True, True, False, False]


def test_the_first_day_of_each_run() -> None:
    good = np.array([[False, True, False], [True, False, False], [True, True, False]])
    assert first_day(good).tolist() == [1.0, 0.0, np.inf]


def test_nothing_wetter_than_a_quarter_goes_indoors() -> None:
    # 25 % MC (common practice, no source); a barn is closed too.
    wet = np.array([24.9, 25.0, 25.1, 80.0])
    for place in (BARN, HOUSE):
        assert not takes_green(place)
        assert may_enter(place, wet).tolist() == [True, True, False, False]
    for place in (STACK, SHED, LOFT):
        assert takes_green(place)
        assert may_enter(place, wet).all()


def test_green_wood_begins_in_the_open_air() -> None:
    air = air_of(SHED, LOFT, BARN)
    numbers = [0, 1, 2]
    assert starting_places(air, numbers, 60.0) == [0]
    assert starting_places(air, numbers, 25.1) == [0]
    assert starting_places(air, numbers, 25.0) == numbers
    assert starting_places(air, numbers, 12.0, {1}) == [0, 2]
    # A loft, closed but airy, where nothing airier is at hand; never a barn.
    assert starting_places(air, numbers, 60.0, {0}) == [1]
    assert starting_places(air, [2], 60.0) == []


def test_an_uncovered_stack_begins_where_the_rain_is_known() -> None:
    # Draws of the shed keep no rain and need none; of the bare stack they tell by it
    # whether the weather has rain.
    dry, wet = (0.0, 0.0, 0.0, 0.0), (0.0, 0.0, 0.04, 0.05)
    unknown, known = (air_of(SHED, STACK, film=film) for film in (dry, wet))
    assert [rain_unknown(unknown, k) for k in (0, 1)] == [False, True]
    assert [rain_unknown(known, k) for k in (0, 1)] == [False, False]
    # What the neighbour keeps is no answer; one of a place's draws is enough.
    assert rain_unknown(air_of(STACK, STACK, film=(0.05, 0.05, 0.0, 0.0)), 1)
    assert not rain_unknown(air_of(STACK, SHED, film=(0.0, 0.05, 0.0, 0.0)), 0)
    assert starting_places(unknown, [0, 1], 60.0) == [0]
    assert starting_places(known, [0, 1], 60.0) == [0, 1]
    assert starting_places(unknown, [1], 60.0) == [1]


@pytest.mark.parametrize(("surest", "least"), [(0.91, 0.9), (0.52, 0.5), (0.89, 0.86)])
def test_nine_in_ten_and_an_even_chance_are_not_given_up(
    surest: float, least: float
) -> None:
    # docs/plans.md: 3 in 100 buy a plainer route, but not below 90 or 50 %.
    assert as_sure(surest) == pytest.approx(least)


def test_all_places_too_dry_is_none() -> None:
    def settled(*contents: float) -> Any:
        return SimpleNamespace(
            places=[STACK, LOFT, HOUSE],
            driest_month_emc=lambda k: contents[k] - 0.02,
            mean_emc=lambda k: contents[k],
        )

    deck = target_for_use("decking")
    # Least: 12 %, or the driest month outdoors, 16 - 2 - 3 = 11.
    for contents, too_dry in (
        ((0.16, 0.13, 0.109), (2,)),
        ((0.16, 0.109, 0.109), (1, 2)),
        ((0.16, 0.13, 0.111), ()),
    ):
        bounded, found = bounded_below(settled(*contents), [0, 1, 2], deck)
        assert bounded.least == pytest.approx(11.0)
        assert found == too_dry
    # Rooms alone: the range's own end, and where all are drier none is kept out.
    room = SimpleNamespace(places=[STACK, LOFT, HOUSE], mean_emc=lambda k: 0.06)
    bounded, found = bounded_below(room, [2], deck)  # type: ignore[arg-type]
    assert (bounded.least, found) == (12.0, ())
    # A target for indoors, or a plain number, has its own bounds.
    for target in (target_for_use("furniture"), target_of_number(16.0)):
        assert bounded_below(room, [2], target) == (target, ())  # type: ignore[arg-type]
