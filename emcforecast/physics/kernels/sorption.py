"""The sorption relation over large arrays, at the speed of the memory."""

from concurrent.futures import ThreadPoolExecutor

from emcforecast._types import FloatArray
from emcforecast.physics.kernels.compiled import compiled, processors

CHUNK = 1 << 16
"""Pairs a thread takes at a time."""


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
        # Written so that NaN goes through.
        c = coldest if c < coldest else c
        h = 0.0 if h < 0.0 else h
        h = 100.0 if h > 100.0 else h
        x = (k0 + c * (k1 + c * k2)) * h
        a = (a0 + c * (a1 + c * a2)) * x
        b = (b0 + c * (b1 + c * b2)) * x * a
        dry = 1.0 - x
        weight = w0 + c * (w1 + c * w2)
        emc[i] = (x + a + b * (1.0 + dry)) / (weight * dry * (1.0 + a + b))
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
