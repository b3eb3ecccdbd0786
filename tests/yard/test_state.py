"""What the yard says of its stacks, against practice and against itself.

Outside references: practice numbers of people who air-dry (common practice, no
source), stated beside each check.
"""

import datetime as dt

import numpy as np
import pytest

from emcforecast.forecast.plan.success import is_ready
from emcforecast.forecast.targets import target_for_use
from emcforecast.report.doubts import doubt_words
from emcforecast.report.yard import answer, yard_text
from emcforecast.report.yard_actions import action_words, effect_words
from emcforecast.report.yard_json import entries_of, yard_rows
from emcforecast.report.yard_readings import pair_words
from emcforecast.yard.actions import Action, Reason
from emcforecast.yard.file import read_yard
from emcforecast.yard.log import append
from emcforecast.yard.outlook import look_ahead
from emcforecast.yard.result import YardState
from emcforecast.yard.state import _storage_air, places_at_hand, yard_state

pytestmark = pytest.mark.usefixtures("worked_out_once")
TODAY = dt.date(2026, 10, 15)


@pytest.fixture(scope="module")
def state(short_weather, yard_text_of_tests, tmp_path_factory) -> YardState:
    path = tmp_path_factory.mktemp("yard") / "yard.toml"
    path.write_text(yard_text_of_tests)
    return yard_state(read_yard(path), short_weather, TODAY)


def days_of(day: np.datetime64, since: str) -> int:
    return int((day - np.datetime64(since)).astype(int))


def of(state: YardState, name: str):
    return next(one for one in state.stacks if one.stack.name == name)


def test_a_fast_hardwood_ten_months_in_a_loft_is_at_10_to_13(state):
    # "A 25 mm fast hardwood after ten months, December to October, in a ventilated
    # loft is at 10-13.5 %" (common practice, no source).
    assert 10.0 <= of(state, "ash").mean.p50 <= 13.5


def test_poplar_is_below_20_within_the_published_days(state):
    # Yellow-poplar, 1 in, green to 20 %: 40 to 150 days (Wood Handbook ch. 13,
    # approximate air-drying times; from memory).
    reach = next(r for r in of(state, "poplar").reaches if r.mc == 20.0)
    assert reach.p50 is not None
    assert 40 <= days_of(reach.p50, "2026-05-02") <= 150
    assert reach.p10 <= reach.p50 <= reach.p90


def test_an_8_4_oak_of_april_is_not_below_20_by_october(state):
    # 8/4 white oak stacked on 1 April in a humid temperate valley takes at least ten
    # months to 20 %, the core behind (common practice, no source).
    oak = of(state, "oak")
    assert oak.mean.p50 > 20.0
    assert oak.core.p50 > oak.shell.p50 + 3.0
    reach = next(r for r in oak.reaches if r.mc == 20.0)
    assert days_of(reach.p50, "2026-04-01") >= 300


def test_a_heated_room_makes_furniture_and_a_loft_does_not(state):
    # Only a heated house reaches furniture moisture in a humid temperate climate.
    ash = of(state, "ash")
    assert ash.advice.stay_chance < 0.1
    move = ash.advice.bring_in
    assert move is not None
    assert move.setting == "indoor"
    assert TODAY <= move.day < dt.date(2027, 4, 1)
    assert any(action.kind == "bring-in" for action in ash.actions)


def test_a_stack_not_yet_made_and_one_without_a_use_ask_for_little(state):
    assert of(state, "later").next.kind == "stack"
    assert of(state, "later").next.day == dt.date(2027, 1, 10)
    poplar = of(state, "poplar").advice.actions[-1]
    assert poplar.kind == "describe"
    one = of(state, "poplar")
    assert "say what it is for" in action_words(poplar, one, state.yard, TODAY)


def test_the_most_urgent_stands_first(state):
    days = [one.next.day for one in state.stacks]
    assert days == sorted(days)
    assert state.stacks[-1].stack.name == "later"


def test_ranges_are_ranges(state):
    for one in state.stacks:
        for value in (one.mean, one.shell, one.core):
            assert value.p10 <= value.p50 <= value.p90


def test_the_bring_in_date_holds_when_the_move_is_made(state, short_weather):
    """The date found by branching, tried through a yard file that has the move."""
    move = of(state, "ash").advice.bring_in
    text = state.yard.path.read_text().replace(
        'setting = "loft"\nuse',
        f'setting = "loft"\nmoved = [{{date = {move.day}, setting = "indoor"}}]\nuse',
    )
    path = state.yard.path.with_name("moved.toml")
    path.write_text(text)
    yard = read_yard(path)
    stack = yard.stack("ash")
    bank, number = _storage_air(
        yard, short_weather, places_at_hand(yard), [stack], lambda share, what: None
    )
    seen = look_ahead(stack, bank, number, TODAY)
    target = target_for_use("furniture")
    need = seen.now + (stack.need - TODAY).days
    w = seen.whole
    ready = is_ready(w.mean[need], w.shell[need], w.core[need], target)
    # The same runs by another way: every hour of the same weather.
    assert float(w.weight @ ready) == move.chance


