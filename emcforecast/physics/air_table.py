"""The air as the board kernel wants it: eight numbers an hour, worked out once."""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN
from emcforecast.physics.diffusion import temperature_factor
from emcforecast.physics.moist_air import R_V, saturation_vapour_pressure
from emcforecast.physics.sorption import (
    COLDEST,
    K1,
    K2,
    K,
    W,
    coefficients,
    equilibrium_moisture_content,
)

LATENT = 2.45e6
"""J/kg."""
HEAT_CAPACITY = 1006.0
"""Of air, J/(kg K)."""
LEWIS = 0.91
"""Lewis number of moist air to the two thirds."""
ISOTHERM = np.array([*W, *K, *K1, *K2])
"""Coefficients of W, K, K1 and K2 in °C, constant first, as the kernel takes them."""


def evaporative_cooling(temperature: ArrayLike) -> FloatArray:
    """Cooling number of a wet surface: how much its own evaporation holds it back.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.

    Returns
    -------
    ndarray
        P, elementwise; the flux of a surface of activity a_w is multiplied by
        1/(1 + a_w P).

    Notes
    -----
    P = (de_s/dT) L_v / (R_v T ρ c_p Le^⅔), ρ = 353/T: the heat of evaporation comes
    from the air by convection, so that the surface is cooler than the air.

    Examples
    --------
    >>> [round(1 / (1 + float(evaporative_cooling(t))), 2) for t in (0, 10, 20, 30)]
    [0.58, 0.43, 0.3, 0.2]
    """
    t = np.asarray(temperature, dtype=np.float64)
    kelvin = t + KELVIN
    slope = saturation_vapour_pressure(t) * 17.62 * 243.12 / (243.12 + t) ** 2
    result: FloatArray = (
        slope * LATENT / (R_V * kelvin * (353.0 / kelvin) * HEAT_CAPACITY * LEWIS)
    )
    return result


def saturation_density(temperature: ArrayLike) -> FloatArray:
    """Density of vapour in saturated air, kg/m³, elementwise from °C."""
    t = np.asarray(temperature, dtype=np.float64)
    result: FloatArray = saturation_vapour_pressure(t) / (R_V * (t + KELVIN))
    return result


def air_table(
    temperature: ArrayLike,
    relative_humidity: ArrayLike,
    precipitation: ArrayLike | None = None,
    resting_humidity: ArrayLike | None = None,
) -> FloatArray:
    """Air series in the form that the board kernel reads.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C, any shape, time last.
    relative_humidity : array_like
        Relative humidity over liquid water, %.
    precipitation : array_like, optional
        Rain on the wood, mm per step.
    resting_humidity : array_like, optional
        Humidity (%) at which the printed sorption relation gives the content at which
        this wood rests in this air; the air's own when left out.

    Returns
    -------
    ndarray, shape (..., 8)
        Diffusion over its value at 20 °C; vapour density at saturation (kg/m³);
        resting humidity 0 to 1; cooling number; EMC (kg/kg); K h/(1 - K h); the
        temperature of the sorption formula (°C); rain (kg/m²).

    Notes
    -----
    With a resting humidity h' above the air's h the vapour density is multiplied by
    (1 - h)/(1 - h'): wood at rest then holds more, and free water leaves as before.
    """
    t = np.asarray(temperature, dtype=np.float64)
    h = np.clip(np.asarray(relative_humidity, dtype=np.float64), 0.0, 100.0) / 100.0
    t, h = np.broadcast_arrays(t, h)
    table = np.empty((*t.shape, 8))
    table[..., 0] = temperature_factor(t)
    table[..., 1] = saturation_density(t)
    if resting_humidity is not None:
        rest = np.clip(np.asarray(resting_humidity, dtype=np.float64), 0.0, 100.0)
        dry = 1.0 - h
        h = rest / 100.0
        table[..., 1] *= np.divide(dry, 1.0 - h, out=np.ones(t.shape), where=h < 1.0)
    table[..., 2] = h
    table[..., 3] = evaporative_cooling(t)
    table[..., 4] = equilibrium_moisture_content(t, 100.0 * h) / 100.0
    _, k, _, _ = coefficients(t)
    table[..., 5] = k * h / (1.0 - k * h)
    table[..., 6] = np.maximum(t, COLDEST)
    table[..., 7] = 0.0 if precipitation is None else precipitation
    return table
