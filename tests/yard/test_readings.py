"""Readings: from the log, corrected step by step, questioned when they cannot be right.

Outside references beside each check; the rules of questioning are common practice.
"""

import datetime as dt
import math

import numpy as np
import pytest

from emcforecast.errors import YardError
from emcforecast.report.doubts import doubt_words
from emcforecast.report.yard_readings import reading_steps
from emcforecast.wood.board import Board
from emcforecast.yard.corrected import correct
from emcforecast.yard.file import read_yard
from emcforecast.yard.log import append, read_log
from emcforecast.yard.model import Meter
from emcforecast.yard.questioned import fastest_share, judge
from emcforecast.yard.reading import fields_of, reading_from

TODAY = dt.date(2026, 6, 1)
YARD = """\
units = "us"
[[stack]]
name = "oak-1"
species = "white oak"
thickness = "8/4"
sawn = 2025-04-01
setting = "shed"
samples = [{ board = "A", weight = "4.46 lb", mc = 62.2 }]
[[stack]]
name = "poplar"
species = "yellow-poplar"
thickness = "4/4"
sawn = 2026-03-01
setting = "shed"
"""


@pytest.fixture
def yard(tmp_path):
    path = tmp_path / "yard.toml"
    path.write_text(YARD)
    return read_yard(path)


def row(**fields: str) -> dict[str, str]:
    return {
        "time": "2026-04-01",
        "stack": "oak-1",
        "kind": "pin",
        "value": "18",
    } | fields


def judged(yard, *rows):
    for fields in rows:
        append(yard.readings, fields)
    return judge(yard, read_log(yard.readings), TODAY, "us")


@pytest.mark.parametrize(
    ("text", "moment", "whole_day"),
    [
        ("2026-04-01", dt.datetime(2026, 4, 1), True),
        ("2026-04-01 08:15", dt.datetime(2026, 4, 1, 8, 15), False),
        ("2026-04-01T08:15:30", dt.datetime(2026, 4, 1, 8, 15, 30), False),
        ("2026-04-01T08:15+02:00", dt.datetime(2026, 4, 1, 8, 15), False),
        ("2026-04-01T08:15Z", dt.datetime(2026, 4, 1, 8, 15), False),
    ],
)
def test_times_of_iso_8601_are_read(text, moment, whole_day):
    reading = reading_from(row(time=text), "us")
    assert (reading.time, reading.whole_day) == (moment, whole_day)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"time": "4/1/2026"}, "year-month-day"),
        ({"time": "2026-02-30"}, "year-month-day"),
        ({"stack": ""}, "names no stack"),
        ({"kind": "pinn"}, "Did you mean 'pin'"),
        ({"value": "eighteen"}, "not a number"),
        ({"value": ""}, "not a number"),
        ({"kind": "weight", "value": "3 stone"}, "weight '3 stone'"),
        ({"wood_temperature": "warm"}, "wood_temperature"),
        ({"depth": "deep"}, "depth 'deep'"),
    ],
)
def test_a_cell_that_cannot_be_read_is_one_line(fields, words):
    with pytest.raises(YardError, match=words) as refusal:
        reading_from(row(**fields), "us")
    assert "\n" not in str(refusal.value)


def test_bare_numbers_are_in_the_yards_units_and_written_with_them():
    us = fields_of(
        row(kind="weight", value="4.14", wood_temperature="30", depth="0.25"), "us"
    )
    assert us["value"] == "4.14 lb"
    assert us["wood_temperature"] == "30 F"
    assert us["depth"] == "0.25 in"
    # The row means the same in a yard kept in SI units.
    reading = reading_from(us, "si")
    assert reading.value == pytest.approx(4.14 * 0.45359237)
    assert reading.wood_temperature == pytest.approx(-1.11, abs=0.01)
    assert reading.depth_mm == pytest.approx(6.35)
    assert fields_of(row(wood_temperature="-3,5"), "si")["wood_temperature"] == "-3.5 C"
    assert fields_of(row(depth="middle", value=">60"), "si") | {
        "depth": "core",
        "value": "over",
    } == fields_of(row(depth="middle", value=">60"), "si")


