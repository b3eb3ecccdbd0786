"""Quantities of the weather by the names people have for them."""

from emcforecast.language import NP_, p_

_QUANTITIES = {
    "air_temperature": NP_("quantity", "air temperature"),
    "temperature": NP_("quantity", "temperature"),
    "relative_humidity": NP_("quantity", "relative humidity"),
    "pressure": NP_("quantity", "pressure"),
    "air_pressure": NP_("quantity", "air pressure"),
    "surface_pressure": NP_("quantity", "surface pressure"),
    "wind_speed": NP_("quantity", "wind speed"),
    "shortwave": NP_("quantity", "shortwave"),
    "longwave": NP_("quantity", "longwave"),
    "precipitation": NP_("quantity", "precipitation"),
    "dew_point": NP_("quantity", "dew point"),
    "specific_humidity": NP_("quantity", "specific humidity"),
    "vapour_pressure": NP_("quantity", "vapour pressure"),
    "wet_bulb": NP_("quantity", "wet bulb"),
    "mixing_ratio": NP_("quantity", "mixing ratio"),
    "absolute_humidity": NP_("quantity", "absolute humidity"),
    "sea_level_pressure": NP_("quantity", "sea level pressure"),
    "humidity": NP_("quantity", "humidity"),
    "latitude": NP_("quantity", "latitude"),
    "longitude": NP_("quantity", "longitude"),
    "elevation": NP_("quantity", "elevation"),
}


def quantity_name(quantity: str) -> str:
    """Name a quantity of a weather series: "air temperature"."""
    known = _QUANTITIES.get(quantity)
    return quantity.replace("_", " ") if known is None else p_("quantity", known)
