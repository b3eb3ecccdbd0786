"""The one table of units, by their definitions, and °F, inches, pounds and mph."""

import re
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    import xarray as xr
    from numpy.typing import NDArray


Numeric = TypeVar("Numeric", float, "NDArray[np.float64]", "xr.DataArray")

MM_PER_INCH = 25.4
METRES_PER_FOOT = 0.3048
KG_PER_POUND = 0.45359237
METRES_PER_SECOND_PER_MPH = 0.44704
POUNDS_PER_FT2_PER_KG_PER_M2 = METRES_PER_FOOT**2 / KG_PER_POUND
KELVIN = 273.15
"""0 °C in kelvin."""

FACTORS: dict[str, float] = {
    **{"%": 1.0, "1": 100.0},
    **{"m/s": 1.0, "km/h": 1.0 / 3.6, "kn": 1852.0 / 3600.0},
    "mph": METRES_PER_SECOND_PER_MPH,
    **{"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH},
    **{"pa": 1.0, "hpa": 100.0, "kpa": 1000.0, "mmhg": 133.322387415},
    "inhg": 3386.388666666667,
    **{"kg/kg": 1.0, "g/kg": 1e-3, "kg/m3": 1.0, "g/m3": 1e-3},
    **{"w/m2": 1.0, "wh/m2": 1.0, "kwh/m2": 1e3, "j/cm2": 1e4 / 3600.0},
    **{"j/m2": 1.0 / 3600.0, "kj/m2": 1e3 / 3600.0, "mj/m2": 1e6 / 3600.0},
}
"""What one of each is in the program's unit: %, m/s, mm, Pa, kg/kg, kg/m³, W/m², and
W h/m² for energy on an area."""
TEMPERATURES = ("c", "f", "k")
HOURS_IN = {"s": 1.0 / 3600.0, "h": 1.0, "d": 24.0}

_SPELLINGS = {
    unit: spelt
    for spelt, others in {
        "c": "celsius",
        "f": "fahrenheit",
        "k": "kelvin kelvins",
        "%": "percent pct",
        "1": "fraction - dimensionless (0-1)",
        "m/s": "ms ms-1",
        "km/h": "kmh kmh-1 kmhr-1 km/hr kph",
        "mph": "mp/h mi/h mih-1 mileshour-1",
        "kn": "kt knot knots",
        "in": "inch inches",
        "hpa": "mbar mb millibar millibars",
        "kg/kg": "kgkg-1",
        "g/kg": "gkg-1",
        "g/m3": "gm-3",
        "kg/m3": "kgm-3",
        "mm": "kgm-2 kg/m2",
        "w/m2": "wm-2",
        "wh/m2": "whm-2",
        "kwh/m2": "kwhm-2 kw-hr/m2 kwhr/m2",
        "j/m2": "jm-2",
        "kj/m2": "kjm-2",
        "mj/m2": "mjm-2 mj",
    }.items()
    for unit in others.split()
}
_RATE = re.compile(r"(.+?)(?:/(s|h|hr|hour|d|day)|(s|h|hr|hour|d|day)-1)")


def plain_unit(unit: str) -> str:
    """Return a unit in the spelling of `FACTORS` and `TEMPERATURES`, where it is known.

    Examples
    --------
    >>> [plain_unit(u) for u in ("°F", "degrees_Celsius", "kg kg**-1", "Knots")]
    ['f', 'c', 'kg/kg', 'kn']
    """
    text = re.sub(r"[\s_*^°º]+|deg(rees?)?", "", unit.strip().lower())
    text = text.replace("²", "2").replace("³", "3")
    return _SPELLINGS.get(text, text)


def split_rate(unit: str) -> tuple[str, float | None]:
    """Return the amount of a rate and the hours it is for; None where it is no rate.

    Examples
    --------
    >>> split_rate("mm day-1"), split_rate("MJ/m^2/hr"), split_rate("kg m-2 s-1")[0]
    (('mm', 24.0), ('mj/m2', 1.0), 'mm')
    >>> split_rate("mm")
    ('mm', None)
    """
    text = plain_unit(unit)
    if text in FACTORS and text != "m/s":
        return text, None
    rate = _RATE.fullmatch("m/s" if text == "m/s" else text)
    if rate is None:
        return text, None
    return plain_unit(rate[1]), HOURS_IN[(rate[2] or rate[3])[0]]


def from_unit(values: Numeric, unit: str) -> Numeric:
    """Bring values to the program's units.

    Parameters
    ----------
    values : float or array
    unit : str
        In any spelling `plain_unit` knows.

    Returns
    -------
    float or array
        °C, %, m/s, mm, Pa, kg/kg, kg/m³, W/m² or W h/m².

    Raises
    ------
    KeyError
        For a unit that is not in the table.

    Examples
    --------
    >>> from_unit(50.0, "°F"), from_unit(1.0, "in"), from_unit(0.5, "1")
    (10.0, 25.4, 50.0)
    """
    spelt = plain_unit(unit)
    if spelt == "f":
        return fahrenheit_to_celsius(values)
    if spelt == "k":
        return values - KELVIN
    if spelt == "c":
        return values
    factor = FACTORS[spelt]
    return values if factor == 1.0 else values * factor


def fahrenheit_to_celsius(temperature_f: Numeric) -> Numeric:
    """Return °C from °F.

    Examples
    --------
    >>> fahrenheit_to_celsius(212.0)
    100.0
    """
    return (temperature_f - 32.0) / 1.8


def celsius_to_fahrenheit(temperature_c: Numeric) -> Numeric:
    """Return °F from °C.

    Examples
    --------
    >>> celsius_to_fahrenheit(-40.0)
    -40.0
    """
    return temperature_c * 1.8 + 32.0


def inches_to_mm(length_in: Numeric) -> Numeric:
    """Return mm from inches.

    Examples
    --------
    >>> inches_to_mm(2.0)
    50.8
    """
    return length_in * MM_PER_INCH


def mm_to_inches(length_mm: Numeric) -> Numeric:
    """Return inches from mm.

    Examples
    --------
    >>> mm_to_inches(50.8)
    2.0
    """
    return length_mm / MM_PER_INCH


def mph_to_metres_per_second(speed_mph: Numeric) -> Numeric:
    """Return m/s from miles per hour.

    Examples
    --------
    >>> mph_to_metres_per_second(10.0)
    4.4704
    """
    return speed_mph * METRES_PER_SECOND_PER_MPH


def metres_per_second_to_mph(speed: Numeric) -> Numeric:
    """Return miles per hour from m/s.

    Examples
    --------
    >>> metres_per_second_to_mph(4.4704)
    10.0
    """
    return speed / METRES_PER_SECOND_PER_MPH


def pounds_to_kg(mass_lb: Numeric) -> Numeric:
    """Return kg from pounds (avoirdupois).

    Examples
    --------
    >>> pounds_to_kg(100.0)
    45.359237
    """
    return mass_lb * KG_PER_POUND


def kg_to_pounds(mass_kg: Numeric) -> Numeric:
    """Return pounds (avoirdupois) from kg.

    Examples
    --------
    >>> kg_to_pounds(45.359237)
    100.0
    """
    return mass_kg / KG_PER_POUND


def kg_per_m2_to_pounds_per_ft2(load: Numeric) -> Numeric:
    """Return lb/ft² from kg/m².

    Examples
    --------
    >>> round(kg_per_m2_to_pounds_per_ft2(24.4), 2)
    5.0
    """
    return load * POUNDS_PER_FT2_PER_KG_PER_M2


_VULGAR = {
    "¼": "1/4",
    "½": "1/2",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⁄": "/",
}
_NUMBER = r"(?:\d+(?:[ -]+\d+/\d+)?|\d+/\d+|\d*\.\d+)"
_MEASURE = re.compile(rf"(?P<number>-?{_NUMBER}|-?\d+\.\d*)\s*(?P<unit>[a-z°\"']*)\.?")
LONGEST_MEASURE = 60
_INCH, _POUND = Fraction(str(MM_PER_INCH)), Fraction(str(KG_PER_POUND))
_FOOT = 12 * _INCH
MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    **dict.fromkeys(("in", "inch", "inches", '"'), _INCH),
    **dict.fromkeys(("ft", "foot", "feet", "'"), _FOOT),
}
KG_PER_UNIT = {
    "kg": Fraction(1),
    "g": Fraction(1, 1000),
    "oz": _POUND / 16,
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), _POUND),
}