def test_cold_wood_is_corrected_by_the_handbooks_rule(yard):
    # Wood Handbook ch. 13: add 0.5 % MC per 10 °F below calibration; 12 % at 30 °F,
    # meter made for 70 °F, is 14 %.
    stack = yard.stack("oak-1")
    reading = reading_from(row(value="12", wood_temperature="30F"), "us")
    found = correct(reading, stack, None, Meter())
    assert found.mc == pytest.approx(14.0, abs=0.05)
    assert found.sd == 1.0
    assert any("add 2.0" in step for step in reading_steps(found))
    made_for_50 = correct(reading, stack, None, Meter(calibrated_at=10.0))
    assert made_for_50.mc == pytest.approx(13.0, abs=0.05)


def test_above_30_only_wet(yard):
    # Wood Handbook ch. 13: readings above 30 % are qualitative only.
    for hour, value in enumerate(("42", "over", ">60")):
        late = row(value=value, time=f"2026-04-01T0{hour}:00")
        (found,) = judged(yard, late).of(yard.stack("oak-1"))[-1:]
        assert found.mc is None
        assert found.wet
        assert found.used


def test_a_sample_board_is_weighed(yard):
    # Sample-board example: OD = 100 × 4.46 / 162.2 = 2.75 lb; 4.14 lb is 50.5 %.
    (found,) = judged(yard, row(kind="weight", board="A", value="4.14 lb")).readings
    assert found.mc == pytest.approx(50.5, abs=0.1)
    assert found.used


def test_an_oven_test_and_a_weight_of_one_day_make_a_sample_board(yard):
    # The same example, through the log: a section tested at 62.2 %.
    found = judged(
        yard,
        row(kind="oven", board="B", value="62.2"),
        row(kind="weight", board="B", value="4.46"),
        row(kind="weight", board="B", value="4.14", time="2026-05-01"),
    ).readings
    assert [round(f.mc or 0.0, 1) for f in found] == [62.2, 62.2, 50.6]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"stack": "oak-2"}, "no stack 'oak-2'. Did you mean 'oak-1'"),
        ({"time": "2025-03-01"}, "before it was sawn"),
        ({"time": "2026-06-02"}, "is after today"),
        ({"value": "3"}, "outside what a pin meter can show"),
        ({"value": "180"}, "outside what a pin meter can show"),
        ({"value": "-4"}, "outside 0 to 200"),
        ({"kind": "pinless", "value": "2"}, "outside what a pinless meter can show"),
        ({"wood_temperature": "-60 F"}, "wood temperature"),
        ({"depth": "3 in"}, "pin depth"),
        ({"kind": "weight", "value": "4 lb"}, "no known oven-dry weight"),
        ({"kind": "weight", "value": "4 lb", "board": "C"}, "known boards: A"),
        ({"kind": "weight", "value": "2.5 lb", "board": "A"}, "below the board's"),
        ({"kind": "weight", "value": "12 lb", "board": "A"}, "can hold"),
        ({"kind": "oven", "value": "0"}, "above 0"),
        ({"kind": "oven", "value": "250"}, "can hold"),
    ],
)
def test_an_impossible_reading_is_questioned_kept_and_not_used(yard, fields, words):
    found = judged(yard, row(**fields))
    assert not found.unread
    (one,) = found.readings
    assert not one.used
    doubts = [doubt_words(doubt, one, "si") for doubt in one.doubts]
    assert any(words in doubt for doubt in doubts), doubts
    assert all("\n" not in doubt for doubt in doubts)


