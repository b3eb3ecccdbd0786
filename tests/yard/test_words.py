"""What `yard` says and draws: one date for one thing, years where they are due."""

import re
from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.dates import date2num

from emcforecast.charts.style import DARK
from emcforecast.charts.yard import TOP, yard_figure
from emcforecast.cli.group import cli
from emcforecast.dates import spoken, spoken_span
from emcforecast.forecast.plan.result import Dates
from emcforecast.forecast.recent_years import recent_of
from emcforecast.forecast.targets import target_for_use
from emcforecast.report.yard import yard_text
from emcforecast.report.yard_actions import action_words, next_words
from emcforecast.report.yard_json import yard_result
from emcforecast.report.yard_reasons import action_why
from emcforecast.yard.actions import Action, Reason
from emcforecast.yard.file import read_yard
from emcforecast.yard.log import append
from emcforecast.yard.reading import reading_from
from emcforecast.yard.state import yard_state

pytestmark = pytest.mark.usefixtures("worked_out_once")
TODAY = date(2026, 11, 25)
YARD = """\
name = "Words"
units = "us"
[weather]
file = "demo"
[[stack]]
name = "slab"            # furniture in the house, the core still coming down
species = "black cherry"
thickness = "2 1/2 in"
sawn = 2024-03-02
setting = "shed"
moved = [{ date = 2025-09-20, setting = "indoor" }]
use = "furniture"
need = 2027-02-01
[[stack]]
name = "fresh"
species = "white oak"
thickness = "4/4"
sawn = 2026-10-01
setting = "shed"
use = "furniture"
[[stack]]
name = "rail"
species = "white oak"
thickness = "8/4"
sawn = 2026-04-01
setting = "shed"
target = 15
"""


@pytest.fixture(scope="module")
def state(tmp_path_factory):
    path = tmp_path_factory.mktemp("yard") / "yard.toml"
    path.write_text(YARD)
    yard = read_yard(path)
    fields = {
        "time": "2026-11-10", "stack": "rail", "kind": "pin", "value": "24",
        "depth": "1/2 in", "wood_temperature": "60 F",
    }  # fmt: skip
    append(yard.readings, fields)
    from emcforecast.weather.read import demonstration

    return yard_state(read_yard(path), demonstration(), TODAY, paths=True)


def one(state, name):
    return next(s for s in state.stacks if s.stack.name == name)


def test_a_stack_has_one_date_for_one_thing(state):
    """Ready is ready: the next step and the table say the same day."""
    slab = one(state, "slab")
    middle = slab.advice.ready.p50
    assert middle is not None
    words = spoken(middle, TODAY)
    text = " ".join(yard_text(state, []).split())
    table = text.partition("If each stays where it is")[2]
    assert f"ready for furniture at 9 %: {words}" in table
    assert words in action_words(slab.next, slab, state.yard, TODAY)
    # The mean alone is there earlier: that is not said to be ready.
    reach = next(r for r in slab.reaches if r.mc == 9.0)
    assert reach.p10 is not None
    assert reach.p10 <= np.datetime64(slab.advice.ready.p10)


def test_a_stack_has_a_line_with_average_shell_and_core(state):
    text = " ".join(yard_text(state, []).split())
    assert "stack MC, % shell core do next" in text
    for stack in state.stacks:
        numbers = [f"{r.p50:.0f}" for r in (stack.mean, stack.shell, stack.core)]
        assert f"{stack.stack.name} {' '.join(numbers)} " in text


def test_what_is_to_do_this_week_is_marked_and_stands_first(state):
    lines = yard_text(state, []).splitlines()
    marked = {line.split()[1] for line in lines if line.startswith("NOW ")}
    week = TODAY + timedelta(days=7)
    assert marked == {
        stack.stack.name
        for stack in state.stacks
        if stack.next.day <= week and not stack.next.unhurried
    }


def test_readings_that_are_used_stand_behind_their_option(state):
    short, whole = yard_text(state, []), yard_text(state, [], readings=True)
    assert "your reading was" not in short
    assert "your reading was" in whole
    assert "--readings" in short
    assert "--readings" not in whole


