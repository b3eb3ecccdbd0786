"""Variables of NetCDF files -> quantities, by whatever names them."""

from __future__ import annotations

import re

import xarray as xr

_PARAMETERS = {
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
_STANDARD = {
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
_NAMES = {
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
_BY_NAME = {
    word: quantity for quantity, words in _NAMES.items() for word in words.split()
}
_LONG = (
    (r"2 ?met(re|er) dew ?point", "dew_point"),
    (r"2 ?met(re|er) temperature|near.surface (air )?temperature", "air_temperature"),
    (r"relative humidity", "relative_humidity"),
    (r"specific humidity", "specific_humidity"),
    (r"vapou?r pressure", "vapour_pressure"),
)
_SKIP = re.compile(r"sea|soil|skin|snow|canopy|lake|850|500|gust|direction|stddev|flag")


def quantity_of(name: str, variable: xr.DataArray) -> str | None:
    """Say what a variable is, from its parameter number, standard name, name, label.

    Parameters
    ----------
    name : str
        Its name in the file.
    variable : xarray.DataArray
        With its attributes.

    Returns
    -------
    str or None
        Quantity; None for anything that is not near-surface weather.
    """
    attrs = variable.attrs
    low = name.lower()
    label = str(attrs.get("long_name", "")).lower()
    found = _BY_NAME.get(low)
    number = attrs.get("GRIB_paramId", attrs.get("param_id"))
    if found is None and number is not None:
        found = _PARAMETERS.get(int(number))
    if found is None:
        found = _STANDARD.get(str(attrs.get("standard_name", "")))
        if found is not None and _SKIP.search(low):
            return None
    if found is None:
        found = next((q for pattern, q in _LONG if re.search(pattern, label)), None)
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
