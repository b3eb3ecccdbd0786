"""People's units at the edge; SI everywhere inside."""

import locale
import os
from fractions import Fraction
from typing import Literal

from emcforecast import bounds
from emcforecast.conversions import (
    KG_PER_POUND,
    KG_PER_UNIT,
    METRES_PER_FOOT,
    MM_PER_INCH,
    MM_PER_UNIT,
    celsius_to_fahrenheit,
    fahrenheit_to_celsius,
    inches_to_mm,
    kg_per_m2_to_pounds_per_ft2,
    kg_to_pounds,
    measure,
    metres_per_second_to_mph,
    mm_to_inches,
    mph_to_metres_per_second,
    pounds_to_kg,
    value_of,
)
from emcforecast.errors import InputError
from emcforecast.language import _, number

__all__ = [
    "KG_PER_POUND",
    "METRES_PER_FOOT",
    "MM_PER_INCH",
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
    "pounds_to_kg",
    "system_of",
]

UnitSystem = Literal["us", "si"]
SYSTEMS: tuple[UnitSystem, ...] = ("si", "us")

_US_TERRITORIES = ("US", "LR", "MM", "United States", "Liberia", "Myanmar")


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
            _(
                "length {length!r} has no unit: write '{length} in' or "
                "'{length} mm', or say --units us or si.",
                length=length,
            )
        )
    value = value_of(length, MM_PER_UNIT, "in" if system == "us" else "mm")
    if value is None or not value > 0:
        raise InputError(
            _(
                "length {length!r} cannot be read. Write it with its unit: "
                "12 in, 8 ft, 300 mm or 2.4 m.",
                length=length,
            )
        )
    return value


_CUSTOMARY = frozenset({"in", "ft", "lb", "oz", "f"})
"""Units of the us system, as `measure` returns them."""


def system_of(text: str) -> UnitSystem | None:
    """Return the system a length, weight or temperature is written in.

    Returns
    -------
    {"us", "si"} or None
        None for a bare number, a nominal size such as 4/4, and what is no measure.

    Examples
    --------
    >>> system_of("1 1/8 in"), system_of("27mm"), system_of("30F"), system_of("4/4")
    ('us', 'si', 'us', None)
    """
    written = measure(text)
    unit = "" if written is None else written[1].replace("°", "").replace("deg", "")
    for table in (MM_PER_UNIT, KG_PER_UNIT):
        if unit in table:
            same = {name for name, size in table.items() if size == table[unit]}
            return "us" if same & _CUSTOMARY else "si"
    return "us" if unit == "f" else "si" if unit == "c" else None


def _above_zero(what: str, given: float | str) -> None:
    written = measure(given) if isinstance(given, str) else (given, "")
    if written is not None and written[0] <= 0:
        raise InputError(
            _(
                "{what} {given!r} is not above zero. Check the number.",
                what=what,
                given=given,
            )
        )


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
            _(
                "weight {mass!r} has no unit: write '{mass} lb' or '{mass} "
                "kg', or say --units us or si.",
                mass=mass,
            )
        )
    value = value_of(mass, KG_PER_UNIT, "lb" if system == "us" else "kg")
    if value is None or not value > 0:
        raise InputError(
            _(
                "weight {mass!r} cannot be read. Write it with its unit: "
                "4.46 lb, 2.02 kg or 136 g.",
                mass=mass,
            )
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
        When it cannot be read or lies outside -60 to 160 °C.

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
            _(
                "temperature {temperature!r} cannot be read. Write it with "
                "its unit: 30F or -1C.",
                temperature=temperature,
            )
        )
    if unit == "" and system is None:
        raise InputError(
            _(
                "temperature {temperature!r} has no unit: write {text}F or "
                "{text}C, or say --units us or si.",
                temperature=temperature,
                text=text,
            )
        )
    is_fahrenheit = unit == "f" or (unit == "" and system == "us")
    value = float(written[0])
    value = fahrenheit_to_celsius(value) if is_fahrenheit else value
    low, high = bounds.WOOD_TEMPERATURE
    if not low <= value <= high:
        raise InputError(
            _(
                "temperature {temperature!r} is outside {low:g} to {high:g} "
                "°C ({low_f:g} to {high_f:g} °F). Check the unit: write 30F "
                "or -1C.",
                temperature=temperature,
                low=low,
                high=high,
                low_f=celsius_to_fahrenheit(low),
                high_f=celsius_to_fahrenheit(high),
            )
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
        return f"{number(length_mm, '.1f' if abs(length_mm) < 10 else '.0f')} mm"
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
    return f"{number(value, f',.{digits}f')} {'lb' if system == 'us' else 'kg'}"


def format_load(load: float, system: UnitSystem = "si") -> str:
    """Return a weight per area in kg/m² or lb/ft².

    Examples
    --------
    >>> format_load(24.4, "us"), format_load(24.4, "si")
    ('5.0 lb/ft²', '24 kg/m²')
    """
    if system == "us":
        return f"{number(kg_per_m2_to_pounds_per_ft2(load), ',.1f')} lb/ft²"
    return f"{number(load, ',.0f')} kg/m²"


def format_speed(speed: float, system: UnitSystem = "si") -> str:
    """Return a wind speed in m/s or mph.

    Examples
    --------
    >>> format_speed(4.4704, "us"), format_speed(4.4704, "si")
    ('10 mph', '4.5 m/s')
    """
    if system == "us":
        return f"{metres_per_second_to_mph(speed):.0f} mph"
    return f"{number(speed, '.1f')} m/s"


def _whole(value: float) -> str:
    return f"{round(value)}"