def test_the_year_of_the_stack_does_not_matter_only_its_date(state, short_weather):
    path = state.yard.path.with_name("earlier.toml")
    path.write_text(
        state.yard.path.read_text()
        .replace("2025-12-15", "2021-12-15")
        .replace("2027-04-01", "2023-04-01")
    )
    earlier = yard_state(
        read_yard(path), short_weather, dt.date(2022, 10, 15), only=["ash"]
    )
    assert of(earlier, "ash").mean.p50 == pytest.approx(
        of(state, "ash").mean.p50, abs=0.05
    )


def test_no_weather_after_today_is_taken_for_known(state, short_weather):
    """The record goes on to 2018; a yard of 2016 may know it only up to its today."""
    path = state.yard.path.with_name("known.toml")
    path.write_text(state.yard.path.read_text().replace("2026-04-01", "2016-04-01"))
    stack = read_yard(path).stack("oak")
    bank, number = _storage_air(
        state.yard, short_weather, (), [stack], lambda share, what: None
    )
    seen = look_ahead(stack, bank, number, dt.date(2016, 10, 15))
    assert seen.base.known_to == np.datetime64("2016-10-15")
    # One past for every weather year, and as many futures.
    runs = seen.whole.ensemble
    first, then = (runs.weather.row_on(day, runs.air.years.hours) for day in (0, 250))
    assert np.ptp(first) == 0
    assert np.unique(then).size == 4


def test_readings_move_the_forecast_the_way_they_point(state, short_weather):
    yard = state.yard
    seen = {}
    # Sample board A is 2.75 lb oven dry: 33 % and 20 %.
    for name, value in (("wetter", "3.66 lb"), ("drier", "3.30 lb")):
        yard.readings.unlink(missing_ok=True)
        append(
            yard.readings,
            {
                "time": "2026-10-10",
                "stack": "oak",
                "board": "A",
                "kind": "weight",
                "value": value,
            },
        )
        seen[name] = of(yard_state(yard, short_weather, TODAY, only=["oak"]), "oak")
    yard.readings.unlink()
    plain = of(state, "oak")
    assert seen["drier"].mean.p50 < plain.mean.p50 < seen["wetter"].mean.p50
    for one in seen.values():
        # A reading can only narrow what is known.
        assert one.mean.p90 - one.mean.p10 < plain.mean.p90 - plain.mean.p10
    assert seen["wetter"].effect.above > 0.0 > seen["drier"].effect.above
    assert seen["wetter"].effect.moved_days > 0 > seen["drier"].effect.moved_days
    assert "above the forecast; the forecast moved" in effect_words(seen["wetter"])
    assert effect_words(seen["drier"]).endswith("earlier")


def test_a_reading_the_weather_leaves_no_room_for_is_questioned(state, short_weather):
    yard = state.yard
    append(
        yard.readings,
        {"time": "2026-10-10", "stack": "ash", "kind": "pin", "value": "over"},
    )
    one = of(yard_state(yard, short_weather, TODAY, only=["ash"]), "ash")
    yard.readings.unlink()
    assert not one.effect.readings[0].used
    assert one.mean == of(state, "ash").mean
    # The doubt hides nothing: what is to be done stands first.
    assert one.next == of(state, "ash").next
    assert one.effect.questions[0].kind == "reading"
    assert one.actions[-1] == one.effect.questions[0]
    assert "is not used" in action_words(one.effect.questions[0], one, yard, TODAY)


def test_a_wrong_reading_does_not_throw_out_a_right_one(state, short_weather):
    """12 on green wood, and the next day over the scale: the second is believed."""
    yard = state.yard
    for time, value in (("2026-05-20", "8"), ("2026-05-21", "over")):
        fields = {"time": time, "stack": "oak", "kind": "pin", "value": value}
        append(yard.readings, fields)
    one = of(yard_state(yard, short_weather, TODAY, only=["oak"]), "oak")
    yard.readings.unlink()
    assert [r.used for r in one.effect.readings] == [False, True]
    (doubt,) = one.effect.readings[0].doubts
    assert "room for" in doubt_words(doubt, one.effect.readings[0], "si")


