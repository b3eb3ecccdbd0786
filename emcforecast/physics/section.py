"""Boards of real widths and lengths, and of thick stock: what edges and ends add."""

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray

GRAIN_RATIO = 12.5
"""Diffusion along the grain over that across it: 10 to 15 (drying handbooks, from
memory)."""
REMAINING = 0.15
"""Share of the moisture still to leave at which whole boards and sheets are compared:
green wood has a tenth to a fifth left at 20 % in air of 13 %."""
BASE_THICKNESS = 0.027
"""m; the drying factors are fitted to 4/4 lumber of this thickness."""
THICKNESS_POWER = 0.4
"""Growth of the coefficient of thicker stock, empirical: with it 8/4 and 6/4 take about
2.5 and 1.7 times as long as 4/4, and a tenth more thickness about 15 % (published)."""
LEAST_POWER, MOST_POWER = -0.15, 0.55
"""With the edges of a typical board, time by thickness to the power 2.0 to 1.3, between
which published rules lie; 1.4 in the middle."""
_SERIES = 12
_HALVINGS = 60


def _remaining(time: FloatArray) -> FloatArray:
    """Share left in a plane sheet after a dimensionless time D t / L² (Crank)."""
    n = np.arange(_SERIES)
    odd = (n + 0.5) ** 2 * np.pi**2
    late = (2.0 / odd * np.exp(-odd * time[..., None])).sum(axis=-1)
    early = 1.0 - 2.0 / np.sqrt(np.pi) * np.sqrt(time)
    result: FloatArray = np.where(time < 0.05, early, late)
    return result


def section_gain(
    thickness: ArrayLike, width: ArrayLike, length: ArrayLike
) -> FloatArray:
    """Diffusion coefficient at which a sheet dries as fast as a whole board.

    Parameters
    ----------
    thickness, width, length : array_like
        Any one unit; the thickness is the least of the section.

    Returns
    -------
    ndarray
        Over that of the wood, elementwise, at least 1.

    Notes
    -----
    What is left of a block is the product of what is left of three sheets, of its
    thickness, its width and, √12.5 times shorter, its length (Newman's rule). The
    answer is the ratio of the times at which 15 % is left. The slowest mode alone,
    1 + (t/w)² + 12.5 (t/l)², is less for wide boards, whose edges dry first.

    References
    ----------
    Newman (1931), as in Crank, The Mathematics of Diffusion (from memory).

    Examples
    --------
    >>> section_gain(27.0, [175.0, 27.0], 1e9).round(2)
    array([1.1 , 2.28])
    """
    t = np.asarray(thickness, dtype=np.float64)
    edge = np.square(t / np.asarray(width, dtype=np.float64))
    end = GRAIN_RATIO * np.square(t / np.asarray(length, dtype=np.float64))
    edge, end = np.broadcast_arrays(edge, end)
    sheet = 4.0 / np.pi**2 * np.log(8.0 / np.pi**2 / REMAINING)
    low, high = np.zeros(edge.shape), np.full(edge.shape, 1.01 * sheet)
    for _ in range(_HALVINGS):
        time = 0.5 * (low + high)
        left = _remaining(time) * _remaining(edge * time) * _remaining(end * time)
        low, high = (
            np.where(left > REMAINING, time, low),
            np.where(left > REMAINING, high, time),
        )
    result: FloatArray = sheet / high
    return result


def exposure(thickness: ArrayLike, length: ArrayLike) -> FloatArray:
    """Surface that the passing air reaches, faces and ends, over that of the faces.

    Notes
    -----
    The edges of one layer's boards stand close together: the air between the stickers
    takes their vapour as well, but no more of it for that.

    Examples
    --------
    >>> exposure(100.0, [330.0, 1e9]).round(3)
    array([1.303, 1.   ])
    """
    result: FloatArray = 1.0 + np.asarray(thickness, dtype=np.float64) / np.asarray(
        length, dtype=np.float64
    )
    return result


def thickness_gain(thickness: ArrayLike, power: ArrayLike) -> FloatArray:
    """How much faster thick stock conducts than the diffusion of inch lumber tells.

    Parameters
    ----------
    thickness : array_like
        m.
    power : array_like
        0 where none; `THICKNESS_POWER` by default.

    Returns
    -------
    ndarray
        (t / 27 mm)^power above 27 mm, 1 below.

    Examples
    --------
    >>> thickness_gain([0.013, 0.054], 0.4).round(2)
    array([1.  , 1.32])
    """
    t = np.maximum(np.asarray(thickness, dtype=np.float64) / BASE_THICKNESS, 1.0)
    result: FloatArray = t ** np.asarray(power, dtype=np.float64)
    return result