def value_of(
    given: float | str, per_unit: dict[str, Fraction], bare: str
) -> float | None:
    """Return a measure in the table's base unit, or None when it cannot be read."""
    if not isinstance(given, str):
        return float(given) * float(per_unit[bare])
    written = measure(given)
    if written is None or written[1] not in {"", *per_unit}:
        return None
    number, unit = written
    return float(number * per_unit[unit or bare])


def tidy(text: str) -> str:
    """Return lower-case text with one kind of quote, fraction and decimal point."""
    plain = text.strip().lower()
    for sign, spelt in _VULGAR.items():
        apart = "" if spelt == "/" else " "
        plain = re.sub(rf"(?<=\d)\s*{sign}", f"{apart}{spelt}", plain)
        plain = plain.replace(sign, spelt)
    for quote in ("″", "”", "“", "''"):
        plain = plain.replace(quote, '"')
    for quote in ("′", "’"):
        plain = plain.replace(quote, "'")
    plain = plain.replace("−", "-")
    return re.sub(r"(?<=\d),(?=\d)", ".", plain)


def measure(text: str) -> tuple[Fraction, str] | None:
    """Return (number, unit) of "1 1/8 in", or None when it is not a measure."""
    plain = text if len(text) <= LONGEST_MEASURE else ""
    match = _MEASURE.fullmatch(tidy(plain).lstrip("+"))
    if match is None:
        return None
    number = match["number"]
    sign = -1 if number.startswith("-") else 1
    parts = re.split(r"[ -]+", number.lstrip("-"))
    # Any digits of zero, as "٠" too.
    if any(int(part.partition("/")[2] or 1) == 0 for part in parts):
        return None
    return sign * sum((Fraction(part) for part in parts), Fraction()), match["unit"]
