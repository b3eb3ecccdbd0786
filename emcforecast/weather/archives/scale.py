"""Units as archives write them, to the units of the weather series."""

from emcforecast._types import FloatArray
from emcforecast.conversions import TEMPERATURES, from_unit, plain_unit, split_rate
from emcforecast.errors import ArchiveError

_KNOWN = {
    **dict.fromkeys(
        ("air_temperature", "air_temperature_min", "air_temperature_max", "dew_point"),
        TEMPERATURES,
    ),
    "relative_humidity": ("%", "1"),
    "precipitation": ("mm", "in", "m"),
    "wind_speed": ("m/s", "km/h", "mph", "kn"),
    "shortwave": ("w/m2", "wh/m2", "kwh/m2", "j/m2", "mj/m2"),
    "pressure": ("pa", "hpa", "kpa"),
    "specific_humidity": ("kg/kg", "g/kg"),
}
#: Hours of an energy that does not say for how long it is: archives give MJ for a day.
_HOURS = {"mj/m2": 24.0}


def scaled(column: FloatArray, unit: str, name: str, archive: str) -> FloatArray:
    """Convert a column to the unit of the weather series.

    Returns
    -------
    ndarray
        °C, %, mm, m/s, W/m², Pa or kg/kg.

    Examples
    --------
    >>> import numpy as np
    >>> float(scaled(np.array([212.0]), "°F", "air_temperature", "x")[0].round(9))
    100.0
    >>> float(scaled(np.array([8.64]), "MJ/m^2/day", "shortwave", "x")[0].round(9))
    100.0
    """
    spelt, hours = plain_unit(unit), None
    if name == "shortwave":
        spelt, hours = split_rate(unit)
    if spelt not in _KNOWN[name]:
        raise ArchiveError(
            f"the {archive} reply gives {name.replace('_', ' ')} in {unit!r}; "
            f"known: {', '.join(_KNOWN[name])}"
        )
    if name == "shortwave":
        return from_unit(column, spelt) / (hours or _HOURS.get(spelt, 1.0))
    return from_unit(column, spelt)
