"""Inches, degrees Fahrenheit, pounds and miles per hour, by their definitions."""

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
