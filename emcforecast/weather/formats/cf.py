"""NetCDF variables -> quantities, by CF and common names."""

from __future__ import annotations

import re

import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.formats.csv_units import HUMIDITY_MEASURES
from emcforecast.weather.hints import Hints
from emcforecast.weather.quantities import quantity_name

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
        "t2m 2t tas t2 tair temp tmp temperature air_temperature t_2m tavg tmean tg "
        "airt ta2m tmp2m temp2m"
    ),
    "dew_point": (
        "d2m 2d tdps dewpoint dew_point td dew_point_temperature t2mdew td_2m dpt "
        "tdew tdmean dewpoint_temperature"
    ),
    "relative_humidity": (
        "hurs rh rh2m r2 2r relative_humidity relhum rhum hu rh_2m rehu"
    ),
    "specific_humidity": (
        "huss q2m qv2m q2 shum sph specific_humidity qair sh2 2sh spfh speh qv_2m"
    ),
    "vapour_pressure": (
        "vap vapr vp ea vapour_pressure vapor_pressure e2m actual_vapor_pressure"
    ),
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
    (
        r"^(mean |monthly mean )?(surface )?air temperature( at 2 ?m)?$",
        "air_temperature",
    ),
)
#: Words in a variable's name that make it something else than air near the ground.
_SKIP = re.compile(r"sea|soil|skin|snow|canopy|lake|850|500|gust|direction|stddev|flag")
_ELSEWHERE = re.compile(
    r"sea_(surface_temp|water|ice)|soil|skin|snow|canopy|lake|_ice|tendency|anomaly"
)
"""Standard names of what is not the air near the ground."""
_AT_TWO_METRES = re.compile(
    r"[_ ]?(at[_ ])?2[_ -]?m(et(er|re)s?)?([_ ]?above[_ ]?ground)?$"
    r"|_(height_above_ground|f_inst|f_tavg|mean)$"
)
"""Ends of names that say where or how of what stands before."""


def _by_name(low: str) -> str | None:
    return VARIABLE_NAMES.get(low) or VARIABLE_NAMES.get(_AT_TWO_METRES.sub("", low))


def quantity_of(name: str, variable: xr.DataArray) -> str | None:
    """Say what a variable is, from its parameter number, standard name, name, label."""
    attrs = variable.attrs
    low = name.lower()
    label = str(attrs.get("long_name", "")).lower()
    standard = str(attrs.get("standard_name", "")).lower()
    if _ELSEWHERE.search(standard):
        return None
    found = _by_name(low)
    by_standard = STANDARD_NAMES.get(standard)
    if by_standard is not None and not (
        found in ("daily_maximum", "daily_minimum") and by_standard == "air_temperature"
    ):
        # The standard name says it even where the short one says something else.
        if found is None and _SKIP.search(low):
            return None
        found = by_standard
    number = attrs.get("GRIB_paramId", attrs.get("param_id"))
    if found is None and number is not None:
        found = GRIB_PARAMETERS.get(int(number))
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
                _(
                    "the file has no variable '{name}'; it has {names}",
                    name=name,
                    names=", ".join(map(str, opened.data_vars))[:200],
                )
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
                _(
                    "several variables may be the {quantity}: {found}; choose "
                    "one with --column {quantity2}=NAME",
                    quantity=quantity_name(quantity),
                    found=", ".join(found[quantity]),
                    quantity2=quantity,
                )
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
            _(
                "the file has temperature but no humidity (variables: "
                "{names}); relative humidity, dew point, vapour pressure or "
                "specific humidity is needed: get it too and give both "
                "files, joined by +",
                names=names,
            )
        )
    what = "air temperature" if has_humidity else "weather"
    raise WeatherError(
        _(
            "no variable is recognised as {what} (variables: {names}); "
            "both temperature and humidity are needed: say --column "
            "air_temperature=NAME",
            what=what,
            names=names,
        )
    )