def test_contradictions_of_one_day(yard):
    def used(*rows: dict[str, str]) -> list[bool]:
        yard.readings.unlink(missing_ok=True)
        return [one.used for one in judged(yard, *rows).readings]

    assert used(row(value="18"), row(value="21")) == [True, True]
    assert used(row(value="14"), row(value="19")) == [False, False]
    assert used(row(value="14"), row(value="15"), row(value="21")) == [
        True,
        True,
        False,
    ]
    # An oven test settles it.
    assert used(row(kind="oven", value="20"), row(value="14")) == [True, False]
    # Another board, another depth or another day may well differ.
    assert used(row(value="14", board="1"), row(value="19", board="2")) == [True, True]
    assert used(row(value="12", depth="shell"), row(value="19", depth="core")) == [
        True,
        True,
    ]


def test_a_row_entered_twice_counts_once(yard):
    found = judged(yard, row(), row(), row(time="2026-04-01T09:00")).readings
    assert [one.used for one in found] == [True, False, True]
    assert "line 2" in doubt_words(found[1].doubts[0], found[1], "si")


def test_wood_that_changes_faster_than_it_can_is_questioned(yard):
    found = judged(
        yard,
        row(time="2026-04-01", value="13"),
        row(time="2026-04-04", value="24"),
        row(time="2026-04-20", value="14"),
        row(time="2026-04-23", value="7"),
    ).readings
    assert [one.used for one in found] == [True, False, True, False]
    assert "it rose from 13.0 % on 1 April to 24.0" in doubt_words(
        found[1].doubts[0], found[1], "si"
    )
    assert "it fell from 14.0 % on 20 April to 7.0" in doubt_words(
        found[3].doubts[0], found[3], "si"
    )


def test_a_normal_drying_summer_is_not_questioned(yard):
    rows = [
        row(stack="poplar", time="2026-03-02", value="over"),
        row(stack="poplar", time="2026-04-02", value="26"),
        row(stack="poplar", time="2026-04-16", value="19"),
        row(stack="poplar", time="2026-05-30", value="13"),
    ]
    assert all(one.used for one in judged(yard, *rows).readings)


@pytest.mark.parametrize(
    ("species", "thickness"), [("white oak", 54), ("ash, white", 27)]
)
def test_the_bound_on_a_change_is_cranks_plane_sheet(species, thickness):
    # Crank (1975) eq. 4.18, the full series for a sheet whose faces change at once,
    # summed here; the short-time form lies within 1 % of it up to E = 0.5 and above
    # it after.
    board = Board(species, thickness)
    days = np.linspace(0.05, 40.0, 60)
    bound = np.array([fastest_share(board, d) for d in days])
    odd = 2.0 * np.arange(400) + 1.0
    fourier = (bound * math.sqrt(math.pi) / 2.0) ** 2
    series = np.array(
        [
            1.0
            - np.sum(8.0 / (odd * np.pi) ** 2 * np.exp(-((odd * np.pi) ** 2) * f / 4))
            for f in fourier
        ]
    )
    early = bound < 0.5
    np.testing.assert_allclose(bound[early], series[early], rtol=0.01)
    assert np.all(bound[bound < 1.0] >= series[bound < 1.0] - 0.005)


def test_rows_that_cannot_be_read_are_named_not_dropped(yard):
    yard.readings.write_text(
        "time,stack,board,kind,depth,value,wood_temperature,species_setting,note\n"
        "2026-04-01,oak-1,,pin,,eighteen,,,\n"
        "2026-04-01,oak-1,,pin\n"
        "2026-04-01,oak-1,,pin,,18,,,\n"
    )
    found = judge(yard, read_log(yard.readings), TODAY, "us")
    assert len(found.readings) == 1
    assert sorted(text[:7] for text in found.unread) == ["line 2:", "line 3 "]


@pytest.mark.parametrize(
    ("warmth", "good"),
    [("70 C", False), ("55 C", False), ("40 C", True), ("70 F", True)],
)
def test_wood_as_hot_as_none_in_a_yard_is_questioned(yard, warmth, good):
    """70 °F without its unit, in a yard of °C, took 4.4 % off and nothing was said."""
    (found,) = judged(yard, row(wood_temperature=warmth)).readings
    assert found.used == good
    if not good:
        assert "check the unit" in doubt_words(found.doubts[0], found, "si")
