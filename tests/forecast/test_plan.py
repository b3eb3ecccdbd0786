"""The planner against every simpler rule, on the same draws."""

from functools import cache, lru_cache
from typing import Any

import numpy as np
import pytest

from emcforecast.ensemble.air import StorageAir, storage_air
from emcforecast.ensemble.draws import Members
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.route import Leg, Stack
from emcforecast.forecast.plan import plan as planner
from emcforecast.forecast.plan import solve as solver
from emcforecast.forecast.plan.choose import TIE
from emcforecast.forecast.plan.question import Question, Route, ask
from emcforecast.forecast.plan.result import Drawback
from emcforecast.forecast.targets import (
    Target,
    target_for_use,
    target_of_number,
    target_of_reading,
)
from emcforecast.report.plan import plan_risks, target_note
from emcforecast.storage.kinds import KINDS
from emcforecast.storage.setting_text import as_setting
from emcforecast.storage.settings import Setting
from emcforecast.weather.read import demonstration
from emcforecast.wood.board import Board

pytestmark = pytest.mark.usefixtures("worked_out_once")
THREE = ("outdoor", "shed", "indoor")
FURNITURE = target_for_use("furniture")
CASES = [
    # species, thickness, stacked, needed, target, places
    ("white oak", "4/4", "2026-04-01", "2027-11-15", FURNITURE, THREE),
    ("yellow-poplar", "4/4", "2026-05-01", "2027-02-01", FURNITURE, THREE),
    ("white oak", "8/4", "2026-04-01", "2027-10-01", target_of_number(13), THREE),
    ("white ash", "4/4", "2026-10-01", "2027-08-01", target_of_number(16), THREE),
]
MORE = [
    ("white oak", "4/4", "2026-04-01", "2028-01-15", FURNITURE, THREE),
    ("sugar maple", "4/4", "2026-09-15", "2027-09-01", target_of_number(12),
     ("outdoor", "loft", "indoor")),
    ("black walnut", "6/4", "2026-10-01", "2027-12-01", target_of_number(9),
     ("stack-roof", "loft", "dry-room")),
    ("white oak", "4/4", "2026-06-20", "2027-01-15", target_of_number(11),
     ("shed", "workshop")),
]  # fmt: skip
MEMBERS = 2


def chance_of(
    asked: Question,
    route: tuple[int, ...],
    moves: tuple[int, ...],
    days: int,
    target: Target,
) -> float:
    """Share of the runs that one stated route, followed from its start, has ready."""
    state, day = asked.states[route[0]], 0
    for place, move in zip(route[:-1], moves, strict=True):
        state = asked.ensemble.stay(state, day, move, place).state
        day = move
    last = asked.ensemble.stay(state, day, days, route[-1])
    good = last.mean[-1] <= target.high
    if target.high <= 14.0:
        good &= last.core[-1] - last.shell[-1] <= 2.5
    return float(good.mean())


def rules(
    asked: Question, days: int, stride: int
) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Every stay, and every move so many days after the stacking that may be made."""
    kinds = [place.kind for place in asked.air.places]
    airy = [k for k, kind in enumerate(kinds) if KINDS[kind].takes_green]
    open_air = [k for k in airy if KINDS[kinds[k]].open_air] or airy
    found: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
    found += [((k,), ()) for k in open_air]
    for first in open_air:
        mean = asked.ensemble.stay(asked.states[first], 0, days, first).mean
        wet = np.median(mean, axis=1)
        for then in range(first + 1, len(kinds)):
            for day in range(stride, days - 7, stride):
                if then in airy or wet[day] <= 25.0:
                    found.append(((first, then), (day,)))
    return found


@lru_cache(maxsize=3)
def air_of(names: tuple[str, ...]) -> StorageAir:
    """The air at some places of the demonstration, the same for every stack."""
    return storage_air(demonstration(), [as_setting(name) for name in names])


def question_of(
    air: StorageAir, board: Board, stacked: str, need: int, target: Target
) -> Question:
    """The planner's own question, put by hand: every place may be the first."""
    places = air.places
    begun = np.datetime64(stacked)
    stacks = {
        k: follow(
            air, Stack(board, (Leg(k, begun),)), 0, today=begun, draws_a_year=MEMBERS
        )
        for k in range(len(places))
    }
    return ask(stacks, range(len(places)), need, target)


@cache
def setup(case: Any) -> tuple[planner.Plan, Question, int]:
    species, thickness, stacked, need, target, names = case
    places = [as_setting(name) for name in names]
    weather = demonstration()
    found = planner.plan(
        *(weather, species, thickness),
        **{"stacked": stacked, "need": need, "target": target, "have": places},
        members=MEMBERS,
        known_air=air_of(names),
    )
    days = int((np.datetime64(need) - np.datetime64(stacked)).astype(int))
    board = Board(species, thickness)
    return found, question_of(air_of(names), board, stacked, days, target), days


