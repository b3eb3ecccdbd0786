"""An exponential that the compiler can spread over the lanes of a vector unit.

The library function is called one number at a time inside a compiled loop; this
one is plain arithmetic, so a loop over ensemble members runs several at once.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.physics.kernels.compiled import compiled, processors

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


CHUNK = 1 << 16
"""Pairs a thread takes at a time."""


@compiled(inline=True, fused=True)
def emc_of(
    c: float,
    h: float,
    coldest: float,
    w0: float,
    w1: float,
    w2: float,
    k0: float,
    k1: float,
    k2: float,
    a0: float,
    a1: float,
    a2: float,
    b0: float,
    b1: float,
    b2: float,
) -> float:
    """EMC (%) at a temperature (°C) and humidity (%); polynomials as in `emc_into`.

    Numbers, not their array: it might overlap the results, and the compiler would then
    take one value at a time.
    """
    # Written so that NaN goes through.
    c = coldest if c < coldest else c
    h = 0.0 if h < 0.0 else h
    h = 100.0 if h > 100.0 else h
    x = (k0 + c * (k1 + c * k2)) * h
    a = (a0 + c * (a1 + c * a2)) * x
    b = (b0 + c * (b1 + c * b2)) * x * a
    dry = 1.0 - x
    weight = w0 + c * (w1 + c * w2)
    emc: float = (x + a + b * (1.0 + dry)) / (weight * dry * (1.0 + a + b))
    return emc


@compiled(fused=True)
def _fill(
    t: FloatArray,
    rh: FloatArray,
    out: FloatArray,
    p: FloatArray,
    coldest: float,
    limits: tuple[float, float, float, float],
    start: int,
    stop: int,
) -> int:
    """EMC (%) of pairs `start` to `stop`; arguments and count as in `emc_into`."""
    w0, w1, w2, k0, k1, k2 = p[0], p[1], p[2], p[3], p[4], p[5]
    a0, a1, a2, b0, b1, b2 = p[6], p[7], p[8], p[9], p[10], p[11]
    coolest, hottest, driest, dampest = limits
    temperature, humidity, emc = t[start:stop], rh[start:stop], out[start:stop]
    outside = 0
    for i in range(emc.size):
        c, h = temperature[i], humidity[i]
        outside += (c < coolest) | (c > hottest) | (h < driest) | (h > dampest)
        emc[i] = emc_of(c, h, coldest, w0, w1, w2, k0, k1, k2, a0, a1, a2, b0, b1, b2)
    return outside


def emc_into(
    t: FloatArray,
    rh: FloatArray,
    out: FloatArray,
    p: FloatArray,
    coldest: float,
    limits: tuple[float, float, float, float],
) -> int:
    """Fill an array with EMC over all cores.

    Parameters
    ----------
    t, rh : ndarray, shape (n,)
        °C and %, contiguous.
    out : ndarray, shape (n,)
        Result, % of oven-dry mass; changed in place.
    p : ndarray, shape (12,)
        Quadratics in °C, constant first: W over 1800 times the branch's factor, K
        over 100, K1, K2.
    coldest : float
        °C below which the temperature is held.
    limits : tuple of float
        Least and greatest temperature (°C) and humidity (%) that are not counted.

    Returns
    -------
    int
        Pairs outside the limits.
    """
    n = out.size
    workers = processors()
    if workers == 1 or n <= CHUNK:
        return _fill(t, rh, out, p, coldest, limits, 0, n)
    share = max(CHUNK, -(-n // (4 * workers)))
    with ThreadPoolExecutor(workers) as pool:
        jobs = [
            pool.submit(_fill, t, rh, out, p, coldest, limits, k, min(k + share, n))
            for k in range(0, n, share)
        ]
        return sum(job.result() for job in jobs)


@compiled(fused=True)
def emc_by_slot(
    t: FloatArray,
    rh: FloatArray,
    slot: IntArray,
    shift: IntArray,
    p: FloatArray,
    coldest: float,
    total: FloatArray,
    count: FloatArray,
    least: FloatArray,
) -> None:
    """Add up the EMC of many cells by slots of time, in one pass.

    Parameters
    ----------
    t, rh : ndarray, shape (times, cells)
        °C and %.
    slot : ndarray of int64, shape (times + room,)
        Slot of each row, and of the rows around it that shifts reach.
    shift : ndarray of int64, shape (cells,)
        Added to the row before its slot is looked up; at least 0.
    p, coldest
        As in `emc_into`.
    total, count, least : ndarray, shape (slots, cells)
        Sum, number and least of what is known; changed in place.
    """
    w0, w1, w2, k0, k1, k2 = p[0], p[1], p[2], p[3], p[4], p[5]
    a0, a1, a2, b0, b1, b2 = p[6], p[7], p[8], p[9], p[10], p[11]
    cells = shift.size
    low, high = shift.min(), shift.max()
    emc = np.empty(cells)
    whole_rows = np.zeros(total.shape[0])
    for k in range(t.shape[0]):
        row_t, row_h = t[k], rh[k]
        missing = 0
        for i in range(cells):
            e = emc_of(
                row_t[i], row_h[i], coldest,
                w0, w1, w2, k0, k1, k2, a0, a1, a2, b0, b1, b2,
            )  # fmt: skip
            emc[i] = e
            missing += e != e
        s = slot[k + low]
        if missing == 0 and s == slot[k + high]:
            sums, lows = total[s], least[s]
            for i in range(cells):
                sums[i] += emc[i]
                lows[i] = min(emc[i], lows[i])
            whole_rows[s] += 1.0
            continue
        for i in range(cells):
            e = emc[i]
            if e == e:
                s = slot[k + shift[i]]
                total[s, i] += e
                count[s, i] += 1.0
                least[s, i] = min(e, least[s, i])
    for s in range(total.shape[0]):
        for i in range(cells):
            count[s, i] += whole_rows[s]
