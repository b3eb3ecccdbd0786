"""What a roof loses to the sky: emissivity of the sky, cloud, long-wave loss."""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN
from emcforecast.physics.moist_air import dew_point

STEFAN_BOLTZMANN = 5.670374e-8
"""W m⁻² K⁻⁴."""


def sky_emissivity(vapour_pressure: ArrayLike, cloud: ArrayLike) -> FloatArray:
    """Emissivity of the sky as a black body at the air's temperature sees it.

    Parameters
    ----------
    vapour_pressure : array_like
        Of the air near the ground, Pa.
    cloud : array_like
        Share of the sky covered, 0..1.

    Returns
    -------
    ndarray
        0..1, elementwise.

    Notes
    -----
    e0 = 0.711 + 0.56 (t_d/100) + 0.73 (t_d/100)², then e0 + 0.784 (1 - e0) N, with the
    dew point t_d held within -30 to 30 °C.

    References
    ----------
    Berdahl and Martin (1984), Solar Energy 32, 663-664, for the clear sky; Martin and
    Berdahl (1984), Solar Energy 33, 321-336, for the cloud (from memory).

    Examples
    --------
    >>> [round(float(sky_emissivity(1228.0, n)), 2) for n in (0.0, 1.0)]
    [0.77, 0.95]
    """
    d = np.clip(dew_point(vapour_pressure), -30.0, 30.0) / 100.0
    clear = 0.711 + 0.56 * d + 0.73 * d**2
    result: FloatArray = clear + 0.784 * (1.0 - clear) * np.asarray(
        cloud, dtype=np.float64
    )
    return result


def sky_loss(
    temperature: ArrayLike, vapour_pressure: ArrayLike, cloud: ArrayLike
) -> FloatArray:
    """Net long-wave loss of a black level surface at air temperature.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.
    vapour_pressure : array_like
        Pa.
    cloud : array_like
        Share of the sky covered, 0..1.

    Returns
    -------
    ndarray
        W/m², positive upward, elementwise.

    Examples
    --------
    >>> round(float(sky_loss(10.0, 900.0, 0.0)))
    93
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + KELVIN
    result: FloatArray = (
        STEFAN_BOLTZMANN * kelvin**4 * (1.0 - sky_emissivity(vapour_pressure, cloud))
    )
    return result


def radiative_conductance(temperature: ArrayLike) -> FloatArray:
    """Heat that a black surface exchanges by long waves, for each kelvin of difference.

    Parameters
    ----------
    temperature : array_like
        °C.

    Returns
    -------
    ndarray
        4 σ T³, W m⁻² K⁻¹, elementwise.

    Examples
    --------
    >>> round(float(radiative_conductance(10.0)), 2)
    5.15
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + KELVIN
    result: FloatArray = 4.0 * STEFAN_BOLTZMANN * kelvin**3
    return result


def cloud_from_sun(sun: ArrayLike, clear: ArrayLike) -> FloatArray:
    """Share of the sky covered, from the sun received against a clear sky's.

    Parameters
    ----------
    sun, clear : array_like
        Received and clear-sky sun on the horizontal, of the same hour or day, in one
        unit.

    Returns
    -------
    ndarray
        0..1; NaN where the clear sky gives nothing.

    Notes
    -----
    sun/clear = 1 - 0.75 N^3.4, turned round.

    References
    ----------
    Kasten and Czeplak (1980), Solar Energy 24, 177-189.

    Examples
    --------
    >>> [round(float(cloud_from_sun(s, 800.0)), 2) for s in (800.0, 600.0, 200.0)]
    [0.0, 0.72, 1.0]
    """
    full = np.asarray(clear, dtype=np.float64)
    ratio = np.asarray(sun, dtype=np.float64) / np.where(full > 0.0, full, np.nan)
    result: FloatArray = (np.clip(1.0 - ratio, 0.0, 0.75) / 0.75) ** (1.0 / 3.4)
    return result
