"""Readings against the published rule, its fuller form and printed examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast.errors import InputError
from emcforecast.report.meter import (
    correction_steps,
    pair_reason,
    pair_verdict,
    two_meters,
    verdict_words,
)
from emcforecast.wood.meter import (
    MeterSetting,
    Step,
    fully_corrected,
    gravity_corrected,
    interpret,
    temperature_corrected,
)
from emcforecast.wood.sample_board import (
    judge_pair,
    mean_of_pair,
    meters_agree,
    oven_dry_moisture,
    oven_dry_weight,
    weight_at_moisture,
    wet_basis,
)
from emcforecast.wood.species import find_species


def in_celsius(fahrenheit):
    return (fahrenheit - 32) / 1.8


def test_the_cold_morning():
    # The practice case: 12 % on wood at 30 °F, meter made for 70 °F: 14 %.
    cold = MeterSetting(wood_temperature=in_celsius(30), calibrated_at=in_celsius(70))
    answer = interpret(12.0, cold)
    assert verdict_words(answer) == "14 %"
    assert answer.corrected == pytest.approx(14.0, abs=0.02)
    steps = correction_steps(answer, "us")
    assert any("30 °F" in step and "add 2.0" in step for step in steps)


def test_the_full_rule_is_an_option():
    setting = MeterSetting(wood_temperature=0.0, rule="full")
    assert interpret(12.0, setting).corrected == pytest.approx(14.26, abs=0.01)


def test_species_coefficients_of_the_meter():
    setting = MeterSetting(wood_temperature=23.0, rule="full", slope=0.9, offset=1.0)
    plain = fully_corrected(12.0, 23.0)
    assert interpret(12.0, setting).corrected == pytest.approx((plain - 1.0) / 0.9)


@pytest.mark.parametrize("reading", [42.0, 30.5, 60.0, 199.0])
def test_wet_gives_no_number(reading):
    answer = interpret(reading)
    assert verdict_words(answer) == "wet, above 30, no number"
    assert answer.corrected is None
    assert not answer.valid


def test_cold_wood_can_be_wetter_than_its_reading():
    answer = interpret(29.0, MeterSetting(wood_temperature=-10.0))
    assert verdict_words(answer) == "wet, above 30, no number"


def test_dry_gives_no_number():
    assert verdict_words(interpret(4.0)) == "dry, below 6, no number"
    # Dielectric meters count from 4 % (Wood Handbook ch. 13, read).
    assert interpret(5.0, MeterSetting(kind="pinless")).valid


def test_pinless_needs_the_gravity():
    oak = find_species("white oak")
    setting = MeterSetting(kind="pinless", set_gravity=0.50)
    answer = interpret(12.0, setting, species=oak)
    assert answer.corrected == pytest.approx(12.0 * 0.50 / 0.68)
    unset = interpret(12.0, MeterSetting(kind="pinless"), species=oak)
    assert unset.corrected == 12.0
    assert Step.GRAVITY_UNKNOWN in [one.step for one in unset.corrections]


def test_pinless_is_not_corrected_for_temperature():
    setting = MeterSetting(kind="pinless", wood_temperature=-5.0)
    answer = interpret(12.0, setting)
    assert answer.corrected == 12.0
    assert any("cold or hot" in step for step in correction_steps(answer, "si"))


def test_compensated_meters_are_left_alone():
    setting = MeterSetting(wood_temperature=0.0, compensated=True)
    assert interpret(12.0, setting).corrected == 12.0


@pytest.mark.parametrize("face", ["rough", "end"])
def test_rough_and_end_read_low(face):
    answer = interpret(12.0, MeterSetting(face=face))
    assert answer.corrected == 12.0
    assert (answer.low, answer.high) == (11.0, 15.0)
    assert any("13 to 15" in step for step in correction_steps(answer, "si"))


def test_frozen_wood_is_told():
    answer = interpret(18.0, MeterSetting(wood_temperature=-5.0))
    assert any("frozen" in step for step in correction_steps(answer, "si"))


@pytest.mark.parametrize(
    ("depth", "words"),
    [(3, "surface"), (11, "the mean"), (27, "core"), (51, "surface")],
)
def test_pin_depth_tells_which_part(depth, words):
    setting = MeterSetting(pin_depth_mm=depth, thickness_mm=54, insulated=True)
    steps = correction_steps(interpret(15.0, setting), "si")
    told = [step for step in steps if "deep in" in step]
    assert words in told[0].split(". ")[0]


def test_a_fifth_of_the_thickness_reads_the_mean():
    # A parabola's mean lies at depth (1 - 1/sqrt 3)/2 = 0.211 of the thickness, within
    # the published fifth to quarter (James, FPL-GTR-6, from memory).
    z = np.linspace(-1, 1, 200_001)
    profile = 16.0 - (16.0 - 10.0) * z**2
    depth = (1 - 1 / np.sqrt(3)) / 2
    assert 0.20 <= depth <= 0.25
    at_depth = np.interp(2 * depth - 1, z, profile)
    assert np.trapezoid(profile, z) / 2 == pytest.approx(at_depth, abs=1e-6)
    assert mean_of_pair(10.0, 16.0) == pytest.approx(at_depth)


@pytest.mark.parametrize("reading", [-1.0, 250.0, float("nan")])
def test_impossible_readings_are_refused(reading):
    with pytest.raises(InputError, match="outside 0 to 200"):
        interpret(reading)


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "sonar"},
        {"rule": "mine"},
        {"face": "bark"},
        {"wood_temperature": 300.0},
        {"pin_depth_mm": 60.0, "thickness_mm": 54.0},
        {"set_gravity": 12.0},
    ],
)
def test_impossible_settings_are_refused(wrong):
    with pytest.raises(InputError):
        MeterSetting(**wrong)


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        *(("set_gravity", 0.1, 1.4), ("wood_gravity", 0.1, 1.4)),
        *(("wood_temperature", -40.0, 70.0), ("calibrated_at", 0.0, 40.0)),
        *(("pin_depth_mm", 0.5, 150.0), ("slope", 0.3, 3.0), ("offset", -20.0, 20.0)),
    ],
)
def test_settings_are_taken_up_to_their_ends(name, least, most):
    hair = 0.01 * (most - least)
    for inside in (least, most):
        assert getattr(MeterSetting(**{name: inside}), name) == inside
    for outside in (least - min(hair, 0.04), most + hair):
        with pytest.raises(InputError, match=f"{least:g} to {most:g}"):
            MeterSetting(**{name: outside})


def told(reading, **held):
    answer = interpret(reading, MeterSetting(**held))
    return {one.step for one in answer.corrections}


def test_what_is_told_and_when():
    # A bare pin reads the wettest wood it touches; frozen wood scatters above 15 %;
    # a dielectric reading shifts outside 5 to 35 °C.
    assert Step.UNINSULATED in told(12.0)
    assert Step.UNINSULATED not in told(12.0, insulated=True)
    cold = {"wood_temperature": -1.0, "compensated": True}
    assert Step.FROZEN in told(15.5, **cold)
    assert Step.FROZEN not in told(14.5, **cold)
    assert Step.FROZEN not in told(15.5, wood_temperature=1.0, compensated=True)
    for t, odd in ((4.5, True), (5.5, False), (34.5, False), (35.5, True)):
        steps = told(12.0, kind="pinless", wood_temperature=t)
        assert (Step.UNUSUAL_TEMPERATURE in steps) == odd


@pytest.mark.parametrize(
    ("slope", "offset", "by_hand"),
    [(1.0, 0.0, 12.0), (1.0, 1.0, 11.0), (2.0, 0.0, 6.0), (0.8, 2.0, 12.5)],
)
def test_own_coefficients_beside_the_handbook_s_rule(slope, offset, by_hand):
    # (reading - b) / a, at the meter's own temperature.
    held = MeterSetting(slope=slope, offset=offset)
    answer = interpret(12.0, held)
    assert answer.corrected == pytest.approx(by_hand)
    plain = (slope, offset) == (1.0, 0.0)
    assert (Step.SPECIES in told(12.0, slope=slope, offset=offset)) != plain


@pytest.mark.parametrize(
    ("kind", "reading", "valid"),
    # Resistance meters count from 6 to 30 %, dielectric from 4 to 30 (handbook, read).
    [
        *(("pin", 5.9, False), ("pin", 6.0, True), ("pin", 30.0, True)),
        *(("pin", 30.1, False), ("pinless", 3.9, False), ("pinless", 4.0, True)),
        *(("pinless", 30.0, True), ("pinless", 30.1, False)),
    ],
)
def test_where_a_reading_counts(kind, reading, valid):
    assert interpret(reading, MeterSetting(kind=kind)).valid == valid


@pytest.mark.parametrize(("reading", "spread"), [(19.9, 1.0), (20.1, 2.0)])
def test_the_spread_doubles_at_twenty(reading, spread):
    answer = interpret(reading)
    assert answer.spread == spread
    assert (answer.low, answer.high) == (reading - spread, reading + spread)


@given(st.floats(6, 30), st.floats(-20, 45), st.sampled_from(["handbook", "full"]))
def test_every_reading_ends_in_words(reading, temperature, rule):
    setting = MeterSetting(wood_temperature=temperature, rule=rule)
    answer = interpret(reading, setting)
    assert answer.valid == (answer.corrected is not None)
    steps = correction_steps(answer, "si")
    assert all(step.endswith(".") and "\n" not in step for step in steps)
    if answer.valid:
        assert answer.low < answer.corrected < answer.high
        assert 6 <= answer.corrected <= 30


@given(st.floats(6, 28), st.floats(-20, 40), st.floats(0.1, 10))
def test_colder_wood_is_corrected_up(reading, temperature, colder):
    warm = temperature_corrected(reading, temperature)
    assert temperature_corrected(reading, temperature - colder) > warm
    assert fully_corrected(reading, temperature - colder) > fully_corrected(
        reading, temperature
    )


def test_gravity_leaves_a_right_setting_alone():
    assert gravity_corrected(11.0, 0.6, 0.6) == 11.0


# Shell and core.


@pytest.mark.parametrize(
    ("shell", "core", "target", "ready", "verdict"),
    [
        (10, 16, None, False, "not ready: core 16"),
        (10, 16, (7, 9), False, "not ready: core 16"),
        (8, 9, (7, 9), True, "ready: 8 to 9"),
        (8, 9, None, True, "ready: 8 to 9"),
        (9, 10, (7, 9), False, "not ready: core 10"),
        (5, 5, (7, 9), False, "too dry: 5 to 5"),
        (18, 12, None, False, "not ready: shell 18 wetter than core 12"),
    ],
)
def test_pairs(shell, core, target, ready, verdict):
    answer = judge_pair(shell, core, target)
    assert (answer.ready, pair_verdict(answer)) == (ready, verdict)
    assert pair_reason(answer).endswith(".")


def test_impossible_pairs_are_refused():
    with pytest.raises(InputError, match="core"):
        judge_pair(10, 900)


def test_two_meters():
    assert meters_agree(11, 12)
    assert not meters_agree(9, 14)
    assert any("oven" in line for line in two_meters(9, 14, agree=False))


# Weighing.


@given(st.floats(0.1, 1e4), st.floats(0, 250))
def test_weights_round_trip(dry, moisture):
    wet = weight_at_moisture(dry, moisture)
    assert oven_dry_moisture(wet, dry) == pytest.approx(moisture, abs=1e-6)
    assert oven_dry_weight(wet, moisture) == pytest.approx(dry)
    # Wet basis = water over all (definition).
    assert wet_basis(moisture) == pytest.approx(100 * (wet - dry) / wet, abs=1e-6)


@pytest.mark.parametrize(("wet", "dry"), [(90, 100), (0, 0), (-1, 1), (100, 0)])
def test_impossible_weights_are_refused(wet, dry):
    with pytest.raises(InputError):
        oven_dry_moisture(wet, dry)
