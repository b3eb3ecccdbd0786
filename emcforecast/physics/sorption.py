"""Sorption: the moisture content at which wood rests in air, and its inverse.

Hailwood-Horrobin one-hydrate relation with the Wood Handbook's coefficients
for °C (chapter 4). It lies about the middle of the hysteresis loop.
"""

from math import inf
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray, IntArray

COLDEST = -1.1
"""°C; below it the fitted polynomials turn over, so temperature is held here."""
COLD_OFFSET = 0.34
"""How far a later relation lies above the printed one at 0 °C: see `cold_humidity`."""
COLD_VANISHES = 25.0
"""°C from which the two are taken as one."""
FIBRE_SATURATION = 0.28
"""kg/kg, fibre saturation for moisture transport."""
HYSTERESIS_RATIO = 0.85
"""EMC reached by wetting over EMC reached by drying (0.8 to 0.9, from memory)."""

# Polynomials in °C, constant term first: W (kg/kmol), K, K1, K2.
W = (349.0, 1.29, 0.0135)
K = (0.805, 0.000736, -0.00000273)
K1 = (6.27, -0.00938, -0.000303)
K2 = (1.91, 0.0407, -0.000293)

LARGE = 400_000
"""Pairs from which the compiled kernel is worth its import."""
UNBOUNDED = (-inf, inf, -inf, inf)
"""Limits within which every temperature and humidity lies."""

Branch = Literal["mid", "drying", "wetting"]

# The table is taken as mid-loop: drying and wetting lie evenly about it.
BRANCH_FACTOR: dict[str, float] = {
    "mid": 1.0,
    "drying": 2.0 / (1.0 + HYSTERESIS_RATIO),
    "wetting": 2.0 * HYSTERESIS_RATIO / (1.0 + HYSTERESIS_RATIO),
}


