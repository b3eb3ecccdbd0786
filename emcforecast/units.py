"""People's units at the edge, and thickness as they write it; SI everywhere inside."""

import locale
import os
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from emcforecast.conversions import (
    KG_PER_POUND,
    METRES_PER_FOOT,
    MM_PER_INCH,
    celsius_to_fahrenheit,
    fahrenheit_to_celsius,
    inches_to_mm,
    kg_per_m2_to_pounds_per_ft2,
    kg_to_pounds,
    metres_per_second_to_mph,
    mm_to_inches,
    mph_to_metres_per_second,
    pounds_to_kg,
)
from emcforecast.errors import InputError
from emcforecast.measure_text import KG_PER_UNIT, MM_PER_UNIT, measure, tidy, value_of

__all__ = [
    "KG_PER_POUND",
    "METRES_PER_FOOT",
    "MM_PER_INCH",
    "Thickness",
    "UnitSystem",
    "celsius_to_fahrenheit",
    "default_units",
    "fahrenheit_to_celsius",
    "format_length",
    "format_load",
    "format_mass",
    "format_speed",
    "format_temperature",
    "inches_to_mm",
    "kg_per_m2_to_pounds_per_ft2",
    "kg_to_pounds",
    "metres_per_second_to_mph",
    "mm_to_inches",
    "mph_to_metres_per_second",
    "parse_length",
    "parse_mass",
    "parse_temperature",
    "parse_thickness",
    "pounds_to_kg",
]

UnitSystem = Literal["us", "si"]

ROUGH_MM_PER_QUARTER = 6.75
"""Sawn green, a quarter of an inch of nominal stock measures this much (mm)."""

THINNEST_MM, THICKEST_MM = 1.0, 600.0
_THINNEST_WITHOUT_UNIT_MM = 6.0

_US_TERRITORIES = ("US", "LR", "MM", "United States", "Liberia", "Myanmar")
_QUARTER_WORDS = {"four": 4, "five": 5, "six": 6, "eight": 8, "ten": 10, "twelve": 12}


@dataclass(frozen=True)
class Thickness:
    """How thick a board is as sawn, and what the trade calls it.

    Parameters
    ----------
    actual_mm : float
        The measured or expected rough thickness, mm.
    nominal : str or None
        The trade's name in quarters of an inch, such as "8/4"; None for a
        measured thickness.
    text : str
        What the person wrote.

    Notes
    -----
    Quarters name the stock, not its size. Stock is sawn over so that it still
    holds its nominal thickness when dry: 1/16 in over per inch, 27 mm for 4/4 and
    54 mm for 8/4, which is also the European trade's nearest rough size (27 mm is
    a preferred thickness of EN 1313-2; from memory). A mill that saws 4/4 at
    1 1/8 in says so: ``"4/4 = 1 1/8 in"``.
    """

    actual_mm: float
    nominal: str | None
    text: str

    @property
    def nominal_mm(self) -> float | None:
        """The nominal thickness in mm (25.4 for 4/4), or None when measured."""
        if self.nominal is None:
            return None
        return int(self.nominal.split("/")[0]) * MM_PER_INCH / 4.0

    def label(self, system: UnitSystem = "si") -> str:
        """Return how to print this thickness, actual size first.

        Examples
        --------
        >>> parse_thickness("8/4").label("si")
        '54 mm (8/4)'
        >>> parse_thickness("27mm").label("us")
        '1 1/16 in'
        """
        size = format_length(self.actual_mm, system)
        return size if self.nominal is None else f"{size} ({self.nominal})"


def parse_thickness(thickness: "float | str | Thickness") -> Thickness:
    """Read a board's thickness as people write it.

    Parameters
    ----------
    thickness : float or str or Thickness
        A number is mm. Text is quarters ("4/4", "8/4", "eight quarter"), mm
        ("27", "27mm", "2.7 cm"), or inches ("1 1/8 in", '1-1/8"'). Quarters may
        carry the size really sawn: "4/4 = 28 mm".

    Returns
    -------
    Thickness
        Actual thickness in mm, with the nominal name kept apart.

    Raises
    ------
    InputError
        When the text is not a thickness, has an ambiguous unit, or lies outside
        1 to 600 mm.

    Examples
    --------
    >>> parse_thickness("4/4")
    Thickness(actual_mm=27.0, nominal='4/4', text='4/4')
    >>> parse_thickness("1 1/8 in").actual_mm
    28.575
    >>> parse_thickness(27).nominal is None
    True
    """
    if isinstance(thickness, Thickness):
        return thickness
    if isinstance(thickness, str):
        return _thickness_from_text(thickness)
    return Thickness(
        _plausible_thickness(float(thickness), f"{thickness:g} mm"),
        None,
        f"{thickness:g} mm",
    )


