"""Snow on a roof: how much lies there, and how much of the roof it hides."""

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.physics.kernels.compiled import compiled

FREEZING = 0.5
"""°C below which precipitation falls as snow."""
MELT = 3.0 / 24.0
"""mm of water an hour for each K above freezing (3 mm per K and day)."""
COVERING = 10.0
"""mm of water in the snow that hides a roof."""
SEEN_THROUGH = 0.15
"""Share of sun taken up and of heat lost to the sky that is left under snow."""


@compiled()
def _lying(
    temperature: FloatArray, precipitation: FloatArray, start: float
) -> FloatArray:
    out = np.empty(temperature.size)
    water = start
    for k in range(temperature.size):
        t, fall = temperature[k], precipitation[k]
        if t < FREEZING and fall > 0.0:
            water += fall
        if t > 0.0:
            water = max(0.0, water - MELT * t)
        out[k] = water
    return out


def snow_water(temperature: FloatArray, precipitation: FloatArray) -> FloatArray:
    """Water held in the snow on a roof, hour by hour.

    Parameters
    ----------
    temperature : ndarray, shape (n,)
        Air, °C.
    precipitation : ndarray, shape (n,)
        mm in the hour; NaN counts as none.

    Returns
    -------
    ndarray
        mm, shape (n,). A series longer than a year starts with what lay at the end
        of its first year.

    Notes
    -----
    All precipitation below 0.5 °C is snow; 3 mm melt per K and day above 0 °C (usual
    degree-day factors are 2 to 5).

    References
    ----------
    Degree-day melt: Hock (2003), J. Hydrology 282, 104-115 (from memory).

    Examples
    --------
    >>> snow_water(np.array([-2.0, -2.0, 8.0]), np.array([1.0, 0.5, 0.0])).tolist()
    [1.0, 1.5, 0.5]
    """
    fall = np.nan_to_num(np.asarray(precipitation, dtype=np.float64), nan=0.0)
    t = np.asarray(temperature, dtype=np.float64)
    start = 0.0
    if t.size >= 8760:
        start = float(_lying(t[:8760], fall[:8760], 0.0)[-1])
    return _lying(t, fall, start)


def bare_share(water: FloatArray) -> FloatArray:
    """Share of sun and sky that reaches a roof through the snow on it.

    Parameters
    ----------
    water : ndarray
        mm of water in the snow.

    Returns
    -------
    ndarray
        1 for a bare roof, falling to 0.15 under 10 mm of water and more.

    Notes
    -----
    Fresh snow sends back about 0.8 of the sun, and 10 to 20 cm of it insulate as
    much as a board roof: the temperature under the roof then hardly follows sun or
    clear nights. Fitted roughly to two monitored roof spaces (docs/storage.md).

    Examples
    --------
    >>> bare_share(np.array([0.0, 5.0, 80.0])).round(3).tolist()
    [1.0, 0.575, 0.15]
    """
    cover = np.minimum(np.asarray(water, dtype=np.float64) / COVERING, 1.0)
    result: FloatArray = 1.0 - (1.0 - SEEN_THROUGH) * cover
    return result