def test_a_shell_and_a_core_reading_are_judged_together(state, short_weather):
    # 8/4 with a shell of 10 and a core of 16 is not ready (common practice).
    yard = state.yard
    for part, value in (("shell", "10"), ("core", "16")):
        append(
            yard.readings,
            {
                "time": "2026-10-10",
                "stack": "ash",
                "board": "2",
                "kind": "pin",
                "depth": part,
                "value": value,
                "wood_temperature": "70 F",
            },
        )
    one = of(yard_state(yard, short_weather, TODAY, only=["ash"]), "ash")
    yard.readings.unlink()
    assert pair_words(one).startswith("not ready: core 16")


def test_the_text_fits_80_columns_and_answers_first(state):
    text = yard_text(state, ["Based on: made weather."])
    assert max(len(line) for line in text.splitlines()) <= 80
    first = text.split("\n\n")[0].replace("\n", " ")
    assert first == answer(state)
    assert first.startswith("Test yard, 15 October: ")
    for one in state.stacks:
        assert one.stack.name in text
    assert [row["stack"] for row in yard_rows(state)] == [
        one.stack.name for one in state.stacks
    ]


def test_every_dated_step_is_in_the_calendar_once(state):
    entries = entries_of(state)
    keys = [(entry.stack, entry.action) for entry in entries]
    assert len(set(keys)) == len(keys)
    wanted = {
        (one.stack.name, action.kind)
        for one in state.stacks
        for action in one.actions
        if action.in_calendar
    }
    assert wanted <= set(keys)
    assert not Action("risk", TODAY, Reason.RISK).in_calendar


def test_decking_waits_under_its_roof_and_is_not_sent_into_the_house(
    short_weather, tmp_path
):
    """Outdoor wood is dried outdoors, to 12-19 % (common practice, no source)."""
    path = tmp_path / "deck.toml"
    path.write_text(
        'have = ["shed", "indoor"]\n'
        "[[stack]]\n"
        'name = "deck"\nspecies = "European larch"\nthickness = "40mm"\n'
        'sawn = 2026-06-01\nsetting = "shed"\nuse = "decking"\nneed = NEED\n'
    )
    text = path.read_text()
    chances = []
    for need in ("2027-04-01", "2027-05-01"):
        path.write_text(text.replace("NEED", need))
        yard = read_yard(path)
        one = of(yard_state(yard, short_weather, TODAY), "deck")
        chances.append(one.advice.stay_chance)
        if one.advice.stay_chance > 0.5:
            words = (action_words(a, one, yard, TODAY) for a in one.actions)
            told = " ".join(words)
            assert "heated house" not in told
            assert "too late" not in told
    assert any(0.5 < chance < 0.9 for chance in chances)


def test_a_need_beyond_the_look_gets_no_date(short_weather, tmp_path):
    path = tmp_path / "far.toml"
    path.write_text(
        "[[stack]]\n"
        'name = "far"\nspecies = "white oak"\nthickness = "27mm"\n'
        'sawn = 2026-06-01\nsetting = "shed"\nuse = "furniture"\nneed = 2033-11-01\n'
    )
    yard = read_yard(path)
    one = of(yard_state(yard, short_weather, TODAY), "far")
    assert [action.kind for action in one.actions] == ["wait"]
    words = action_words(one.actions[0], one, yard, TODAY)
    assert "4 years looked at" in words
    assert not any(action.in_calendar for action in one.actions)


def looked(short_weather, tmp_path, **stack: str):
    path = tmp_path / "yard.toml"
    lines = [f"{key} = {value}" for key, value in stack.items()]
    head = 'weather = "demo"\nhave = ["shed", "indoor"]\n[[stack]]\nname = "one"\n'
    path.write_text(head + "\n".join(lines))
    return yard_state(read_yard(path), short_weather, TODAY).stacks[0]


def test_a_thick_stack_with_a_planned_move_is_followed_until_it_is_there(
    short_weather, tmp_path
):
    """12/4 oak needs some years (a year an inch at least: common practice, no source);
    400 days after its move indoors it is still on its way."""
    one = looked(
        short_weather,
        tmp_path,
        species='"white oak"',
        thickness='"12/4"',
        sawn="2026-10-01",
        setting='"shed"',
        use='"furniture"',
        moved='[{ date = 2026-12-01, setting = "indoor" }]',
    )
    last = min(one.reaches, key=lambda reach: reach.mc)
    assert last.p50 is not None
    assert days_of(last.p50, "2026-12-01") > 400


def test_a_move_planned_years_ahead_is_followed(short_weather, tmp_path):
    one = looked(
        short_weather,
        tmp_path,
        species='"ash"',
        thickness='"4/4"',
        sawn="2026-10-01",
        setting='"shed"',
        use='"furniture"',
        moved='[{ date = 2031-06-01, setting = "indoor" }]',
    )
    last = min(one.reaches, key=lambda reach: reach.mc)
    assert last.p50 is not None
    assert last.p50 > np.datetime64("2031-06-01")
