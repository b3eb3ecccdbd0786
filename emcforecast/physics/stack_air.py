"""The air at the boards of an open stack, and the vapour it takes from them."""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.physics.moist_air import saturation_vapour_pressure

COURSES = 12.0
"""Courses in a stack; its top and its bottom are one each."""
ONE_SIDE = 0.5
"""A top board sees the sky with one side; the other sees the course below."""
VAPOUR_DIFFUSION = 2.3e-5
"""Of water vapour in air at about 10 °C, m²/s."""
VISCOSITY = 1.5e-5
"""Kinematic viscosity of air, m²/s."""
SLOT_SHERWOOD = 7.54
"""Fully developed laminar flow between parallel plates, on twice their gap."""


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


def stack_transfer(
    air_speed: ArrayLike,
    gap: ArrayLike = 0.022,
    stack_width: ArrayLike = 1.2,
    board_width: ArrayLike = 0.2,
) -> FloatArray:
    """Mean transfer coefficient over the boards of a stack, its air running out.

    Parameters
    ----------
    air_speed : array_like
        Speed of the air between the layers, m/s; above 0.
    gap : array_like
        Sticker thickness, m.
    stack_width : array_like
        Way of the air through the stack, m.
    board_width : array_like
        Width of a board, m, over which the film of air grows.

    Returns
    -------
    ndarray
        β for the air outside the stack, m/s, elementwise.

    Notes
    -----
    β = max(0.664 Re^½ Sc^⅓ D/w, 7.54 D/2g): a laminar film over each board, or
    developed flow in the slot. The air takes vapour from the boards above and below
    and nears their surface: NTU = 2 W β/(v g), mean β (1 - e^{-NTU})/NTU.

    References
    ----------
    Laminar plate and parallel-plate duct results of any heat-transfer text (from
    memory), by the likeness of heat and vapour transfer.

    Examples
    --------
    >>> round(float(stack_transfer(0.1)) * 1e3, 1)
    0.9
    """
    v = np.asarray(air_speed, dtype=np.float64)
    w = np.asarray(board_width, dtype=np.float64)
    reynolds = v * w / VISCOSITY
    schmidt = VISCOSITY / VAPOUR_DIFFUSION
    film = 0.664 * np.sqrt(reynolds) * schmidt ** (1.0 / 3.0) * VAPOUR_DIFFUSION / w
    slot = SLOT_SHERWOOD * VAPOUR_DIFFUSION / (2.0 * np.asarray(gap))
    beta = np.maximum(film, slot)
    units = 2.0 * np.asarray(stack_width) * beta / (v * np.asarray(gap))
    result: FloatArray = beta * -np.expm1(-units) / units
    return result
