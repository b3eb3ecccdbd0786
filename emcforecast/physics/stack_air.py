"""The air right at the boards of an open stack: top courses, bottom courses."""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.physics.moist_air import saturation_vapour_pressure

COURSES = 12.0
"""Courses in a stack; its top and its bottom are one each."""
ONE_SIDE = 0.5
"""A top board sees the sky with one side; the other sees the course below."""


def top_board_excess(
    sun: ArrayLike,
    sky_loss: ArrayLike,
    wind: ArrayLike,
    radiative: ArrayLike,
    absorbed: ArrayLike,
    emitted: ArrayLike,
) -> FloatArray:
    """How much warmer than the air a board on top of an open stack is.

    Parameters
    ----------
    sun, sky_loss : array_like
        Sun on the horizontal and net long-wave loss of a black surface, W/m².
    wind : array_like
        At the stack, m/s.
    radiative : array_like
        4 sigma T³, W/m²K.
    absorbed, emitted : array_like
        Share of the sun the board takes up and its emissivity.

    Returns
    -------
    ndarray
        K, below zero in clear nights, elementwise.

    Notes
    -----
    Half of (a I - eps dR)/(2.8 + 3 v + eps 4 sigma T³): the board gives off heat on
    both sides but meets the sky with one.

    Examples
    --------
    >>> round(float(top_board_excess(0.0, 80.0, 1.0, 5.0, 0.6, 0.9)), 1)
    -3.5
    """
    a, emissivity = np.asarray(absorbed), np.asarray(emitted)
    film = 2.8 + 3.0 * np.asarray(wind) + emissivity * np.asarray(radiative)
    load = a * np.asarray(sun) - emissivity * np.asarray(sky_loss)
    result: FloatArray = ONE_SIDE * load / film
    return result


def course_air(
    temperature: FloatArray,
    vapour_pressure: FloatArray,
    *,
    excess: ArrayLike,
    ground_saturation: ArrayLike,
    top_share: ArrayLike,
    ground_share: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Temperature and humidity at the boards of the courses meant.

    Parameters
    ----------
    temperature : ndarray
        Air, °C.
    vapour_pressure : ndarray
        Air, Pa.
    excess : array_like
        Of a top board over the air, K.
    ground_saturation : array_like
        Pa at the ground's temperature.
    top_share : array_like
        Share of top boards among those meant, 0..1.
    ground_share : array_like
        Share of ground air in the air at those meant, 0..1.

    Returns
    -------
    tuple of ndarray
        Temperature, °C, and relative humidity at it, %, never above 100.

    Examples
    --------
    >>> t, h = course_air(np.array([10.0]), np.array([1000.0]), excess=-3.0,
    ...     ground_saturation=1200.0, top_share=1.0, ground_share=0.0)
    >>> float(t[0]), round(float(h[0]))
    (7.0, 100)
    """
    t = temperature + np.asarray(top_share) * np.asarray(excess)
    f = np.asarray(ground_share)
    damper = np.maximum(np.asarray(ground_saturation) - vapour_pressure, 0.0)
    h = 100.0 * (vapour_pressure + f * damper) / saturation_vapour_pressure(t)
    return t, np.minimum(h, 100.0)