def _thickness_from_text(given: str) -> Thickness:
    text = tidy(given)
    name, equals, size = text.partition("=")
    quarters = _quarters(name.strip())
    if equals and quarters is not None:
        actual = _thickness_mm(size.strip(), given)
    elif quarters is not None:
        actual = quarters * ROUGH_MM_PER_QUARTER
    else:
        actual = _thickness_mm(text, given)
    return Thickness(
        _plausible_thickness(actual, given),
        None if quarters is None else f"{quarters}/4",
        given.strip(),
    )


def _quarters(text: str) -> int | None:
    match = re.fullmatch(r"(\d+) ?/ ?4(?: in)?", text)
    if match and (int(match[1]) >= 4 or not text.endswith("in")):
        return int(match[1]) or None
    match = re.fullmatch(r"(\w+)[ -]quarters?", text)
    if match and match[1].isdigit():
        return int(match[1]) or None
    return _QUARTER_WORDS.get(match[1]) if match else None


def _thickness_mm(text: str, given: str) -> float:
    written = measure(text)
    if written is None or written[1] not in {"", *MM_PER_UNIT}:
        raise InputError(
            f"thickness {given!r} cannot be read. Write quarters (4/4, 8/4), mm "
            f"(27mm) or inches (1 1/8 in)."
        )
    number, unit = written
    if number <= 0:
        raise InputError(
            f"thickness {given!r} is not above zero. Write quarters (4/4, 8/4), mm "
            f"(27mm) or inches (1 1/8 in)."
        )
    if unit == "" and ("/" in text or number < _THINNEST_WITHOUT_UNIT_MM):
        raise InputError(
            f"thickness {given!r} has no unit: inches or mm? Write '{text} in' or "
            f"'{text} mm', or quarters such as 4/4."
        )
    return float(number * MM_PER_UNIT[unit or "mm"])


def _plausible_thickness(actual_mm: float, given: str) -> float:
    if not THINNEST_MM <= actual_mm <= THICKEST_MM:
        raise InputError(
            f"thickness {given!r} is outside {THINNEST_MM:g} to {THICKEST_MM:g} mm "
            f"(0.04 to 23.6 in). Check the unit: 27mm, 4/4 and 1 1/8 in are all read."
        )
    return actual_mm


def parse_length(length: float | str, system: UnitSystem | None = "si") -> float:
    """Read a length and return mm; a bare number is inches in US units, else mm.

    Parameters
    ----------
    length : float or str
        "12 in", '12"', "300 mm", "8 ft", or a bare number.
    system : {"us", "si"} or None
        Unit of a bare number: inches or mm; None refuses a bare number.

    Returns
    -------
    float
        The length, mm.

    Raises
    ------
    InputError
        When it cannot be read or is not above zero.

    Examples
    --------
    >>> parse_length("12", "us")
    304.8
    >>> parse_length("300 mm", "us")
    300.0
    """
    _above_zero("length", length)
    if system is None and _is_bare(length):
        raise InputError(
            f"length {length!r} has no unit: write '{length} in' or '{length} mm', or "
            "say --units us or si."
        )
    value = value_of(length, MM_PER_UNIT, "in" if system == "us" else "mm")
    if value is None or not value > 0:
        raise InputError(
            f"length {length!r} cannot be read. Write it with its unit: 12 in, 8 ft, "
            f"300 mm or 2.4 m."
        )
    return value


def _above_zero(what: str, given: float | str) -> None:
    written = measure(given) if isinstance(given, str) else (given, "")
    if written is not None and written[0] <= 0:
        raise InputError(f"{what} {given!r} is not above zero. Check the number.")


def _is_bare(given: float | str) -> bool:
    written = measure(given) if isinstance(given, str) else (given, "")
    return written is not None and written[1] == ""


def parse_mass(mass: float | str, system: UnitSystem | None = "si") -> float:
    """Read a mass and return kg; a bare number is pounds in US units, else kg.

    With no unit system a bare number is refused.

    Raises
    ------
    InputError
        When it cannot be read or is not above zero.

    Examples
    --------
    >>> parse_mass("4.46 lb")
    2.0230219702
    >>> parse_mass("136 g")
    0.136
    """
    _above_zero("weight", mass)
    if system is None and _is_bare(mass):
        raise InputError(
            f"weight {mass!r} has no unit: write '{mass} lb' or '{mass} kg', or say "
            "--units us or si."
        )
    value = value_of(mass, KG_PER_UNIT, "lb" if system == "us" else "kg")
    if value is None or not value > 0:
        raise InputError(
            f"weight {mass!r} cannot be read. Write it with its unit: 4.46 lb, 2.02 kg "
            f"or 136 g."
        )
    return value


