"""The published mould index: how it grows and falls hour by hour."""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from emcforecast import tables
from emcforecast._types import FloatArray
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.physics.kernels.compiled import compiled


@dataclass(frozen=True)
class Sensitivity:
    """How readily mould grows on a material.

    Parameters
    ----------
    lowest_humidity : float
        Below this relative humidity it never grows, %.
    a, b, c : float
        Constants of the highest index reached.
    growth_below_1, growth_above_1 : float
        Growth factor k1 before and after growth has begun.
    """

    name: str
    lowest_humidity: float
    a: float
    b: float
    c: float
    growth_below_1: float
    growth_above_1: float


@cache
def sensitivities() -> dict[str, Sensitivity]:
    """Return the published sensitivity classes by name."""
    return {
        row["sensitivity"]: Sensitivity(
            row["sensitivity"],
            *(
                float(row[name])
                for name in (
                    "lowest_humidity",
                    "a",
                    "b",
                    "c",
                    "growth_below_1",
                    "growth_above_1",
                )
            ),
        )
        for row in tables.rows("mould")
    }


def critical_humidity(
    temperature: FloatArray | float, lowest: float = 80.0
) -> FloatArray:
    """Return the relative humidity above which mould grows, %.

    Parameters
    ----------
    temperature : float or array
        Of the surface, °C.
    lowest : float
        The class's lowest humidity for growth, %.

    Returns
    -------
    array
        100 below freezing.

    Notes
    -----
    max(-0.00267 T³ + 0.160 T² - 3.13 T + 100, lowest). The linear term is negative:
    a copy with + 3.13 T is in circulation and is wrong.

    References
    ----------
    Hukka and Viitanen (1999), Wood Science and Technology 33:475-485.

    Examples
    --------
    >>> round(float(critical_humidity(5.0)), 1)
    88.0
    """
    t = np.asarray(temperature, dtype=float)
    polynomial = ((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0
    return np.where(t < 0.0, 100.0, np.maximum(polynomial, lowest))


@compiled()
def _index(
    temperature: FloatArray,
    humidity: FloatArray,
    start: float,
    constants: FloatArray,
    surface: float,
    decline: float,
) -> FloatArray:
    lowest, a, b, c, slow, fast = constants
    index = np.empty(temperature.size)
    m = start
    dry_hours = 0
    for i in range(temperature.size):
        t, h = temperature[i], humidity[i]
        if not (math.isfinite(t) and math.isfinite(h)):
            m = math.nan
        critical = 100.0
        if t > 0.0:
            critical = max(((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0, lowest)
        if 0.0 < t < 50.0 and h >= critical and critical < 100.0:
            dry_hours = 0
            x = (critical - h) / (critical - 100.0)
            most = max(a + b * x - c * x * x, 0.0)
            k1 = slow if m < 1.0 else fast
            k2 = max(1.0 - math.exp(2.3 * (m - most)), 0.0)
            weeks = math.exp(-0.68 * math.log(t) - 13.9 * math.log(h) + surface + 66.02)
            m += k1 * k2 / (168.0 * weeks)
        else:
            dry_hours += 1
            if dry_hours <= 6:
                m -= decline * 0.032 / 24.0
            elif dry_hours > 24:
                m -= decline * 0.016 / 24.0
            if m < 0.0:
                m = 0.0
        index[i] = m
    return index


def mould_index(
    temperature: FloatArray,
    humidity: FloatArray,
    *,
    sensitivity: str = "very sensitive",
    spruce: bool = False,
    kiln_dried: bool = False,
    start: float = 0.0,
    decline: float = 1.0,
) -> FloatArray:
    """Return the mould index of a surface at the end of every hour.

    Parameters
    ----------
    temperature : array, shape (n,)
        Hourly, at the surface, °C.
    humidity : array, shape (n,)
        Hourly relative humidity at the surface, %.
    sensitivity : str
        "very sensitive" (untreated wood rich in nutrients), "sensitive" (planed
        wood, and spruce without its term), "medium" or "resistant".
    spruce : bool
        The published term for spruce; pine otherwise. It belongs to the class of pine.
    kiln_dried : bool
        The published term for the face of kiln-dried boards; resawn otherwise.
    start : float
        Index at the start, 0 to 6.
    decline : float
        Factor on the decline in dry hours: 1 as published for pine.

    Returns
    -------
    array, shape (n,)
        0 none, 1 begins under the microscope, 3 seen by eye, 6 covered. NaN from
        the first missing value on.

    Raises
    ------
    InputError
        When the class is unknown or the arrays differ in length.

    Notes
    -----
    dM/dt = k1 k2 / (168 exp(-0.68 ln T - 13.9 ln RH + 0.14 W - 0.33 SQ + 66.02)) per
    hour while 0 < T < 50 °C and RH is at least critical; k2 = max(1 - exp(2.3 (M -
    M_max)), 0), M_max = A + B x - C x², x = (RH_crit - RH)/(RH_crit - 100). Else it
    falls by 0.032 a day in the first 6 hours and 0.016 a day after 24. Fitted on
    pine and spruce: for other woods it is a guide.

    References
    ----------
    Hukka and Viitanen (1999), Wood Science and Technology 33:475-485; classes after
    Ojanen and others (2010). Read in an open implementation; the W and SQ terms are
    from memory.
    """
    known = sensitivities()
    if sensitivity not in known:
        raise InputError(
            _(
                "mould sensitivity {sensitivity!r} is not known: say {known}.",
                sensitivity=sensitivity,
                known=", ".join(known),
            )
        )
    if np.shape(temperature) != np.shape(humidity):
        raise InputError(
            _(
                "temperature has {count} hours and humidity {count2}. Give "
                "the same hours of both.",
                count=np.size(temperature),
                count2=np.size(humidity),
            )
        )
    one = known[sensitivity]
    constants = np.array(
        [
            one.lowest_humidity,
            one.a,
            one.b,
            one.c,
            one.growth_below_1,
            one.growth_above_1,
        ]
    )
    surface = 0.14 * spruce - 0.33 * kiln_dried
    return _index(
        np.ascontiguousarray(temperature, dtype=float),
        np.ascontiguousarray(np.clip(humidity, 0.0, 100.0), dtype=float),
        float(start),
        constants,
        surface,
        float(decline),
    )


def sustained_index(
    temperature: float, humidity: float, sensitivity: str = "very sensitive"
) -> float:
    """Return the highest index that mould reaches in steady air, 0 to 6.

    Parameters
    ----------
    temperature, humidity : float
        At the surface, °C and %.
    sensitivity : str
        As of `mould_index`.

    Notes
    -----
    M_max = A + B x - C x², x = (RH_crit - RH)/(RH_crit - 100); 0 below RH_crit.

    Examples
    --------
    >>> sustained_index(19.0, 90.0), sustained_index(19.0, 79.0)
    (4.0, 0.0)
    """
    one = sensitivities()[sensitivity]
    critical = float(critical_humidity(temperature, one.lowest_humidity))
    if critical >= 100.0 or humidity < critical:
        return 0.0
    x = (critical - humidity) / (critical - 100.0)
    return round(max(one.a + one.b * x - one.c * x * x, 0.0), 9)
