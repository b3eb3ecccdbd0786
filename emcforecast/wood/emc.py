"""Sorption for people: scalars, arrays and labelled arrays alike."""

import sys
from collections.abc import Callable
from typing import Any

from emcforecast.physics import sorption
from emcforecast.physics.sorption import Branch


def equilibrium_moisture_content(
    temperature: Any, relative_humidity: Any, branch: Branch = "mid"
) -> Any:
    """Moisture content at which wood neither gains nor loses in steady air.

    Parameters
    ----------
    temperature : float, array_like or DataArray
        Air temperature, °C.
    relative_humidity : float, array_like or DataArray
        Relative humidity over liquid water, %; held within 0 to 100.
    branch : {"mid", "drying", "wetting"}
        Middle of the hysteresis loop (the published table), or the value reached
        from above or from below.

    Returns
    -------
    float, ndarray or DataArray
        Equilibrium moisture content, % of oven-dry mass; the inputs' common shape.
        NaN where an input is NaN.

    Notes
    -----
    Hailwood-Horrobin one-hydrate relation; valid from -1.1 to 132 °C, held at
    -1.1 °C below. See `emcforecast.physics.sorption`.

    References
    ----------
    Wood Handbook, FPL-GTR-190 (2010), chapter 4, equation 4-5 and Table 4-2.

    Examples
    --------
    >>> round(equilibrium_moisture_content(21.1, 65.0), 1)
    12.0
    >>> equilibrium_moisture_content([0.0, 20.0], 80.0).round(1).tolist()
    [16.5, 16.0]
    """
    return _labelled(
        lambda t, h: sorption.equilibrium_moisture_content(t, h, branch),
        temperature,
        relative_humidity,
        "equilibrium moisture content",
    )


def equilibrium_humidity(
    temperature: Any, moisture_content: Any, branch: Branch = "mid"
) -> Any:
    """Relative humidity of the air in which wood of a moisture content is at rest.

    Parameters
    ----------
    temperature : float, array_like or DataArray
        Temperature, °C.
    moisture_content : float, array_like or DataArray
        Moisture content, % of oven-dry mass.
    branch : {"mid", "drying", "wetting"}
        As for `equilibrium_moisture_content`.

    Returns
    -------
    float, ndarray or DataArray
        Relative humidity over liquid water, %; 100 at and above the EMC of
        saturated air. NaN where an input is NaN.

    Notes
    -----
    The inverse of `equilibrium_moisture_content`, to 1e-10 %.

    Examples
    --------
    >>> round(equilibrium_humidity(20.0, 8.0))
    42
    """
    return _labelled(
        lambda t, m: sorption.equilibrium_humidity(t, m, branch),
        temperature,
        moisture_content,
        "relative humidity at rest",
    )


def _labelled(
    function: Callable[[Any, Any], Any], first: Any, second: Any, long_name: str
) -> Any:
    """Apply an array function; keep labels where an input carries them."""
    xarray = sys.modules.get("xarray")
    if xarray is not None and any(
        isinstance(value, xarray.DataArray) for value in (first, second)
    ):
        result = xarray.apply_ufunc(
            function, first, second, dask="parallelized", output_dtypes=[float]
        )
        result.attrs = {"units": "%", "long_name": long_name}
        return result.rename(long_name.replace(" ", "_"))
    result = function(first, second)
    return float(result) if result.ndim == 0 else result
