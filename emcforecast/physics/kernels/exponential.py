"""An exponential that the compiler can spread over the lanes of a vector unit.

The library function is called one number at a time inside a compiled loop; this
one is plain arithmetic, so a loop over ensemble members runs several at once.
"""

import numpy as np

from emcforecast.physics.kernels.compiled import compiled

LOG2_E = 1.4426950408889634
# ln 2 in two parts, so that k ln 2 is subtracted without rounding (Cody-Waite).
LN2_HIGH = 0.693147180369123816490
LN2_LOW = 1.90821492927058770002e-10
# Added and taken off again, it rounds to a whole number held in the low bits.
ROUNDER = 6755399441055744.0
# 1/n! from n = 12 down: the Taylor series ends below 2e-16 for |r| <= ln 2 / 2.
C12, C11, C10 = 1.0 / 479001600.0, 1.0 / 39916800.0, 1.0 / 3628800.0
C9, C8, C7 = 1.0 / 362880.0, 1.0 / 40320.0, 1.0 / 5040.0
C6, C5, C4, C3 = 1.0 / 720.0, 1.0 / 120.0, 1.0 / 24.0, 1.0 / 6.0


@compiled(inline=True)
def fast_exp(x: float) -> float:
    """Exponential of one number, for use inside compiled loops.

    Parameters
    ----------
    x : float
        Between -700 and 700; outside, the result is meaningless.

    Returns
    -------
    float
        e to the x, within three units of the last place; NaN for NaN.

    Notes
    -----
    e^x = 2^k e^r with k the whole number nearest to x / ln 2 and a Taylor
    polynomial of degree 12 for e^r.

    References
    ----------
    Cody and Waite, Software Manual for the Elementary Functions (1980), for the
    reduction of the argument (from memory).

    Examples
    --------
    >>> fast_exp(0.0), round(fast_exp(1.0), 12)
    (1.0, 2.718281828459)
    """
    shifted = x * LOG2_E + ROUNDER
    bits = np.float64(shifted).view(np.int64)
    k = shifted - ROUNDER
    r = (x - k * LN2_HIGH) - k * LN2_LOW
    p = C12
    p = p * r + C11
    p = p * r + C10
    p = p * r + C9
    p = p * r + C8
    p = p * r + C7
    p = p * r + C6
    p = p * r + C5
    p = p * r + C4
    p = p * r + C3
    p = p * r + 0.5
    p = p * r + 1.0
    p = p * r + 1.0
    scale = np.int64((bits + 1023) << 52).view(np.float64)
    return p * scale
