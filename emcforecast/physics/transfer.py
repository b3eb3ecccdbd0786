"""Vapour transfer from boards to the air that moves through a stickered stack."""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray

VAPOUR_DIFFUSION = 2.3e-5
"""Of water vapour in air at about 10 °C, m²/s."""
VISCOSITY = 1.5e-5
"""Kinematic viscosity of air, m²/s."""
SLOT_SHERWOOD = 7.54
"""Fully developed laminar flow between parallel plates, on twice their gap."""


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