def no_rule_beats(case: Any, stride: int) -> None:
    found, runs, days = setup(case)
    target = case[4]
    best = max(
        chance_of(runs, *rule, days, target) for rule in rules(runs, days, stride)
    )
    # 3 in 100 buy no further move, open stack or earlier move; as 24 runs differ by
    # 4 in 100, that means: no rule is surer at all.
    assert 1.0 / runs.runs > TIE
    assert found.probability_by_need >= best
    # What it says of its own route is true of it.
    order = [place.name for place in runs.air.places]
    route = tuple(order.index(leg.setting) for leg in found.route)
    moves = tuple((leg.start - found.stacked).days for leg in found.route[1:])
    assert chance_of(runs, route, moves, days, target) == found.probability_by_need


@pytest.mark.parametrize("case", CASES)
def test_no_simple_rule_beats_the_plan(case: Any) -> None:
    no_rule_beats(case, 56)


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES + MORE)
def test_no_rule_of_four_weeks_beats_the_plan(case: Any) -> None:
    no_rule_beats(case, 28)


def test_the_deadline_is_the_last_day_that_is_sure_enough() -> None:
    found, runs, days = setup(CASES[1])
    route = tuple(THREE.index(leg.setting) for leg in found.route)
    assert len(route) == 2
    assert found.bring_in_by is not None
    assert found.bring_in_even is not None
    by = (found.bring_in_by - found.stacked).days
    even = (found.bring_in_even - found.stacked).days

    def chance(day: int) -> float:
        return chance_of(runs, route, (day,), days, FURNITURE)

    assert chance(by) >= 0.9
    assert all(chance(by + k) < 0.9 for k in (1, 5, 11, 20))
    assert chance(even) >= 0.5 > chance(even + 1)
    # And the whole curve is what following each day by itself gives.
    moved = (found.curve_days - np.datetime64(CASES[1][2])).astype(int)
    for k in range(3, moved.size, 23):
        assert found.curve[k] == chance(int(moved[k]))


def test_the_earliest_day_can_be_had_and_the_weeks_before_cannot() -> None:
    found, runs, days = setup(CASES[0])
    first = found.earliest
    assert found.probability_by_need < 0.9
    assert first is not None
    assert first.move is not None
    route = tuple(THREE.index(leg.setting) for leg in first.route)
    ready, move = ((day - found.stacked).days for day in (first.ready, first.move))
    assert ready > days
    assert chance_of(runs, route, (move,), ready, FURNITURE) >= 0.9
    # No stay and no single move at all makes it 90 % sure three weeks earlier.
    sooner = ready - 21
    if sooner > days:
        several = rules(runs, sooner, 28)
        assert max(chance_of(runs, *rule, sooner, FURNITURE) for rule in several) < 0.9


def test_a_move_that_gains_nothing_is_not_made() -> None:
    # A target above what the shed holds all year: every route does, so none is made.
    found = planner.plan(
        demonstration(),
        "yellow-poplar",
        stacked="2026-04-01",
        need="2027-09-01",
        target=target_of_number(19.0),
        have=[as_setting(name) for name in THREE],
        members=MEMBERS,
        known_air=air_of(THREE),
    )
    assert [leg.setting for leg in found.route] == ["shed"]
    assert found.probability_by_need == 1.0
    assert found.simpler == {}


def test_rain_that_nobody_told_of_does_not_recommend_the_open() -> None:
    dry_file = demonstration().drop_vars("precipitation")
    three = [as_setting(name) for name in THREE]
    words = {"stacked": "2026-04-01", "need": "2027-02-15", "target": FURNITURE,
             "known_air": storage_air(dry_file, three)}  # fmt: skip
    found = planner.plan(dry_file, have=three, members=MEMBERS, **words)
    assert found.route[0].setting == "shed"
    assert found.drawbacks["outdoor"] is Drawback.RAIN_UNKNOWN
    # Dry enough for the house already: then that is the shelter.
    two = [as_setting(name) for name in ("outdoor", "indoor")]
    found = planner.plan(dry_file, have=two, members=MEMBERS, from_mc=18.0, **words)
    assert found.route[0].setting == "indoor"
    # Nothing else takes it: it may lie there, and the plan says what that is worth.
    found = planner.plan(dry_file, have=two, members=MEMBERS, **words)
    assert found.route[0].setting == "outdoor"
    assert found.drawbacks["outdoor"] is Drawback.RAIN_UNKNOWN


