"""Moisture moving through wood: the diffusion coefficient and the half-board grid."""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN
from emcforecast.physics.sorption import FIBRE_SATURATION

REFERENCE_CONTENT = 0.12
REFERENCE_KELVIN = 293.15
SLOPE = 3.0
"""Growth of the coefficient with moisture content, per kg/kg (fitted)."""
ACTIVATION = 5000.0
"""Activation temperature, K (fitted; the published red oak form has 5280)."""
GREEN_STEP = 0.2
"""kg/kg above fibre saturation over which the coefficient goes over, in a straight
line, to that of green wood."""
CELLS = 16
FINE_CELLS = 24
GRADING = 0.15
"""Width of the surface cell over that of the centre cell: one for boards of any
thickness."""
SHELL_MM = 2.0
"""The shell is the outer 2 mm of each face, of a thin board a sixth of it."""


def transverse_coefficient(specific_gravity: ArrayLike) -> FloatArray:
    """Transverse diffusion coefficient of wood at 12 % and 20 °C, from its density.

    Parameters
    ----------
    specific_gravity : array_like
        Oven-dry mass over green volume over water's density.

    Returns
    -------
    ndarray
        Coefficient, m²/s, elementwise.

    Notes
    -----
    D = D_BT / [(1 - a²)(1 - a)], a² = 1 - G (0.667 + u), bound-water coefficient
    D_BT = 7e-6 exp[-(9200 - 7000 u)/(1.987 T)] m²/s, u = 0.12, T = 293.15 K.

    References
    ----------
    Stamm's cell-wall model in Siau's form (from memory).

    Examples
    --------
    >>> round(float(transverse_coefficient(0.50)) * 1e11, 2)
    4.7
    """
    g = np.asarray(specific_gravity, dtype=np.float64)
    u = REFERENCE_CONTENT
    bound = 7e-6 * np.exp(-(9200.0 - 7000.0 * u) / (1.987 * REFERENCE_KELVIN))
    lumen = 1.0 - g * (0.667 + u)
    result: FloatArray = bound / ((1.0 - lumen) * (1.0 - np.sqrt(lumen)))
    return result


def content_factor(content: ArrayLike, slope: float = SLOPE) -> FloatArray:
    """Diffusion coefficient over its value at 12 %, at one temperature.

    Parameters
    ----------
    content : array_like
        Moisture content, kg/kg.
    slope : float
        Growth per kg/kg.

    Returns
    -------
    ndarray
        exp[3 (u - 0.12)], constant above fibre saturation, elementwise.

    Examples
    --------
    >>> round(float(content_factor(0.28)), 3), round(float(content_factor(0.9)), 3)
    (1.616, 1.616)
    """
    u = np.minimum(np.asarray(content, dtype=np.float64), FIBRE_SATURATION)
    result: FloatArray = np.exp(slope * (u - REFERENCE_CONTENT))
    return result


def temperature_factor(temperature: ArrayLike) -> FloatArray:
    """Diffusion coefficient over its value at 20 °C, at one moisture content.

    Parameters
    ----------
    temperature : array_like
        Wood temperature, °C.

    Returns
    -------
    ndarray
        exp[-5000 (1/T - 1/293.15)], elementwise.

    Examples
    --------
    >>> round(float(temperature_factor(0.0)), 3)
    0.287
    """
    t = np.asarray(temperature, dtype=np.float64) + KELVIN
    result: FloatArray = np.exp(-ACTIVATION * (1.0 / t - 1.0 / REFERENCE_KELVIN))
    return result


@lru_cache(maxsize=8)
def content_polynomial(slope: float = SLOPE) -> tuple[float, ...]:
    """Polynomial of degree 4 in u that stands for `content_factor` in the kernel.

    Parameters
    ----------
    slope : float
        Growth per kg/kg; 0 gives a constant coefficient.

    Returns
    -------
    tuple of float
        Five coefficients, constant first, within 1e-5 of the exponential between 0 and
        fibre saturation; the content above which it is constant; the steepness of the
        step to green wood's own coefficient above that.

    Examples
    --------
    >>> content_polynomial(0.0)[:2]
    (1.0, 0.0)
    """
    if slope == 0.0:
        return (1.0, 0.0, 0.0, 0.0, 0.0, FIBRE_SATURATION, 1.0 / GREEN_STEP)
    nodes = np.cos(np.pi * (np.arange(5) + 0.5) / 5.0)
    u = 0.5 * FIBRE_SATURATION * (1.0 + nodes)
    values = np.exp(slope * (u - REFERENCE_CONTENT))
    powers = np.linalg.solve(np.vander(u, 5, increasing=True), values)
    return (*powers.tolist(), FIBRE_SATURATION, 1.0 / GREEN_STEP)


@lru_cache(maxsize=8)
def half_grid(cells: int = CELLS, grading: float = GRADING) -> FloatArray:
    """Cells of half a board, centre first, narrowing towards the surface.

    Parameters
    ----------
    cells : int
        Number of cells.
    grading : float
        Width of the surface cell over that of the centre cell.

    Returns
    -------
    ndarray, shape (4, cells)
        As shares of half the thickness: width, gradient at the outer face over the
        difference to the next cell (in the last place, to the surface), weight of
        the next cell's content at the face between them, outer edge.

    Notes
    -----
    The gradients are exact for a parabola about the centre of the board, the shape
    of the slowest mode: with plain centre distances an uneven grid dries late.

    Examples
    --------
    >>> grid = half_grid(16)
    >>> round(float(grid[0].sum()), 12), round(float(grid[0, -1] / grid[0, 0]), 3)
    (1.0, 0.15)
    """
    width = grading ** (np.arange(cells) / (cells - 1))
    width /= width.sum()
    edge = np.cumsum(width)
    edge[-1] = 1.0
    inner = edge - width
    square = (edge**2 + edge * inner + inner**2) / 3.0
    inverse = 2.0 * edge / np.diff(np.append(square, 1.0))
    lean = np.append(width[:-1] / (width[:-1] + width[1:]), 1.0)
    grid = np.vstack([width, inverse, lean, edge])
    grid.flags.writeable = False
    return grid
