"""Any measure of humidity -> relative humidity over liquid water."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN
from emcforecast.physics.moist_air import (
    MOLAR_RATIO,
    R_V,
    relative_humidity,
    saturation_vapour_pressure,
    vapour_pressure_from_specific_humidity,
)
from emcforecast.weather.repairs import Repair, RepairKind, repair

PSYCHROMETER = 6.53e-4
"""Coefficient of the ventilated psychrometer over water, 1/K."""


def standard_pressure(elevation: float) -> float:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    elevation : float
        Height above the sea, m.

    Returns
    -------
    float
        Pressure, Pa.

    References
    ----------
    ISO 2533, troposphere: p = 101325 (1 - 2.25577e-5 z)^5.25588.

    Examples
    --------
    >>> round(standard_pressure(1000.0))
    89875
    """
    return float(101325.0 * (1.0 - 2.25577e-5 * elevation) ** 5.25588)


def vapour_pressure_from_wet_bulb(
    temperature: npt.ArrayLike, wet_bulb: npt.ArrayLike, pressure: npt.ArrayLike
) -> FloatArray:
    """Vapour pressure from a ventilated psychrometer.

    Parameters
    ----------
    temperature : array_like
        Dry bulb, °C.
    wet_bulb : array_like
        Wet bulb, °C, covered with water also below freezing.
    pressure : array_like
        Barometric pressure, Pa.

    Returns
    -------
    ndarray
        Vapour pressure, Pa; negative where the readings contradict one another.

    Notes
    -----
    e = e_s(t_w) - 6.53e-4 (1 + 9.44e-4 t_w) p (t - t_w).

    References
    ----------
    WMO No. 8, Guide to Instruments and Methods of Observation, Annex 4.B.

    Examples
    --------
    >>> round(float(vapour_pressure_from_wet_bulb(20.0, 15.0, 101325.0)))
    1366
    """
    t = np.asarray(temperature, dtype=np.float64)
    t_w = np.asarray(wet_bulb, dtype=np.float64)
    p = np.asarray(pressure, dtype=np.float64)
    slope = PSYCHROMETER * (1.0 + 9.44e-4 * t_w)
    result: FloatArray = saturation_vapour_pressure(t_w) - slope * p * (t - t_w)
    return result


def humidity_from(
    temperature: FloatArray,
    given: Mapping[str, FloatArray],
    *,
    elevation: float | None = None,
) -> tuple[FloatArray | None, list[Repair]]:
    """Relative humidity from whatever measure of humidity there is.

    Parameters
    ----------
    temperature : ndarray, shape (n,)
        Air temperature, °C.
    given : mapping of str to ndarray, shape (n,)
        Any of ``relative_humidity`` (%), ``dew_point`` (°C), ``vapour_pressure``
        (Pa), ``absolute_humidity`` (kg/m³), ``specific_humidity`` and
        ``mixing_ratio`` (kg/kg), ``wet_bulb`` (°C), with ``pressure`` (Pa) for the
        last three; earlier ones are preferred, later ones fill what they lack.
    elevation : float, optional
        Height (m) from which pressure is taken when there is none.

    Returns
    -------
    ndarray or None
        Relative humidity (%), not capped; None when nothing serves.
    list of Repair
        What was derived from what, with counts.
    """
    pressure = given.get("pressure")
    repairs: list[Repair] = []
    result: FloatArray | None = None
    for name in _DERIVED:
        if name not in given:
            continue
        if name == "relative_humidity":
            result = np.array(given[name], dtype=np.float64)
            continue
        p_pa = pressure
        if name in _NEED_PRESSURE:
            p_pa, more = _some_pressure(temperature, pressure, elevation)
            repairs += more
        with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
            e_pa = _vapour_pressure(name, temperature, given[name], p_pa)
            e_pa = np.where((e_pa > 0.0) & (np.abs(temperature) < 95.0), e_pa, np.nan)
            derived = relative_humidity(temperature, e_pa)
        if result is None:
            result = np.full(temperature.shape, np.nan)
        use = np.isnan(result) & np.isfinite(derived)
        count = int(np.count_nonzero(use))
        if count:
            result = np.where(use, derived, result)
            # No count where it is all of them, however many.
            some = None if count == temperature.size else count
            repairs.append(repair(RepairKind.HUMIDITY_DERIVED, some, name))
    return result, repairs


_DERIVED = (
    *("relative_humidity", "dew_point", "vapour_pressure", "absolute_humidity"),
    *("specific_humidity", "mixing_ratio", "wet_bulb"),
)
_NEED_PRESSURE = ("specific_humidity", "mixing_ratio", "wet_bulb")


def _some_pressure(
    temperature: FloatArray, pressure: FloatArray | None, elevation: float | None
) -> tuple[FloatArray, list[Repair]]:
    fallback = standard_pressure(elevation or 0.0)
    if pressure is not None and np.isfinite(pressure).any():
        usual = np.nanmedian(pressure)
        return np.where(np.isfinite(pressure), pressure, usual), []
    return np.full(temperature.shape, fallback), [
        repair(RepairKind.STANDARD_PRESSURE, elevation=elevation)
    ]


def _vapour_pressure(
    name: str, temperature: FloatArray, values: FloatArray, pressure: FloatArray | None
) -> FloatArray:
    if name == "dew_point":
        # A dew point within rounding of the air is kept; one well above it is not.
        fits = (values <= temperature + 1.0) & (values > -90.0)
        return np.where(fits, saturation_vapour_pressure(values), np.nan)
    if name == "vapour_pressure":
        return values
    if name == "absolute_humidity":
        return values * R_V * (temperature + KELVIN)
    p_pa = np.asarray(pressure, dtype=np.float64)
    if name == "specific_humidity":
        return vapour_pressure_from_specific_humidity(values, p_pa)
    if name == "mixing_ratio":
        ratio: FloatArray = values * p_pa / (MOLAR_RATIO + values)
        return ratio
    fits = (values <= temperature + 0.5) & (values > -90.0)
    return np.where(
        fits, vapour_pressure_from_wet_bulb(temperature, values, p_pa), np.nan
    )