def test_a_deck_is_kept_out_of_the_heated_house() -> None:
    """Wood at 8 % laid outdoors swells and buckles (common practice, no source)."""
    deck = target_for_use("decking")
    names = ("stack-roof", "house")
    words = {"stacked": "2026-04-01", "target": deck, "members": MEMBERS,
             "known_air": air_of(names)}  # fmt: skip
    have = [as_setting(name) for name in names]
    found = planner.plan(
        demonstration(), "yellow-poplar", need="2027-04-01", have=have, **words
    )
    assert [leg.kind for leg in found.route] == ["stack-roof"]
    assert found.probability_by_need > 0.9
    # Nothing else is at hand: by then it is far below 12 %, and that is not ready.
    dry = planner.plan(
        demonstration(), "yellow-poplar", need="2027-04-01", have=have[1:],
        from_mc=18.0, **words,
    )  # fmt: skip
    assert dry.moisture_by_need < 12.0
    assert dry.probability_by_need < 0.1


def test_green_oak_begins_in_the_open_air_not_in_a_loft() -> None:
    """Under a roof to about 25 %, then the loft (common practice, no source)."""
    names = ("outdoor=shed", "loft", "house-cooled")
    have = [as_setting(n) for n in names]
    words = {"need": "2028-03-01", "target": FURNITURE, "have": have,
             "known_air": air_of(names)}  # fmt: skip
    oak = planner.plan(
        demonstration(), "red oak", stacked="2027-06-15", members=MEMBERS, **words
    )
    assert oak.route[0].kind == "shed"
    # Nowhere else to go: it is said what that does.
    two = {**words, "have": have[1:], "members": MEMBERS}
    oak = planner.plan(demonstration(), "red oak", stacked="2027-06-15", **two)
    assert oak.route[0].kind == "loft"
    assert any("Green northern red oak straight into" in r for r in plan_risks(oak))


@pytest.mark.parametrize(
    ("stacked", "north"), [("2026-06-15", True), ("2026-12-15", False)]
)
def test_warm_months_are_those_of_the_half_of_the_world(
    stacked: str, north: bool
) -> None:
    need = str(np.datetime64(stacked) + np.timedelta64(400, "D"))
    found = planner.plan(
        demonstration(), stacked=stacked, need=need, target=target_of_number(18.0),
        have=["shed"], members=1,
    )  # fmt: skip
    warm = "Green wood stacked in warm months"
    assert any(warm in risk for risk in plan_risks(found, north))
    assert not any(warm in risk for risk in plan_risks(found, not north))


def test_only_a_closed_place_takes_no_green_wood() -> None:
    with pytest.raises(ValueError, match="none of the places at hand takes green wood"):
        planner.plan(
            demonstration(),
            stacked="2026-04-01",
            need="2027-04-01",
            target=target_of_number(9.0),
            have=[Setting("indoor", "house")],
        )


def test_wet_wood_is_not_carried_into_a_closed_place() -> None:
    # Thick oak is far above 25 % all the first summer (common practice, no source).
    found, runs, _ = setup(CASES[2])
    for leg in found.route[:-1]:
        assert leg.moisture_at_end is not None
        assert leg.moisture_at_end <= 25.0
    moved = found.curve_days[0] - np.datetime64(found.stacked)
    number = THREE.index(found.route[-2].setting)
    stay = runs.ensemble.stay(runs.states[number], 0, int(moved.astype(int)), number)
    assert np.median(stay.mean[-1]) <= 25.0


def test_targets() -> None:
    # Furniture 7-9, never above 10 (common practice); flooring 6-8-10 in most of the
    # US (Wood Handbook Table 13-2, recalled); an old piece's own reading.
    assert (target_for_use("furniture").low, target_for_use("furniture").high) == (7, 9)
    assert target_for_use("flooring", "us").high == 10
    assert target_for_use("furniture", "us-dry-southwest").high == 9
    assert target_of_reading(8.5).high == 9.5


def test_a_region_that_is_offered_is_not_refused() -> None:
    # The table has no instruments for Europe, but flooring (EN 13226: 7 to 11 %).
    general = target_for_use("instruments", "europe")
    assert (general.low, general.high) == (6, 8)
    assert "europe" in target_note(general, "europe")
    own = target_for_use("flooring", "europe")
    assert (own.low, own.high) == (7, 11)
    assert target_note(own, "europe") == ""
    with pytest.raises(ValueError, match="region 'atlantis' is not listed"):
        target_for_use("furniture", "atlantis")


