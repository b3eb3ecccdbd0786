"""Units as archives write them, to the units of the weather series."""

from __future__ import annotations

from emcforecast._types import FloatArray
from emcforecast.errors import ArchiveError

#: Factor and offset to our unit, by kind of quantity and the archive's unit.
TEMPERATURE = {
    "c": (1.0, 0.0),
    "f": (5 / 9, -160 / 9),
    "k": (1.0, -273.15),
}
SPEED = {
    "m/s": (1.0, 0.0),
    "ms": (1.0, 0.0),
    "km/h": (1 / 3.6, 0.0),
    "kmh": (1 / 3.6, 0.0),
    "mph": (0.44704, 0.0),
    "mp/h": (0.44704, 0.0),
    "kn": (1852 / 3600, 0.0),
    "kt": (1852 / 3600, 0.0),
}
HUMIDITY = {"%": (1.0, 0.0), "percent": (1.0, 0.0), "fraction": (100.0, 0.0)}
DEPTH = {"mm": (1.0, 0.0), "inch": (25.4, 0.0), "in": (25.4, 0.0), "m": (1000.0, 0.0)}
#: Per step of an hour unless a day is said.
RADIATION = {
    "w/m2": (1.0, 0.0),
    "wh/m2": (1.0, 0.0),
    "mj/hr": (1e6 / 3600, 0.0),
    "mj/m2/hour": (1e6 / 3600, 0.0),
    "mj/m2/hr": (1e6 / 3600, 0.0),
    "wh/m2/day": (1 / 24, 0.0),
    "kwh/m2/day": (1000 / 24, 0.0),
    "kw-hr/m2/day": (1000 / 24, 0.0),
    "mj/m2/day": (1e6 / 86400, 0.0),
    "mj/m2": (1e6 / 86400, 0.0),
    "j/m2": (1 / 3600, 0.0),
}
PRESSURE = {"pa": (1.0, 0.0), "hpa": (100.0, 0.0), "kpa": (1000.0, 0.0)}
SPECIFIC = {"g/kg": (1e-3, 0.0), "kg/kg": (1.0, 0.0), "kgkg-1": (1.0, 0.0)}

KINDS = {
    "air_temperature": TEMPERATURE,
    "air_temperature_min": TEMPERATURE,
    "air_temperature_max": TEMPERATURE,
    "dew_point": TEMPERATURE,
    "relative_humidity": HUMIDITY,
    "precipitation": DEPTH,
    "wind_speed": SPEED,
    "shortwave": RADIATION,
    "pressure": PRESSURE,
    "specific_humidity": SPECIFIC,
}


def plain(unit: str) -> str:
    """Spell a unit plainly.

    Examples
    --------
    >>> plain("MJ/m^2/day"), plain("°C"), plain("W/m²")
    ('mj/m2/day', 'c', 'w/m2')
    """
    text = unit.strip().lower().replace("²", "2").replace("^", "").replace(" ", "")
    for sign in ("°", "degrees", "degree", "deg"):
        text = text.replace(sign, "")
    words = {"celsius": "c", "fahrenheit": "f", "kelvin": "k", "knots": "kn"}
    return words.get(text, text)


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
    """
    known = KINDS[name]
    found = known.get(plain(unit))
    if found is None:
        raise ArchiveError(
            f"the {archive} reply gives {name.replace('_', ' ')} in {unit!r}; "
            f"known: {', '.join(known)}"
        )
    factor, offset = found
    if (factor, offset) == (1.0, 0.0):
        return column
    return column * factor + offset
