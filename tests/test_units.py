"""Units: conversions against the definitions, thickness as people write it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast import units
from emcforecast.errors import InputError
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.units import (
    default_units,
    format_length,
    parse_length,
    parse_mass,
    parse_temperature,
)

# Exact by definition: international yard and pound agreement, 1959; NIST SP 811.
DEFINITIONS = [
    (units.inches_to_mm, 1.0, 25.4),
    (units.mm_to_inches, 25.4, 1.0),
    (units.pounds_to_kg, 1.0, 0.45359237),
    (units.kg_to_pounds, 0.45359237, 1.0),
    (units.mph_to_metres_per_second, 1.0, 0.44704),
    (units.metres_per_second_to_mph, 0.44704, 1.0),
    (units.fahrenheit_to_celsius, 32.0, 0.0),
    (units.celsius_to_fahrenheit, 100.0, 212.0),
    # NIST SP 811 appendix B.8: lb/ft² (mass) = 4.882428 kg/m².
    (units.kg_per_m2_to_pounds_per_ft2, 4.882428, 1.0),
]


@pytest.mark.parametrize(("convert", "given_value", "expected"), DEFINITIONS)
def test_conversion_by_definition(convert, given_value, expected):
    assert convert(given_value) == pytest.approx(expected, rel=1e-6)


# 4/4 = 27 mm and 8/4 = 54 mm rough: nominal plus 1/16 in per inch; 27 mm is also a
# preferred thickness of EN 1313-2 (from memory). 1 1/8 in = 28.575 mm exactly.
WRITTEN = [
    ("27", 27.0, None),
    ("27mm", 27.0, None),
    ("27 mm", 27.0, None),
    ("27,5 mm", 27.5, None),
    ("2.7 cm", 27.0, None),
    ("108 mm", 108.0, None),
    ("4/4", 27.0, "4/4"),
    ("8/4", 54.0, "8/4"),
    ("16/4", 108.0, "16/4"),
    ("eight quarter", 54.0, "8/4"),
    ("5 quarter", 33.75, "5/4"),
    ("1 1/8 in", 28.575, None),
    ('1-1/8"', 28.575, None),
    ("1⅛ in", 28.575, None),
    ("1.125 inches", 28.575, None),
    ("½″", 12.7, None),
    ("3/4 in", 19.05, None),
    ("2 in.", 50.8, None),
    ("4/4 = 1 1/8 in", 28.575, "4/4"),
    (27, 27.0, None),
    (28.6, 28.6, None),
]


@pytest.mark.parametrize(("text", "actual", "nominal"), WRITTEN)
def test_thickness_as_written(text, actual, nominal):
    size = parse_thickness(text)
    assert size.actual_mm == pytest.approx(actual, abs=1e-9)
    assert size.nominal == nominal


def test_nominal_and_actual_are_kept_apart():
    size = parse_thickness("8/4")
    assert size.nominal_mm == pytest.approx(50.8)
    assert size.actual_mm == 54.0
    assert size.text == "8/4"
    assert parse_thickness(size) is size
    assert parse_thickness("27mm").nominal_mm is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2", "inches or mm"),
        ("1/2", "inches or mm"),
        ("oak", "cannot be read"),
        ("", "cannot be read"),
        ("2x4", "cannot be read"),
        ("1/0 in", "cannot be read"),
        ("3 kg", "cannot be read"),
        ("1000 mm", "outside"),
        ("-27 mm", "above zero"),
        (0.2, "outside"),
        (math.nan, "outside"),
    ],
)
def test_thickness_refused_in_one_line(text, says):
    with pytest.raises(InputError, match=says) as refusal:
        parse_thickness(text)
    assert "\n" not in str(refusal.value)


@given(st.floats(min_value=6.0, max_value=600.0))
def test_mm_text_round_trips(value):
    assert parse_thickness(f"{value!r} mm").actual_mm == pytest.approx(value)


@given(st.integers(16, 16 * 23))
def test_inches_print_and_read_back(sixteenths):
    printed = format_length(sixteenths / 16 * 25.4, "us")
    assert parse_thickness(printed).actual_mm == pytest.approx(sixteenths / 16 * 25.4)


@given(st.text(max_size=12))
def test_any_text_gives_a_size_or_a_refusal(text):
    try:
        size = parse_thickness(text)
    except InputError:
        return
    assert isinstance(size, Thickness)
    assert 1.0 <= size.actual_mm <= 600.0


@pytest.mark.parametrize(
    ("text", "system", "expected"),
    [
        ("12", "us", 304.8),
        ("12", "si", 12.0),
        ("12 in", "si", 304.8),
        ("8'", "si", 2438.4),
        ("2.4 m", "us", 2400.0),
        (100.0, "us", 2540.0),
    ],
)
def test_lengths(text, system, expected):
    assert parse_length(text, system) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("wide", "cannot be read"),
        ("0", "not above zero"),
        ("-4 in", "not above zero"),
        ("4 lb", "cannot be read"),
    ],
)
def test_lengths_refused(text, says):
    with pytest.raises(InputError, match=says):
        parse_length(text)


def test_without_a_system_a_bare_number_is_refused():
    for parse in (parse_length, parse_mass, parse_temperature):
        with pytest.raises(InputError, match="has no unit"):
            parse("12", None)
    assert parse_length("12 in", None) == pytest.approx(304.8)


def test_masses():
    assert parse_mass("136 g") == pytest.approx(0.136)
    assert parse_mass("1", "us") == pytest.approx(0.45359237)
    assert parse_mass("16 oz") == pytest.approx(0.45359237)
    with pytest.raises(InputError, match="cannot be read"):
        parse_mass("heavy")


@pytest.mark.parametrize(
    ("text", "system", "expected"),
    [
        ("30F", "si", -10 / 9),
        ("30", "us", -10 / 9),
        ("-1.5 °C", "us", -1.5),
        (21, "si", 21),
    ],
)
def test_temperatures(text, system, expected):
    assert parse_temperature(text, system) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["warm", "900F", "20 in"])
def test_temperatures_refused(text):
    with pytest.raises(InputError):
        parse_temperature(text)


@pytest.mark.parametrize(
    ("language", "expected"),
    [("en_US.UTF-8", "us"), ("en_GB.UTF-8", "si"), ("de_DE", "si"), ("C.UTF-8", "si")],
)
def test_units_follow_the_region(monkeypatch, language, expected):
    for name in ("LC_ALL", "LC_MEASUREMENT"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", language)
    assert default_units() == expected


def test_measurement_region_goes_before_language(monkeypatch):
    monkeypatch.delenv("LC_ALL", raising=False)
    monkeypatch.setenv("LC_MEASUREMENT", "de_DE.UTF-8")
    monkeypatch.setenv("LANG", "en_US.UTF-8")
    assert default_units() == "si"
