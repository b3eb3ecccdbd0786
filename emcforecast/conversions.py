"""The one table of units, by their definitions, and °F, inches, pounds and mph."""

import re
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
