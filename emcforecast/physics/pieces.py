"""Long series worked out piece by piece, so that what is between stays in the cache."""

from collections.abc import Callable, Iterator
from math import prod

import numpy as np

from emcforecast._types import FloatArray

PIECE = 16_384
"""Values of a series worked out at a time: 130 kB of each array between."""


def in_pieces(
    function: Callable[..., FloatArray], *series: FloatArray, axis: int = -1
) -> FloatArray:
    """Apply an elementwise function to long series.

    Parameters
    ----------
    function : callable
        Takes the series, or as long a part of each; returns its values, of their shape.
    *series : ndarray
        All of one shape.
    axis : int
        The long one.

    Returns
    -------
    ndarray, shape of the series
        As ``function(*series)`` gives it, in less memory and time: arrays between
        fit the processor's cache and do not leave holes in the heap.

    Examples
    --------
    >>> in_pieces(np.add, np.array([1.0, 2.0]), np.array([3.0, 4.0])).tolist()
    [4.0, 6.0]
    """
    first = series[0]
    if first.size <= PIECE:
        return function(*series)
    out = np.empty(first.shape)
    whole = [slice(None)] * first.ndim
    for rows in pieces_of(first.shape, axis):
        whole[axis] = rows
        part = tuple(whole)
        out[part] = function(*(values[part] for values in series))
    return out


def pieces_of(shape: tuple[int, ...], axis: int = -1) -> Iterator[slice]:
    """Yield the rows along an axis in pieces of about `PIECE` values of an array.

    Examples
    --------
    >>> list(pieces_of((2, 10_000)))
    [slice(0, 8192, None), slice(8192, 16384, None)]
    """
    step = max(PIECE * shape[axis] // max(prod(shape), 1), 1)
    for start in range(0, shape[axis], step):
        yield slice(start, start + step)
