"""Passes over the values of a grid: unpacking, and what cannot be left out."""

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.physics.kernels.compiled import compiled


@compiled()
def unpack(
    packed: np.ndarray,
    scale: float,
    offset: float,
    missing: int,
    other: int,
    out: FloatArray,
) -> None:
    """Unpack whole numbers, each read and written once.

    Parameters
    ----------
    packed : ndarray of int, shape (n,)
    scale, offset : float
        A value is packed × scale + offset, in the variable's own units.
    missing, other : int
        Packed numbers that stand for no value; NaN comes of them.
    out : ndarray, shape (n,)
        Filled.
    """
    for i in range(packed.size):
        value = packed[i]
        if value in (missing, other):
            out[i] = np.nan
        else:
            out[i] = value * scale + offset


@compiled()
def keep_possible(
    values: FloatArray,
    low: float,
    high: float,
    least: float,
    most: float,
    out: FloatArray,
) -> None:
    """Leave out values outside low to high, and take the rest as least to most.

    Parameters
    ----------
    values : ndarray, shape (n,)
        In series units.
    low, high : float
        What is possible; what is not becomes NaN, and NaN stays so.
    least, most : float
        What a possible value is taken as, at least and at most.
    out : ndarray, shape (n,)
        Filled.
    """
    for i in range(values.size):
        value = values[i]
        if low <= value <= high:
            out[i] = min(max(value, least), most)
        else:
            out[i] = np.nan