def coefficients(
    temperature: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return W, K, K1 and K2 of the one-hydrate relation at a temperature.

    Parameters
    ----------
    temperature : array_like
        Temperature, °C; held at -1.1 °C below that.

    Returns
    -------
    tuple of ndarray
        W (kg/kmol), K, K1, K2 (dimensionless), elementwise.
    """
    t = np.maximum(np.asarray(temperature, dtype=np.float64), COLDEST)
    w, k, k1, k2 = (p[0] + t * (p[1] + t * p[2]) for p in (W, K, K1, K2))
    return w, k, k1, k2


def equilibrium_moisture_content(
    temperature: ArrayLike,
    relative_humidity: ArrayLike,
    branch: Branch = "mid",
    out: FloatArray | None = None,
) -> FloatArray:
    """Moisture content at which wood neither gains nor loses in steady air.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.
    relative_humidity : array_like
        Relative humidity over liquid water, %; held within 0 to 100.
    branch : {"mid", "drying", "wetting"}
        Middle of the hysteresis loop (the published table), or the value reached
        from above or from below.
    out : ndarray, optional
        Where to write the result; a new array when left out.

    Returns
    -------
    ndarray
        Equilibrium moisture content, % of oven-dry mass, elementwise; NaN where
        an input is NaN.

    Notes
    -----
    EMC = 1800/W [K h/(1 - K h) + (K1 K h + 2 K1 K2 K² h²)/(1 + K1 K h + K1 K2 K²
    h²)], written here with one division. Valid from -1.1 to 132 °C; below, the
    temperature is held at -1.1 °C. Its published fit: mean deviation under 0.13,
    never above 0.9 % MC; species vary by more.

    References
    ----------
    Wood Handbook, FPL-GTR-190 (2010), chapter 4, equation 4-5 and Table 4-2.

    Examples
    --------
    >>> round(float(equilibrium_moisture_content(21.1, 65.0)), 1)
    12.0
    """
    t, rh = np.broadcast_arrays(
        np.asarray(temperature, dtype=np.float64),
        np.asarray(relative_humidity, dtype=np.float64),
    )
    if t.size >= LARGE:
        filled = np.empty(t.shape) if out is None else out
        fill_large(t, rh, branch, filled)
        return filled
    w, k, k1, k2 = coefficients(t)
    h = np.clip(rh, 0.0, 100.0) / 100.0
    x = k * h
    a = k1 * x
    b = a * k2 * x
    den = w * (1.0 - x) * (1.0 + a + b)
    result: FloatArray = BRANCH_FACTOR[branch] * 1800.0 * (x + a + b * (2.0 - x)) / den
    if out is not None:
        out[...] = result
        return out
    return result


def cold_humidity(
    temperature: ArrayLike, relative_humidity: ArrayLike, share: ArrayLike
) -> FloatArray:
    """Humidity at which the printed relation gives what wood may hold in the cold.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.
    relative_humidity : array_like
        Relative humidity over liquid water, %, 0 to 100.
    share : array_like
        Of the offset between the printed relation and a later one, 0..1.

    Returns
    -------
    ndarray
        %, elementwise; never below the air's and never above 100.

    Notes
    -----
    h' = h + s c h² (1 - h), c falling linearly from 0.34 at 0 °C (and below) to 0 at
    25 °C. At 80 % that is 1.7 % MC at 0 °C and 1.0 at 10 °C; dry and saturated air are
    left as they are. Taken as an uncertainty only: the printed table stays the basis.

    References
    ----------
    Glass, Zelinka and Johnson (2014), FPL-GTR-229: the printed data are unreliable as
    a physical model. The offset of 1 to 1.7 % MC is second hand.

    Examples
    --------
    >>> shifted = cold_humidity([0.0, 10.0, 25.0], 80.0, 1.0)
    >>> printed, later = (
    ...     equilibrium_moisture_content([0.0, 10.0, 25.0], h) for h in (80.0, shifted)
    ... )
    >>> (later - printed).round(1).tolist()
    [1.7, 1.0, 0.0]
    """
    t = np.asarray(temperature, dtype=np.float64)
    h = np.clip(np.asarray(relative_humidity, dtype=np.float64), 0.0, 100.0) / 100.0
    cold = COLD_OFFSET * np.clip(1.0 - t / COLD_VANISHES, 0.0, 1.0)
    result: FloatArray = 100.0 * (
        h + np.asarray(share, dtype=np.float64) * cold * h**2 * (1.0 - h)
    )
    return result


def kernel_polynomials(branch: Branch = "mid") -> FloatArray:
    """Quadratics that `emcforecast.physics.kernels.sorption` takes, shape (12,)."""
    scale = 1800.0 * BRANCH_FACTOR[branch]
    return np.array([*(v / scale for v in W), *(v / 100.0 for v in K), *K1, *K2])


def add_by_slot(
    temperature: FloatArray,
    relative_humidity: FloatArray,
    slot: IntArray,
    shift: IntArray,
    slots: int,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sum, number and least of the EMC of many cells by slots of time, in one pass.

    Parameters
    ----------
    temperature, relative_humidity : ndarray, shape (times, cells)
        °C and %; NaN is left out.
    slot : ndarray of int, shape (times + room,)
        Slot (0 to `slots` - 1) of every row, with as many more rows as shifts reach.
    shift : ndarray of int, shape (cells,)
        Rows by which each cell's slots are looked up later, at least 0.
    slots : int
        How many there are.

    Returns
    -------
    total, count, least : ndarray, shape (slots, cells)
        % of oven-dry mass, a number, and % (infinite where nothing is known).

    Examples
    --------
    >>> air = np.full((3, 1), 21.1), np.array([[65.0], [65.0], [40.0]])
    >>> total, count, least = add_by_slot(*air, np.array([0, 0, 1]), np.array([0]), 2)
    >>> (total / count).round(1).ravel().tolist()
    [12.0, 7.7]
    """
    from emcforecast.physics.kernels.sorption import emc_by_slot

    shape = (slots, shift.size)
    total, count, least = np.zeros(shape), np.zeros(shape), np.full(shape, np.inf)
    emc_by_slot(
        np.ascontiguousarray(temperature),
        np.ascontiguousarray(relative_humidity),
        np.asarray(slot, np.int64),
        np.asarray(shift, np.int64),
        kernel_polynomials(),
        COLDEST,
        total,
        count,
        least,
    )
    return total, count, least


def fill_large(
    t: FloatArray,
    rh: FloatArray,
    branch: Branch,
    out: FloatArray,
    limits: tuple[float, float, float, float] = UNBOUNDED,
) -> int:
    """Fill a large array with EMC, compiled and spread over the cores.

    Parameters
    ----------
    t, rh : ndarray
        °C and %, of one shape.
    branch : {"mid", "drying", "wetting"}
        As in `equilibrium_moisture_content`.
    out : ndarray
        Result, % of oven-dry mass; changed in place.
    limits : tuple of float
        Least and greatest temperature (°C) and humidity (%) that are not counted.

    Returns
    -------
    int
        Pairs outside the limits, counted on the way.
    """
    from emcforecast.physics.kernels.sorption import emc_into

    flat = out.reshape(-1)
    polynomials = kernel_polynomials(branch)
    outside = emc_into(
        np.ascontiguousarray(t).reshape(-1),
        np.ascontiguousarray(rh).reshape(-1),
        flat,
        polynomials,
        COLDEST,
        limits,
    )
    if not np.shares_memory(flat, out):
        out[...] = flat.reshape(out.shape)
    return outside


def equilibrium_humidity(
    temperature: ArrayLike, moisture_content: ArrayLike, branch: Branch = "mid"
) -> FloatArray:
    """Relative humidity of the air in which wood of a moisture content is at rest.

    Parameters
    ----------
    temperature : array_like
        Temperature, °C.
    moisture_content : array_like
        Moisture content, % of oven-dry mass.
    branch : {"mid", "drying", "wetting"}
        As for `equilibrium_moisture_content`.

    Returns
    -------
    ndarray
        Relative humidity over liquid water, %, elementwise: 100 at and above the
        EMC of saturated air, 0 at and below 0; NaN where an input is NaN.

    Notes
    -----
    The relation is a cubic in x = K h once cleared of fractions; it is solved by
    Newton steps held inside a shrinking bracket, to 1e-12 in h.

    Examples
    --------
    >>> round(float(equilibrium_humidity(21.1, 12.0)), 1)
    65.2
    """
    t, mc = np.broadcast_arrays(
        np.asarray(temperature, dtype=np.float64),
        np.asarray(moisture_content, dtype=np.float64),
    )
    w, k, k1, k2 = coefficients(t)
    target = mc * w / (1800.0 * BRANCH_FACTOR[branch])
    dry = target <= 0.0
    wet = mc >= equilibrium_moisture_content(t, 100.0, branch)
    # Wood beyond either end has no root to look for, and would be bisected to the last.
    target = np.where(dry | wet, 1.0, target)
    low, high = np.zeros(t.shape), np.array(k)
    x = 0.5 * high
    for _ in range(60):
        a = k1 * x
        b = a * k2 * x
        den = 1.0 + a + b
        excess = x / (1.0 - x) + (a + 2.0 * b) / den - target
        slope = (
            1.0 / (1.0 - x) ** 2
            + (
                (k1 + 4.0 * k1 * k2 * x) * den
                - (a + 2.0 * b) * (k1 + 2.0 * k1 * k2 * x)
            )
            / den**2
        )
        low = np.where(excess < 0.0, x, low)
        high = np.where(excess >= 0.0, x, high)
        step = x - excess / slope
        # A step to the end of the bracket itself is one of no length: it has arrived.
        inside = (step >= low) & (step <= high)
        new = np.where(inside, step, 0.5 * (low + high))
        if np.all((np.abs(new - x) < 1e-13) | np.isnan(new)):
            x = new
            break
        x = new
    h = np.clip(x / k, 0.0, 1.0)
    h = np.where(dry, 0.0, np.where(wet, 1.0, h))
    result: FloatArray = np.where(np.isnan(t) | np.isnan(mc), np.nan, 100.0 * h)
    return result
