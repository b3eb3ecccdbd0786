"""NetCDF variables -> quantities, by CF and common names, and their series units."""

from __future__ import annotations

import re

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.conversions import TEMPERATURES, from_unit, plain_unit, split_rate
from emcforecast.errors import WeatherError
from emcforecast.weather.formats.csv_units import HUMIDITY_MEASURES
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, repair

#: Quantities of NetCDF variables, by GRIB parameter number, by CF standard name, by
#: short name and by label.
GRIB_PARAMETERS = {
    **{
        167: "air_temperature",
        168: "dew_point",
        134: "pressure",
        157: "relative_humidity",
    },
    **{228: "precipitation", 169: "shortwave", 133: "specific_humidity"},
    **{165: "eastward_wind", 166: "northward_wind", 207: "wind_speed"},
    **{201: "daily_maximum", 202: "daily_minimum"},
}
STANDARD_NAMES = {
    "air_temperature": "air_temperature",
    "surface_temperature_of_air": "air_temperature",
    "dew_point_temperature": "dew_point",
    "wet_bulb_temperature": "wet_bulb",
    "relative_humidity": "relative_humidity",
    "specific_humidity": "specific_humidity",
    "humidity_mixing_ratio": "mixing_ratio",
    "water_vapor_partial_pressure_in_air": "vapour_pressure",
    "surface_air_pressure": "pressure",
    "precipitation_amount": "precipitation",
    "precipitation_flux": "precipitation",
    "lwe_thickness_of_precipitation_amount": "precipitation",
    "lwe_precipitation_rate": "precipitation",
    "rainfall_flux": "precipitation",
    "wind_speed": "wind_speed",
    "eastward_wind": "eastward_wind",
    "northward_wind": "northward_wind",
    "surface_downwelling_shortwave_flux_in_air": "shortwave",
    "surface_downwelling_shortwave_flux": "shortwave",
}
_SHORT_NAMES = {
    "air_temperature": (
        "t2m 2t tas t2 tair temp tmp temperature air_temperature t_2m tavg tmean tg"
    ),
    "dew_point": "d2m 2d tdps dewpoint dew_point td dew_point_temperature t2mdew td_2m",
    "relative_humidity": "hurs rh rh2m r2 relative_humidity relhum rhum hu rh_2m",
    "specific_humidity": "huss q2m qv2m q2 shum sph specific_humidity qair",
    "vapour_pressure": "vap vapr vp ea vapour_pressure vapor_pressure",
    "pressure": "sp ps psfc surface_pressure pres pressure",
    "precipitation": "tp pr pre precip prcp precipitation prectotcorr rainf prec rr",
    "wind_speed": "si10 sfcwind ws10m wind_speed ws wind ws10 wspd",
    "eastward_wind": "u10 10u uas u10m",
    "northward_wind": "v10 10v vas v10m",
    "shortwave": "ssrd rsds swdown srad shortwave ghi swgdn",
    "daily_maximum": "tasmax tmx mx2t tmax tx",
    "daily_minimum": "tasmin tmn mn2t tmin tn",
}
VARIABLE_NAMES = {
    word: quantity for quantity, words in _SHORT_NAMES.items() for word in words.split()
}
LONG_NAMES = (
    (r"2 ?met(re|er) dew ?point", "dew_point"),
    (r"2 ?met(re|er) temperature|near.surface (air )?temperature", "air_temperature"),
    (r"relative humidity", "relative_humidity"),
    (r"specific humidity", "specific_humidity"),
    (r"vapou?r pressure", "vapour_pressure"),
)
#: Words in a variable's name that make it something else than air near the ground.
_SKIP = re.compile(r"sea|soil|skin|snow|canopy|lake|850|500|gust|direction|stddev|flag")


def quantity_of(name: str, variable: xr.DataArray) -> str | None:
    """Say what a variable is, from its parameter number, standard name, name, label."""
    attrs = variable.attrs
    low = name.lower()
    label = str(attrs.get("long_name", "")).lower()
    found = VARIABLE_NAMES.get(low)
    number = attrs.get("GRIB_paramId", attrs.get("param_id"))
    if found is None and number is not None:
        found = GRIB_PARAMETERS.get(int(number))
    if found is None:
        found = STANDARD_NAMES.get(str(attrs.get("standard_name", "")))
        if found is not None and _SKIP.search(low):
            return None
    if found is None:
        found = next(
            (q for pattern, q in LONG_NAMES if re.search(pattern, label)), None
        )
    if found not in ("air_temperature", "relative_humidity", "wind_speed"):
        return found
    methods = str(attrs.get("cell_methods", "")).lower()
    extreme = next((w for w in ("maximum", "minimum") if w in methods), None)
    if extreme is None and found == "air_temperature":
        extreme = next(
            (w for w in ("maximum", "minimum") if re.search(rf"\b{w}\b", label)), None
        )
    if extreme is None:
        return found
    return f"daily_{extreme}" if found == "air_temperature" else None


def choose_variables(opened: xr.Dataset, hints: Hints) -> dict[str, str]:
    """Choose a variable for every quantity the file holds."""
    given = dict(hints.columns)
    for name in given.values():
        if name not in opened.data_vars:
            raise WeatherError(
                f"the file has no variable '{name}'; it has "
                f"{', '.join(map(str, opened.data_vars))[:200]}"
            )
    found: dict[str, list[str]] = {}
    for key, variable in opened.data_vars.items():
        quantity = quantity_of(str(key), variable)
        if quantity is not None and variable.ndim > 0:
            found.setdefault(quantity, []).append(str(key))
    chosen = {quantity: names[0] for quantity, names in found.items()}
    for quantity in ("air_temperature", "relative_humidity"):
        if len(found.get(quantity, ())) > 1 and quantity not in given:
            raise WeatherError(
                f"several variables may be the {quantity.replace('_', ' ')}: "
                f"{', '.join(found[quantity])}; choose one with "
                f"--column {quantity}=NAME"
            )
    return {**chosen, **given}


def require_weather(
    opened: xr.Dataset, chosen: dict[str, str], *, partial: bool
) -> None:
    """Refuse variables without temperature or, where it is whole, without humidity."""
    names = ", ".join(map(str, opened.data_vars))[:160] or "none"
    has_temperature = "air_temperature" in chosen or (
        {"daily_maximum", "daily_minimum"} <= set(chosen)
    )
    has_humidity = bool(set(chosen) & set(HUMIDITY_MEASURES))
    if (has_temperature and has_humidity) or (
        partial and (has_temperature or has_humidity)
    ):
        return
    if has_temperature:
        raise WeatherError(
            f"the file has temperature but no humidity (variables: {names}); relative "
            "humidity, dew point, vapour pressure or specific humidity is needed: get "
            "it too and give both files, joined by +"
        )
    what = "air temperature" if has_humidity else "weather"
    raise WeatherError(
        f"no variable is recognised as {what} (variables: {names}); both temperature "
        "and humidity are needed: say "
        "--column air_temperature=NAME"
    )


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

    `hours`: length of a step (h); `monthly`: monthly means, whose amounts are mostly
    per day. Returns °C, %, Pa, kg/kg, mm per step, m/s or W/m², and what was decided.
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
