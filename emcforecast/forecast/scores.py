"""Scores of forecasts that give a range: coverage and the CRPS."""

import numpy as np
from numpy.typing import ArrayLike


def crps(ensemble: ArrayLike, truth: float) -> float:
    """Continuous ranked probability score of an ensemble.

    Parameters
    ----------
    ensemble : array_like, shape (members,)
        Equally likely values.
    truth : float
        What came.

    Returns
    -------
    float
        In the unit of the values; 0 is perfect, and for a single value it is the
        absolute error.

    Notes
    -----
    mean|X - y| - ½ mean|X - X'|, the score of the ensemble's step distribution.

    References
    ----------
    Gneiting and Raftery (2007), Journal of the American Statistical Association 102,
    359-378, equation 21 (from memory).

    Examples
    --------
    >>> crps([1.0, 3.0], 2.0), crps([5.0], 3.0)
    (0.5, 2.0)
    """
    x = np.sort(np.asarray(ensemble, dtype=np.float64))
    n = x.size
    rank = 2.0 * np.arange(1, n + 1) - n - 1.0
    return float(np.mean(np.abs(x - truth)) - np.sum(rank * x) / n**2)


def covered(ensemble: ArrayLike, truth: float) -> bool:
    """Tell whether the truth lies between the ensemble's P10 and P90.

    Examples
    --------
    >>> covered(np.arange(101.0), 10.0), covered(np.arange(101.0), 9.0)
    (True, False)
    """
    low, high = np.quantile(np.asarray(ensemble, dtype=np.float64), [0.1, 0.9])
    return bool(low <= truth <= high)


def skill(score: float, reference: float) -> float:
    """Return 1 - score / reference: 1 is perfect, 0 no better than the reference."""
    return 1.0 - score / reference if reference > 0.0 else float("nan")
