"""Values of NetCDF variables -> series units, held against what the file says."""

from __future__ import annotations

import re

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import KELVIN
from emcforecast.weather.repairs import Repair, RepairKind, repair


def in_series_units(
    quantity: str,
    name: str,
    values: FloatArray,
    units: str,
    *,
    hours: float,
    monthly: bool,
) -> tuple[FloatArray, list[Repair]]:
    """Bring values of a NetCDF variable to series units, checking that they fit.

    Parameters
    ----------
    quantity : str
        What it is.
    name : str
        Its name, for messages.
    values : ndarray
        As stored.
    units : str
        As stated.
    hours : float
        Length of a step (h).
    monthly : bool
        True for monthly means, where amounts are mostly per day.

    Returns
    -------
    ndarray
        °C, %, Pa, kg/kg, mm per step, m/s, W/m².
    list of Repair
        What was decided.
    """
    key = re.sub(r"[\s_*^]+", "", units.strip().lower()).replace("µ", "u")
    known = values[np.isfinite(values)]
    middle = float(np.median(known)) if known.size else 0.0
    if quantity in (
        "air_temperature",
        "dew_point",
        "wet_bulb",
        "daily_maximum",
        "daily_minimum",
    ):
        return _temperature(name, values, key, units, middle)
    if quantity == "relative_humidity":
        return _humidity(name, values, key, units, known)
    if quantity == "precipitation":
        return _amount(name, values, key, units, hours, monthly)
    if quantity == "shortwave":
        return _sun(name, values, key, units, hours, monthly, known)
    if quantity in ("vapour_pressure", "pressure"):
        factor = {
            "pa": 1.0,
            "hpa": 100.0,
            "mbar": 100.0,
            "mb": 100.0,
            "millibars": 100.0,
            "kpa": 1e3,
        }
        if key not in factor:
            raise _odd(name, units, "Pa, hPa or kPa")
        return values * factor[key], []
    if quantity in ("specific_humidity", "mixing_ratio"):
        factor = {
            "kgkg-1": 1.0,
            "kg/kg": 1.0,
            "1": 1.0,
            "": 1.0,
            "gkg-1": 1e-3,
            "g/kg": 1e-3,
        }
        if key not in factor:
            raise _odd(name, units, "kg/kg or g/kg")
        return values * factor[key], []
    factor = {
        "ms-1": 1.0,
        "m/s": 1.0,
        "kmh-1": 1 / 3.6,
        "km/h": 1 / 3.6,
        "knots": 0.514444,
        "kn": 0.514444,
        **dict.fromkeys(("mph", "mih-1", "mi/h", "mileshour-1"), 0.44704),
    }
    if key not in factor:
        raise _odd(name, units, "m s-1")
    return values * factor[key], []


def _odd(name: str, units: str, allowed: str) -> WeatherError:
    return WeatherError(
        f"variable {name} has units '{units}', which are not known for it; "
        f"it should be in {allowed}"
    )


def _unknown_unit(
    name: str, values: FloatArray, units: str
) -> tuple[FloatArray, list[Repair]]:
    kind = RepairKind.VARIABLE_UNIT_UNKNOWN
    return np.full_like(values, np.nan), [repair(kind, variable=name, units=units)]


def _temperature(
    name: str, values: FloatArray, key: str, units: str, middle: float
) -> tuple[FloatArray, list[Repair]]:
    found: list[Repair] = []
    if key in ("k", "kelvin", "degk", "degreesk", "degreek"):
        out = values - KELVIN
    elif key in (
        "c",
        "°c",
        "degc",
        "degreec",
        "degreesc",
        "celsius",
        "degreecelsius",
        "degreescelsius",
        "degcelsius",
    ):
        out = values
    elif key in (
        "f",
        "°f",
        "degf",
        "fahrenheit",
        "degreefahrenheit",
        "degreesfahrenheit",
    ):
        out = (values - 32.0) / 1.8
    elif key == "" and middle > 180.0:
        out = values - KELVIN
        found = [repair(RepairKind.VARIABLE_KELVIN, variable=name)]
    else:
        raise _odd(name, units, "K, degC or degF")
    known = out[np.isfinite(out)]
    if known.size and not -95.0 < float(np.median(known)) < 62.0:
        raise WeatherError(
            f"variable {name} says '{units}' but its values are about {middle:g}; "
            "correct its units"
        )
    return out, found


def _humidity(
    name: str, values: FloatArray, key: str, units: str, known: FloatArray
) -> tuple[FloatArray, list[Repair]]:
    top = float(np.quantile(known, 0.999)) if known.size else 100.0
    if key in ("%", "percent", "pct"):
        if 0.0 < top <= 1.0:
            raise WeatherError(
                f"variable {name} says % but never passes {top:.2g}; correct its units "
                "(1 for a fraction)"
            )
        return values, []
    if key in ("1", "", "fraction", "-", "dimensionless", "(0-1)"):
        if top <= 1.5:
            fraction = repair(RepairKind.VARIABLE_FRACTION, variable=name, top=top)
            return values * 100.0, [fraction]
        return values, [repair(RepairKind.VARIABLE_PERCENT, variable=name, top=top)]
    raise _odd(name, units, "% or 1")


def _amount(
    name: str, values: FloatArray, key: str, units: str, hours: float, monthly: bool
) -> tuple[FloatArray, list[Repair]]:
    days = hours / 24.0
    per_step = {
        **{"mm": 1.0, "kgm-2": 1.0, "kg/m2": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4},
        "m": 1000.0 * (days if monthly else 1.0),
        **dict.fromkeys(("kgm-2s-1", "kg/m2/s", "mms-1", "mm/s"), 3600.0 * hours),
        **dict.fromkeys(
            ("mmday-1", "mm/day", "mmd-1", "mm/d", "kgm-2day-1", "kgm-2d-1"), days
        ),
        **dict.fromkeys(("mmh-1", "mm/h", "mmhr-1", "mm/hr"), hours),
        **dict.fromkeys(("mm/month", "mmmonth-1", "mmmon-1"), 1.0),
        **dict.fromkeys(("ms-1", "m/s"), 3.6e6 * hours),
        **dict.fromkeys(("mday-1", "m/day", "md-1"), 1000.0 * days),
    }
    if key not in per_step:
        return _unknown_unit(name, values, units)
    amount = values * per_step[key]
    # Packing leaves traces of rain that never fell.
    return np.where(amount < 1e-3, np.where(np.isnan(amount), np.nan, 0.0), amount), []


def _sun(
    name: str,
    values: FloatArray,
    key: str,
    units: str,
    hours: float,
    monthly: bool,
    known: FloatArray,
) -> tuple[FloatArray, list[Repair]]:
    if key in ("wm-2", "w/m2", "w/m²"):
        return values, []
    seconds = 86400.0 if monthly else 3600.0 * hours
    factor = {
        "jm-2": 1.0,
        "j/m2": 1.0,
        "kjm-2": 1e3,
        "kj/m2": 1e3,
        "mjm-2": 1e6,
        "mj/m2": 1e6,
    }
    daily = {"jm-2day-1": 1.0, "kjm-2day-1": 1e3, "mjm-2day-1": 1e6, "jm-2d-1": 1.0}
    if key in factor:
        return np.maximum(values, 0.0) * factor[key] / seconds, []
    if key in daily:
        return np.maximum(values, 0.0) * daily[key] / 86400.0, []
    return _unknown_unit(name, values, units)