def test_every_date_beyond_the_year_has_its_year(state):
    text = " ".join(yard_text(state, []).split())
    for stack in state.stacks:
        for reach in stack.reaches:
            day = None if reach.p50 is None else date.fromisoformat(str(reach.p50))
            if day is not None and day.year != TODAY.year:
                assert spoken(day, TODAY).endswith(str(day.year))
    assert "more stack" not in text
    assert "20 % " in text


@pytest.mark.parametrize("columns", [40, 60, 80])
def test_every_line_fits_the_screen_and_no_date_is_lost(state, columns, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    wide = yard_text(state, ["Based on: made weather."])
    monkeypatch.setenv("COLUMNS", str(columns))
    text = yard_text(state, ["Based on: made weather."])
    assert max(map(len, text.splitlines())) <= columns
    years = re.compile(r"\d{1,2} [A-Z][a-z]+ \d{4}")
    assert set(years.findall(" ".join(text.split()))) == set(
        years.findall(" ".join(wide.split()))
    )


def test_spans_say_a_shared_year_once():
    assert spoken_span(date(2027, 4, 15), date(2027, 6, 2), TODAY) == (
        "15 April to 2 June 2027"
    )
    assert spoken_span(date(2026, 12, 15), date(2027, 3, 2), TODAY) == (
        "15 December 2026 to 2 March 2027"
    )
    assert spoken_span(date(2026, 12, 1), date(2026, 12, 9), TODAY) == (
        "1 December to 9 December"
    )


JANUARY = date(2027, 1, 4)


@pytest.mark.parametrize(
    ("action", "words"),
    [
        (
            Action("move", TODAY, Reason.MOVE_ON_THE_WAY, place="shed"),
            "move to the open-sided shed now",
        ),
        (
            Action("reading", JANUARY, Reason.MAY_BE_READY),
            "4 January 2027: read the core, mid-thickness, on two boards: it may be "
            "ready",
        ),
        (
            Action("bring-in", JANUARY, Reason.LAST_MOVE, place="indoor", by=JANUARY),
            "bring into the heated house by 4 January 2027",
        ),
        (
            Action("ready", TODAY, Reason.READY_NOW),
            "ready for furniture; dead-stack it and wrap it",
        ),
        (
            Action(
                "describe", TODAY, Reason.USE_UNKNOWN, dates=Dates(None, TODAY, None)
            ),
            "air-dry, below 20 %; say what it is for (use or target in the yard file)",
        ),
    ],
)
def test_every_step_has_its_day(state, action, words):
    assert next_words(action, one(state, "slab"), state.yard, TODAY) == words


def test_recent_years_are_the_last_ten_or_the_last_half():
    """Of fifteen years and more the last ten, of eight and more the last half."""
    assert recent_of(tuple(range(2000, 2020))) == tuple(range(2010, 2020))
    assert recent_of(tuple(range(2010, 2018))) == (2014, 2015, 2016, 2017)
    assert recent_of((2015, 2016, 2017)) == ()


def test_recent_years_stand_beside_the_record_where_they_differ(state):
    for stack in state.stacks:
        if stack.recent is None:
            continue
        both = stack.recent.whole, stack.recent.recent
        assert abs(both[0].driest - both[1].driest) > 0.3
        assert set(both[1].years) < set(both[0].years)
        text = " ".join(yard_text(state, []).split())
        assert f"{both[1].driest:.1f} % in them, {both[0].driest:.1f} % in all" in text
    result = yard_result(state)["stacks"]
    assert [row["recent_years"] is None for row in result] == [
        stack.recent is None for stack in state.stacks
    ]


def test_a_warming_record_shows_both_answers(tmp_path):
    """Ten damp years, then five dry ones: made, so that recent years must differ."""
    from emcforecast.weather.series import make_series

    time = np.arange(np.datetime64("2006-01-01T00"), np.datetime64("2022-01-01T00"))
    k = np.arange(time.size)
    t = 10.0 - 10.0 * np.cos(2 * np.pi * k / 8766.0)
    rh = np.where(time < np.datetime64("2012-01-01"), 82.0, 70.0)
    weather = make_series(
        time, {"air_temperature": t, "relative_humidity": rh}, step="hour",
        kind="observed", source="made", utc_offset=0.0,
    )  # fmt: skip
    path = tmp_path / "yard.toml"
    path.write_text(YARD)
    found = one(yard_state(read_yard(path), weather, TODAY, only=["fresh"]), "fresh")
    assert found.recent is not None
    assert len(found.recent.recent.years) == 10
    assert found.recent.recent.driest < found.recent.whole.driest - 0.3


@pytest.mark.parametrize("narrow", [False, True])
def test_the_picture_holds_every_stack_band_target_and_next_step(state, narrow):
    figure = yard_figure(state, narrow=narrow, look=DARK, source="made weather")
    assert len(figure.axes) == len(state.stacks)
    for stack, axes in zip(state.stacks, figure.axes, strict=True):
        assert stack.stack.name in axes.get_title(loc="left")
        path = stack.path
        thick = max(axes.lines, key=lambda line: line.get_linewidth())
        np.testing.assert_allclose(thick.get_ydata(), path.middle)
        np.testing.assert_allclose(thick.get_xdata(), date2num(path.dates))
        bottom, top = axes.get_ylim()
        assert top <= TOP
        assert bottom < stack.target.high < top
    figure.canvas.draw()
    for axes in figure.axes:
        box = axes.title.get_window_extent()
        assert box.x1 <= figure.bbox.x1


def test_plot_from_the_command_line(tmp_path):
    path, picture = tmp_path / "yard.toml", tmp_path / "yard.svg"
    path.write_text(YARD)
    words = ["yard", str(path), "--today", str(TODAY), "--stack", "fresh"]
    done = CliRunner().invoke(cli, [*words, "--plot", str(picture), "--dark"])
    assert done.exit_code == 0, done.output
    first = picture.read_bytes()
    assert first.startswith(b"<?xml")
    assert CliRunner().invoke(cli, [*words, "--plot", str(picture), "--dark"])
    assert picture.read_bytes() == first, "the same input gives the same picture"


def test_an_uncovered_stack_is_not_advised_where_rain_is_unknown(tmp_path):
    """Common sense: a place whose rain nobody knows is no improvement."""
    from emcforecast.weather.read import demonstration

    weather = demonstration().drop_vars("precipitation")
    path = tmp_path / "yard.toml"
    path.write_text(YARD + '[setting.outdoor]\nkind = "stack"\n')
    state = yard_state(read_yard(path), weather, TODAY)
    words = [
        action_words(action, stack, state.yard, TODAY)
        for stack in state.stacks
        for action in stack.actions
    ]
    assert words
    assert not any("uncovered" in text for text in words)


def test_a_weight_is_told_as_it_was_read():
    row = {"time": "2026-04-01", "stack": "a", "kind": "weight", "value": "3.0 lb"}
    assert reading_from(row, "si").shown == "3.00 lb"
    assert reading_from(row | {"value": "1.4"}, "si").shown == "1.400 kg"
    assert reading_from(row | {"value": "3"}, "us").shown == "3.00 lb"


def test_damp_wood_in_the_open_is_moved_under_a_roof_now(tmp_path):
    """Practice: white wood is not left in the rain until the last day that serves."""
    from emcforecast.weather.read import demonstration

    path = tmp_path / "yard.toml"
    path.write_text(
        'units = "si"\nhave = ["shed", "indoor"]\n[weather]\nfile = "demo"\n'
        '[[stack]]\nname = "white"\nspecies = "sugar maple"\nthickness = "27mm"\n'
        'sawn = 2026-11-20\nsetting = "outdoor"\nuse = "furniture"\nneed = 2028-05-01\n'
    )
    state = yard_state(read_yard(path), demonstration(), TODAY)
    assert "move to the open-sided shed now" in [
        action_words(action, stack, state.yard, TODAY)
        for stack in state.stacks
        for action in stack.actions
    ]


def test_a_place_too_dry_is_not_called_too_damp() -> None:
    # 4.8 % where 7 to 9 is asked: it takes damper air, not drier.
    one = SimpleNamespace(target=target_for_use("furniture"))
    day = date(2026, 2, 1)
    settles = Action("late", day, Reason.NOWHERE, lowest_mc=4.8)
    dry = action_why(settles, one, day)  # type: ignore[arg-type]
    assert dry == (
        "here it gets to about 5 %, too dry for furniture (7 to 9 %); it takes a "
        "damper room"
    )
    damp = action_why(replace(settles, lowest_mc=12.0), one, day)  # type: ignore[arg-type]
    assert damp == "here it gets to about 12 %; it takes a drier room"