def parse_temperature(
    temperature: float | str, system: UnitSystem | None = "si"
) -> float:
    """Read a temperature and return °C; a bare number is °F in US units, else °C.

    With no unit system a bare number is refused.

    Raises
    ------
    InputError
        When it cannot be read or lies outside -60 to 150 °C.

    Examples
    --------
    >>> parse_temperature("30F")
    -1.1111111111111112
    >>> parse_temperature("21 °C", "us")
    21.0
    """
    text = f"{temperature:g}" if not isinstance(temperature, str) else temperature
    written = measure(text)
    unit = "" if written is None else written[1].replace("°", "").replace("deg", "")
    if written is None or unit not in {"", "f", "c"}:
        raise InputError(
            f"temperature {temperature!r} cannot be read. Write it with its unit: 30F "
            f"or -1C."
        )
    if unit == "" and system is None:
        raise InputError(
            f"temperature {temperature!r} has no unit: write {text}F or {text}C, or "
            "say --units us or si."
        )
    is_fahrenheit = unit == "f" or (unit == "" and system == "us")
    value = float(written[0])
    value = fahrenheit_to_celsius(value) if is_fahrenheit else value
    if not -60.0 <= value <= 150.0:
        raise InputError(
            f"temperature {temperature!r} is outside -60 to 150 °C (-76 to 302 °F). "
            f"Check the unit: write 30F or -1C."
        )
    return value


def default_units() -> UnitSystem:
    """Return "us" where this computer's region measures in inches, else "si".

    Notes
    -----
    LC_ALL, LC_MEASUREMENT and LANG are looked at in that order, then the
    operating system's own setting.
    """
    names = (os.environ.get(name) for name in ("LC_ALL", "LC_MEASUREMENT", "LANG"))
    region = next((name for name in names if name), None) or locale.getlocale()[0] or ""
    place = region.partition("_")[2].partition(".")[0].partition("@")[0]
    return "us" if place in _US_TERRITORIES else "si"


def format_temperature(temperature_c: float, system: UnitSystem = "si") -> str:
    """Return a temperature in whole degrees of the unit system.

    Examples
    --------
    >>> format_temperature(20.0, "us"), format_temperature(20.0, "si")
    ('68 °F', '20 °C')
    """
    if system == "us":
        return f"{_whole(celsius_to_fahrenheit(temperature_c))} °F"
    return f"{_whole(temperature_c)} °C"


def format_length(length_mm: float, system: UnitSystem = "si") -> str:
    """Return a length in mm, or in inches to the nearest sixteenth.

    Examples
    --------
    >>> format_length(28.575, "us"), format_length(28.575, "si")
    ('1 1/8 in', '29 mm')
    >>> format_length(2.54, "si")
    '2.5 mm'
    """
    if system == "si":
        return f"{length_mm:.1f} mm" if abs(length_mm) < 10 else f"{length_mm:.0f} mm"
    sixteenths = round(abs(length_mm) / MM_PER_INCH * 16)
    sign = "-" if length_mm < 0 and sixteenths else ""
    whole, part = divmod(sixteenths, 16)
    fraction = f"{Fraction(part, 16)}" if part else ""
    words = " ".join(word for word in (str(whole) if whole else "", fraction) if word)
    return f"{sign}{words or '0'} in"


def format_mass(mass_kg: float, system: UnitSystem = "si") -> str:
    """Return a mass in kg or lb, to three figures or the whole unit.

    Examples
    --------
    >>> format_mass(1000.0, "us"), format_mass(1.25, "si")
    ('2,205 lb', '1.25 kg')
    """
    value = kg_to_pounds(mass_kg) if system == "us" else mass_kg
    digits = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    return f"{value:,.{digits}f} {'lb' if system == 'us' else 'kg'}"


def format_load(load: float, system: UnitSystem = "si") -> str:
    """Return a weight per area in kg/m² or lb/ft².

    Examples
    --------
    >>> format_load(24.4, "us"), format_load(24.4, "si")
    ('5.0 lb/ft²', '24 kg/m²')
    """
    if system == "us":
        return f"{kg_per_m2_to_pounds_per_ft2(load):,.1f} lb/ft²"
    return f"{load:,.0f} kg/m²"


def format_speed(speed: float, system: UnitSystem = "si") -> str:
    """Return a wind speed in m/s or mph.

    Examples
    --------
    >>> format_speed(4.4704, "us"), format_speed(4.4704, "si")
    ('10 mph', '4.5 m/s')
    """
    if system == "us":
        return f"{metres_per_second_to_mph(speed):.0f} mph"
    return f"{speed:.1f} m/s"


def _whole(value: float) -> str:
    return f"{round(value)}"
