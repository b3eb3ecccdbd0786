"""Published indoor climates to hold a setting against; none is a measurement."""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN
from emcforecast.physics.moist_air import (
    R_V,
    relative_humidity,
    saturation_vapour_pressure,
)
from emcforecast.physics.sorption import equilibrium_moisture_content

HUMIDITY_CLASSES: dict[int, tuple[float, str]] = {
    1: (2.0, "unoccupied buildings, storage of dry goods"),
    2: (4.0, "offices, dwellings with normal occupancy and ventilation"),
    3: (6.0, "buildings with unknown occupancy"),
    4: (8.0, "sports halls, kitchens, canteens"),
}
"""ISO 13788:2012 Annex A: highest moisture excess at and below 0 °C, g/m³."""


def en_15026_climate(
    outdoor_temperature: ArrayLike, high_occupancy: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Indoor temperature and humidity of EN 15026 for a daily mean outdoors.

    Parameters
    ----------
    outdoor_temperature : array_like
        Daily mean, °C.
    high_occupancy : bool
        The line for high occupancy, 10 % RH above the normal one.

    Returns
    -------
    tuple of ndarray
        Temperature, °C, and relative humidity, %, elementwise.

    Notes
    -----
    20 °C up to 10 °C outdoors, rising to 25 °C at 20 °C; 30 % RH up to -10 °C, rising
    to 60 % at 20 °C. A design level: measured rooms are mostly drier.

    References
    ----------
    EN 15026:2007, Annex C (from memory).

    Examples
    --------
    >>> t, rh = en_15026_climate([-10.0, 10.0, 20.0])
    >>> t.tolist(), rh.tolist()
    ([20.0, 20.0, 25.0], [30.0, 50.0, 60.0])
    """
    outside = np.asarray(outdoor_temperature, dtype=np.float64)
    t = np.clip(20.0 + 0.5 * (outside - 10.0), 20.0, 25.0)
    rh = np.clip(30.0 + (outside + 10.0), 30.0, 60.0)
    return t, rh + (10.0 if high_occupancy else 0.0)


def en_15026_emc(
    outdoor_temperature: ArrayLike, high_occupancy: bool = False
) -> FloatArray:
    """Equilibrium moisture content in the indoor climate of EN 15026.

    Parameters
    ----------
    outdoor_temperature : array_like
        Daily mean, °C.
    high_occupancy : bool
        As for `en_15026_climate`.

    Returns
    -------
    ndarray
        % MC, elementwise.

    Examples
    --------
    >>> en_15026_emc([-10.0, 0.0, 10.0, 20.0]).round(1).tolist()
    [6.2, 7.7, 9.3, 10.8]
    """
    return equilibrium_moisture_content(
        *en_15026_climate(outdoor_temperature, high_occupancy)
    )


def iso_13788_emc(
    outdoor_temperature: ArrayLike,
    outdoor_vapour_pressure: ArrayLike,
    humidity_class: int,
    indoor_temperature: ArrayLike = 20.0,
) -> FloatArray:
    """Equilibrium moisture content at the upper limit of an ISO 13788 humidity class.

    Parameters
    ----------
    outdoor_temperature : array_like
        Monthly mean, °C.
    outdoor_vapour_pressure : array_like
        Monthly mean, Pa.
    humidity_class : int
        1 (storage) to 4 (kitchens, sports halls).
    indoor_temperature : array_like
        °C.

    Returns
    -------
    ndarray
        % MC, elementwise.

    Notes
    -----
    The moisture excess is the class's limit up to 0 °C outdoors and falls to nothing
    at 20 °C.

    References
    ----------
    ISO 13788:2012, Annex A (from memory).

    Examples
    --------
    >>> [round(float(iso_13788_emc(0.0, 500.0, c)), 1) for c in (1, 2, 3)]
    [6.7, 8.4, 10.3]
    """
    outside = np.asarray(outdoor_temperature, dtype=np.float64)
    inside = np.asarray(indoor_temperature, dtype=np.float64)
    limit = HUMIDITY_CLASSES[humidity_class][0] * 1.0e-3
    excess = limit * np.clip(1.0 - outside / 20.0, 0.0, 1.0)
    e = np.asarray(outdoor_vapour_pressure) + excess * R_V * (inside + KELVIN)
    e = np.minimum(e, saturation_vapour_pressure(inside))
    return equilibrium_moisture_content(inside, relative_humidity(inside, e))
