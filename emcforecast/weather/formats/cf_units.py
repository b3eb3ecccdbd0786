"""Values of NetCDF variables -> series units, held against what the file says."""

from __future__ import annotations

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.conversions import TEMPERATURES, from_unit, plain_unit, split_rate
from emcforecast.errors import WeatherError
from emcforecast.weather.repairs import Repair, RepairKind, repair

_KNOWN = {
    **dict.fromkeys(
        ("vapour_pressure", "pressure"), (("pa", "hpa", "kpa"), "Pa, hPa or kPa")
    ),
    **dict.fromkeys(
        ("specific_humidity", "mixing_ratio"),
        (("kg/kg", "g/kg", "1", ""), "kg/kg or g/kg"),
    ),
}
"""Units of some quantities, and how to say them."""


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
    key = plain_unit(units)
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
    allowed, said = _KNOWN.get(quantity, (("m/s", "km/h", "kn", "mph"), "m s-1"))
    if key not in allowed:
        raise _odd(name, units, said)
    plain_ratio = key in ("1", "")
    return from_unit(values, "kg/kg" if plain_ratio else key), []


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
    if key in TEMPERATURES:
        out = from_unit(values, key)
    elif key == "" and middle > 180.0:
        out = from_unit(values, "k")
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
    if key == "%":
        if 0.0 < top <= 1.0:
            raise WeatherError(
                f"variable {name} says % but never passes {top:.2g}; correct its units "
                "(1 for a fraction)"
            )
        return values, []
    if key in ("1", ""):
        if top <= 1.5:
            fraction = repair(RepairKind.VARIABLE_FRACTION, variable=name, top=top)
            return values * 100.0, [fraction]
        return values, [repair(RepairKind.VARIABLE_PERCENT, variable=name, top=top)]
    raise _odd(name, units, "% or 1")


def _amount(
    name: str, values: FloatArray, key: str, units: str, hours: float, monthly: bool
) -> tuple[FloatArray, list[Repair]]:
    depth, per = split_rate(units)
    if depth in ("mm/month", "mmmonth-1", "mmmon-1"):
        depth = "mm"
    elif depth not in ("mm", "cm", "in", "m"):
        return _unknown_unit(name, values, units)
    elif depth == "m" and per is None and monthly:
        per = 24.0
    amount = from_unit(values, depth) * (1.0 if per is None else hours / per)
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
    energy, per = split_rate(units)
    if energy == "w/m2":
        return values, []
    if energy in ("j/m2", "kj/m2", "mj/m2"):
        per = per or (24.0 if monthly else hours)
        return np.maximum(from_unit(values, energy), 0.0) / per, []
    return _unknown_unit(name, values, units)
