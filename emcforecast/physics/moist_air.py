"""Moist air: saturation, dew point and the ways archives report humidity.

Everything works in vapour pressure; relative humidity is over liquid water at
all temperatures, as archives report it (WMO convention).
"""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN

R_V = 461.5
"""Gas constant of water vapour, J kg⁻¹ K⁻¹."""
MOLAR_RATIO = 0.622
"""Molar mass of water over that of dry air."""

# WMO No. 8, Annex 4.B: over water and over ice.
E_0 = 611.2
WATER = (17.62, 243.12)


def saturation_vapour_pressure(temperature: ArrayLike) -> FloatArray:
    """Vapour pressure of air saturated over liquid water.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.

    Returns
    -------
    ndarray
        Vapour pressure, Pa, elementwise; NaN where the input is NaN.

    Notes
    -----
    e_s = 611.2 exp(17.62 t / (243.12 + t)); within 0.35 % of IAPWS from 0 to
    60 °C, and stated by its source for -45 to 60 °C.

    References
    ----------
    WMO No. 8, Guide to Instruments and Methods of Observation, Annex 4.B.

    Examples
    --------
    >>> round(float(saturation_vapour_pressure(20.0)), 1)
    2332.6
    """
    a, b = WATER
    t = np.asarray(temperature, dtype=np.float64)
    result: FloatArray = E_0 * np.exp(a * t / (b + t))
    return result


def dew_point(vapour_pressure_pa: ArrayLike) -> FloatArray:
    """Temperature at which air of a given vapour pressure is saturated over water.

    Parameters
    ----------
    vapour_pressure_pa : array_like
        Vapour pressure, Pa, above zero.

    Returns
    -------
    ndarray
        Dew point, °C, elementwise; NaN where the vapour pressure is not positive.

    Notes
    -----
    The exact inverse of `saturation_vapour_pressure`.

    References
    ----------
    WMO No. 8, Annex 4.B.

    Examples
    --------
    >>> round(float(dew_point(saturation_vapour_pressure(7.5))), 6)
    7.5
    """
    a, b = WATER
    e = np.asarray(vapour_pressure_pa, dtype=np.float64)
    x = np.log(np.where(e > 0.0, e, np.nan) / E_0)
    result: FloatArray = b * x / (a - x)
    return result


def vapour_pressure(
    temperature: ArrayLike, relative_humidity_pct: ArrayLike
) -> FloatArray:
    """Vapour pressure of air at a temperature and relative humidity.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.
    relative_humidity_pct : array_like
        Relative humidity over liquid water, %.

    Returns
    -------
    ndarray
        Vapour pressure, Pa, elementwise.

    Examples
    --------
    >>> round(float(vapour_pressure(20.0, 50.0)), 1)
    1166.3
    """
    h = np.asarray(relative_humidity_pct, dtype=np.float64) / 100.0
    result: FloatArray = h * saturation_vapour_pressure(temperature)
    return result


def relative_humidity(
    temperature: ArrayLike, vapour_pressure_pa: ArrayLike
) -> FloatArray:
    """Relative humidity of air at a temperature and vapour pressure.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.
    vapour_pressure_pa : array_like
        Vapour pressure, Pa.

    Returns
    -------
    ndarray
        Relative humidity over liquid water, %, elementwise; not capped at 100.

    Examples
    --------
    Foggy air at 55 °F warmed to 90 °F:

    >>> round(float(relative_humidity(32.2, vapour_pressure(12.8, 100.0))))
    31
    """
    e = np.asarray(vapour_pressure_pa, dtype=np.float64)
    result: FloatArray = 100.0 * e / saturation_vapour_pressure(temperature)
    return result


def vapour_pressure_from_specific_humidity(
    specific_humidity: ArrayLike, pressure: ArrayLike
) -> FloatArray:
    """Vapour pressure from specific humidity and barometric pressure.

    Parameters
    ----------
    specific_humidity : array_like
        Mass of vapour per mass of moist air, kg/kg.
    pressure : array_like
        Barometric pressure, Pa.

    Returns
    -------
    ndarray
        Vapour pressure, Pa, elementwise.

    Notes
    -----
    e = q p / (0.622 + 0.378 q).

    Examples
    --------
    >>> round(float(vapour_pressure_from_specific_humidity(0.010, 101325.0)))
    1619
    """
    q = np.asarray(specific_humidity, dtype=np.float64)
    p = np.asarray(pressure, dtype=np.float64)
    result: FloatArray = q * p / (MOLAR_RATIO + (1.0 - MOLAR_RATIO) * q)
    return result


LAPSE = 0.0065
"""Fall of temperature with height in the standard atmosphere, K/m."""
SEA_LEVEL = (101325.0, 288.15)
"""Pressure (Pa) and temperature (K) of the standard atmosphere at the sea."""


def pressure_at_height(
    sea_level_pressure: ArrayLike, height: ArrayLike, temperature: ArrayLike
) -> FloatArray:
    """Pressure at a height from that at sea level.

    Parameters
    ----------
    sea_level_pressure : array_like
        Pressure reduced to the sea, Pa.
    height : array_like
        Height above the sea, m.
    temperature : array_like
        Air temperature at the height, °C.

    Returns
    -------
    ndarray
        Pressure, Pa, elementwise.

    Notes
    -----
    p = p_0 (1 - L z / (T + L z))^5.25588, the layer of even lapse rate of the standard
    atmosphere, here with the temperature that the air has.

    References
    ----------
    ISO 2533, troposphere.

    Examples
    --------
    >>> round(float(pressure_at_height(101325.0, 1000.0, 8.5)))
    89875
    """
    p = np.asarray(sea_level_pressure, dtype=np.float64)
    z = np.asarray(height, dtype=np.float64)
    t = np.asarray(temperature, dtype=np.float64) + KELVIN
    result: FloatArray = p * (t / (t + LAPSE * z)) ** 5.25588
    return result


def standard_pressure(elevation: float) -> float:
    """Pressure (Pa) of the standard atmosphere at an elevation (m).

    References
    ----------
    ISO 2533, troposphere: p = 101325 (1 - 2.25577e-5 z)^5.25588.

    Examples
    --------
    >>> round(standard_pressure(1000.0))
    89875
    """
    p, t = SEA_LEVEL
    return float(pressure_at_height(p, elevation, t - KELVIN - LAPSE * elevation))