def test_known_weather_is_the_same_in_every_run_and_no_move_lies_in_the_past() -> None:
    """The demonstration's record ends with 2018: a stack of that June is half known."""
    words = {"stacked": "2018-06-01", "need": "2020-02-01", "target": FURNITURE}
    have = [as_setting(name) for name in ("shed", "indoor")]
    weather = demonstration()
    found = planner.plan(weather, have=have, members=MEMBERS, **words)
    assert found.known_to is not None
    assert found.known_to.isoformat() == "2019-01-01"  # its clock is ahead of UTC
    assert all(leg.start >= found.known_to for leg in found.route[1:])
    assert found.curve_days[0] >= np.datetime64(found.known_to)
    # The runs differ in their draws only, until the record ends: with one draw, not.
    air = storage_air(weather, have, draws=1)
    begun = np.datetime64("2018-06-01")
    actual = air.known_days(begun, None)
    alike = Members(
        *(np.full(12, value) for value in (0.0, 1.0, 0.0)),
        np.zeros(12, int),
        np.zeros(12),
    )
    runs = follow(air, Stack(Board(), (Leg(0, begun),), 12.0), actual, members=alike)
    # But for the last digit of a float, which vectors of a compiler may round apart.
    assert np.ptp(runs.mean[-1]) < 1e-12
    # Said otherwise, the weather of every year counts from the stacking on.
    free = planner.plan(
        weather, have=have, members=MEMBERS, today="2018-06-01", **words
    )
    assert free.known_to is None


def test_nothing_is_moved_before_today() -> None:
    words = {"stacked": "2026-04-01", "need": "2027-02-01", "target": FURNITURE}
    have = [as_setting(name) for name in ("shed", "indoor")]
    found = planner.plan(
        *(demonstration(), "yellow-poplar"),
        **words, have=have, members=MEMBERS, today="2026-11-20",
    )  # fmt: skip
    assert found.route[1].start >= np.datetime64("2026-11-20").item()
    assert str(found.curve_days[0]) == "2026-11-20"
    with pytest.raises(ValueError, match="too late to plan"):
        planner.plan(demonstration(), have=have, today="2027-02-01", **words)


def test_the_weather_forecast_of_the_coming_days_is_used_and_fades() -> None:
    """Sixteen days of fog follow the record: wood in the shed cannot dry in them."""
    weather = demonstration().copy(deep=True)
    hours = 16 * 24
    weather.attrs["forecast_from"] = str(weather["time"].to_numpy()[-hours])
    fog = weather["relative_humidity"].copy()
    fog[-hours:] = 99.0
    foggy = weather.assign(relative_humidity=fog)
    day = np.datetime64("2018-12-10")

    def moisture(series: Any) -> Any:
        """One board under the forecast and then every year, from the record's end."""
        air = storage_air(series, [as_setting("shed")], draws=1)
        actual = air.known_days(day, None)
        alike = Members(
            *(np.full(12, value) for value in (0.0, 1.0, 0.0)),
            np.zeros(12, int),
            np.zeros(12),
        )
        stack = Stack(Board(), (Leg(0, day),), 12.0)
        return follow(air, stack, actual + 60, members=alike).mean[actual:]

    damp = moisture(foggy)
    # Six days the forecast stands alone; later every year has its own weather again.
    assert np.ptp(damp[6]) == 0.0
    assert np.ptp(damp[60]) > 0.3
    # 99 % means some 25 % at rest (Wood Handbook table 4-2): it takes water up.
    assert (damp[6] > damp[0] + 0.5).all()
    assert (moisture(weather)[6] < damp[6] - 0.5).all()


def test_recent_years_are_told_apart_when_they_differ() -> None:
    """The last six years made damper: by them alone the house is no place to finish."""
    words = {"stacked": "2026-04-01", "need": "2027-12-20", "target": FURNITURE}
    have = [as_setting(name) for name in ("shed", "indoor")]
    weather = demonstration()
    late = weather["time"].dt.year.to_numpy() >= 2013
    air = weather["relative_humidity"]
    damper = weather.assign(relative_humidity=air.where(~late, np.minimum(air + 8, 99)))
    found = planner.plan(damper, have=have, members=MEMBERS, **words)
    assert found.recent is not None
    assert found.recent.years == (2013, 2014, 2015, 2016, 2017, 2018)
    assert found.recent.change > 0.3
    assert found.recent.chance < found.probability_by_need


def test_no_way_is_followed_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ways that differ in their first day alone become one when it is made at once."""
    asked: list[list[Route]] = []
    follow_them = solver.evaluate

    def counting(question: Question, routes: Any) -> list[Route]:
        asked.append(list(routes))
        return follow_them(question, routes)

    monkeypatch.setattr(solver, "evaluate", counting)
    wood, _, stacked, need, target, have = CASES[0]
    words = {"stacked": stacked, "need": need, "target": target, "have": have}
    planner.plan(demonstration(), wood, members=1, known_air=air_of(have), **words)
    assert any(len(routes) > 1 for routes in asked)
    assert all(len(routes) == len(set(routes)) for routes in asked)
