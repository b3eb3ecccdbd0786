"""Equilibrium moisture content and humidity of scalars, arrays, Series, DataArrays."""

from __future__ import annotations

import math
import sys
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, overload

from emcforecast import bounds
from emcforecast.conversions import TEMPERATURES, from_unit, plain_unit
from emcforecast.errors import InputError
from emcforecast.language import N_, _
from emcforecast.physics import sorption
from emcforecast.physics.sorption import Branch

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    import xarray as xr
    from numpy.typing import ArrayLike

    from emcforecast._types import FloatArray

    Numbers = FloatArray | np.ndarray[Any, Any] | Sequence[float]

COOLEST, HOTTEST = bounds.WOOD_TEMPERATURE
DRIEST, DAMPEST = bounds.HUMIDITY
LIMITS = (COOLEST, HOTTEST, DRIEST, DAMPEST)
FEW = 1000
"""Values that are looked at first."""


@dataclass(frozen=True)
class _Result:
    """What a result is called."""

    name: str
    long_name: str
    standard_name: str | None = None

    @property
    def attrs(self) -> dict[str, str]:
        """CF attributes."""
        attrs = {"units": "%", "long_name": self.long_name}
        return attrs | (
            {"standard_name": self.standard_name} if self.standard_name else {}
        )


_EMC = _Result(
    "equilibrium_moisture_content",
    "equilibrium moisture content of wood, % of oven-dry mass",
)
_HUMIDITY = _Result(
    "equilibrium_humidity",
    "relative humidity at equilibrium with wood, over liquid water",
    "relative_humidity",
)


@overload
def equilibrium_moisture_content(
    temperature: float, relative_humidity: float, branch: Branch = "mid"
) -> float: ...
@overload
def equilibrium_moisture_content(
    temperature: xr.DataArray,
    relative_humidity: xr.DataArray | ArrayLike,
    branch: Branch = "mid",
) -> xr.DataArray: ...
@overload
def equilibrium_moisture_content(
    temperature: ArrayLike, relative_humidity: xr.DataArray, branch: Branch = "mid"
) -> xr.DataArray: ...
@overload
def equilibrium_moisture_content(
    temperature: pd.Series[Any],
    relative_humidity: pd.Series[Any] | ArrayLike,
    branch: Branch = "mid",
) -> pd.Series[float]: ...
@overload
def equilibrium_moisture_content(
    temperature: ArrayLike, relative_humidity: pd.Series[Any], branch: Branch = "mid"
) -> pd.Series[float]: ...
@overload
def equilibrium_moisture_content(
    temperature: Numbers,
    relative_humidity: Numbers | float,
    branch: Branch = "mid",
) -> FloatArray: ...
@overload
def equilibrium_moisture_content(
    temperature: float, relative_humidity: Numbers, branch: Branch = "mid"
) -> FloatArray: ...
def equilibrium_moisture_content(
    temperature: Any, relative_humidity: Any, branch: Branch = "mid"
) -> Any:
    """Moisture content at which wood neither gains nor loses in steady air.

    Parameters
    ----------
    temperature : float, array_like, Series or DataArray
        Air temperature, °C; K and °F where the attribute ``units`` says so.
    relative_humidity : float, array_like, Series or DataArray
        Relative humidity over liquid water, %; a fraction where ``units`` is "1".
    branch : {"mid", "drying", "wetting"}
        Middle of the hysteresis loop (the published table), or the value reached
        from above or from below.

    Returns
    -------
    float, ndarray, Series or DataArray
        Equilibrium moisture content, % of oven-dry mass; the inputs' common shape.
        NaN where an input is NaN.

    Raises
    ------
    InputError
        For temperatures outside -60 to 160 °C, humidities outside 0 to 100 % by more
        than 0.5, units that are not known, and Series of different indexes.

    Warns
    -----
    UserWarning
        When several humidities are all at most 1: they look like fractions.

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
        lambda t, h: _emc(t, h, branch),
        _in_units("temperature", temperature, TEMPERATURES, "degC, K or degF"),
        _in_units(
            "relative humidity", relative_humidity, ("%", "1", "kg/kg"), "% or 1"
        ),
        _EMC,
    )


@overload
def equilibrium_humidity(
    temperature: float, moisture_content: float, branch: Branch = "mid"
) -> float: ...
@overload
def equilibrium_humidity(
    temperature: xr.DataArray,
    moisture_content: xr.DataArray | ArrayLike,
    branch: Branch = "mid",
) -> xr.DataArray: ...
@overload
def equilibrium_humidity(
    temperature: ArrayLike, moisture_content: xr.DataArray, branch: Branch = "mid"
) -> xr.DataArray: ...
@overload
def equilibrium_humidity(
    temperature: pd.Series[Any],
    moisture_content: pd.Series[Any] | ArrayLike,
    branch: Branch = "mid",
) -> pd.Series[float]: ...
@overload
def equilibrium_humidity(
    temperature: ArrayLike, moisture_content: pd.Series[Any], branch: Branch = "mid"
) -> pd.Series[float]: ...
@overload
def equilibrium_humidity(
    temperature: Numbers,
    moisture_content: Numbers | float,
    branch: Branch = "mid",
) -> FloatArray: ...
@overload
def equilibrium_humidity(
    temperature: float, moisture_content: Numbers, branch: Branch = "mid"
) -> FloatArray: ...
def equilibrium_humidity(
    temperature: Any, moisture_content: Any, branch: Branch = "mid"
) -> Any:
    """Relative humidity of the air in which wood of a moisture content is at rest.

    Parameters
    ----------
    temperature : float, array_like, Series or DataArray
        Temperature, °C; K and °F where the attribute ``units`` says so.
    moisture_content : float, array_like, Series or DataArray
        Moisture content, % of oven-dry mass; a fraction where ``units`` is "1".
    branch : {"mid", "drying", "wetting"}
        As for `equilibrium_moisture_content`.

    Returns
    -------
    float, ndarray, Series or DataArray
        Relative humidity over liquid water, %; 100 at and above the EMC of
        saturated air. NaN where an input is NaN.

    Raises
    ------
    InputError
        For temperatures outside -60 to 160 °C, moisture contents outside 0 to 600 %,
        units that are not known, and Series of different indexes.

    Warns
    -----
    UserWarning
        When several moisture contents are all at most 1: they look like fractions.

    Notes
    -----
    The inverse of `equilibrium_moisture_content`, to 1e-10 %.

    Examples
    --------
    >>> round(equilibrium_humidity(20.0, 8.0))
    42
    """
    return _labelled(
        lambda t, m: _humidity(t, m, branch),
        _in_units("temperature", temperature, TEMPERATURES, "degC, K or degF"),
        _in_units("moisture content", moisture_content, ("%", "1", "kg/kg"), "% or 1"),
        _HUMIDITY,
    )


def _emc(temperature: Any, relative_humidity: Any, branch: Branch) -> FloatArray:
    """EMC of plain arrays, checked."""
    import numpy as np

    t, h = _as_arrays(temperature, relative_humidity)
    if np.broadcast(t, h).size < sorption.LARGE:
        result = sorption.equilibrium_moisture_content(t, h, branch)
        _require_temperature(t)
        most = _require_percent("relative humidity", h, DRIEST, DAMPEST)
    else:
        wide_t, wide_h = np.broadcast_arrays(t, h)
        result = np.empty(wide_t.shape)
        # Looking for the extremes would take a third of the time again.
        if sorption.fill_large(wide_t, wide_h, branch, result, LIMITS):
            _require_temperature(t)
            _require_percent("relative humidity", h, DRIEST, DAMPEST)
        most = _extremes(h.reshape(-1)[:FEW])[1]
        most = most if most > 1.0 else _extremes(h)[1]
    _warn_of_fractions("relative humidity", h.size, most)
    return result


def _humidity(temperature: Any, moisture_content: Any, branch: Branch) -> FloatArray:
    """Humidity at rest of plain arrays, checked."""
    t, mc = _as_arrays(temperature, moisture_content)
    _require_temperature(t)
    most = _require_percent("moisture content", mc, *bounds.MOISTURE)
    _warn_of_fractions("moisture content", mc.size, most)
    return sorption.equilibrium_humidity(t, mc, branch)


def _as_arrays(first: Any, second: Any) -> tuple[FloatArray, FloatArray]:
    import numpy as np

    try:
        return np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise InputError(_("numbers are needed: {error}", error=error)) from error


def _extremes(values: FloatArray) -> tuple[float, float]:
    """Least and greatest number; NaN or infinite where there is none."""
    import numpy as np

    if values.ndim == 0:
        return float(values), float(values)
    if values.size == 0:
        return math.inf, -math.inf
    return float(np.fmin.reduce(values, None)), float(np.fmax.reduce(values, None))


def _require_temperature(values: FloatArray) -> None:
    least, most = _extremes(values)
    if not (least < COOLEST or most > HOTTEST):
        return
    worst = most if most > HOTTEST else least
    outside = N_(
        "temperature {worst:g} °C is outside {coolest:g} to {hottest:g}; check its unit"
    )
    kelvin = N_(
        "temperature {worst:g} °C is outside {coolest:g} to {hottest:g}; kelvin? "
        "subtract 273.15"
    )
    why = kelvin if 200.0 <= worst <= 433.0 else outside
    raise InputError(_(why, worst=worst, coolest=COOLEST, hottest=HOTTEST))


def _require_percent(what: str, values: FloatArray, low: float, high: float) -> float:
    """Return the greatest value of those that may be."""
    least, most = _extremes(values)
    if not (least < low or most > high):
        return most
    worst = most if most > high else least
    raise InputError(
        _(
            "{what} {worst:g} % is outside 0 to {high:g}; check its unit, %",
            what=what,
            worst=worst,
            high=math.floor(high),
        )
    )


def _warn_of_fractions(what: str, count: int, most: float) -> None:
    """Warn of several numbers none of which passes 1."""
    if count > 1 and 0.0 < most <= 1.0:
        warnings.warn(
            _(
                "{what} never passes {most:g} %: it looks like a fraction; multiply by "
                "100, or give a DataArray with units '1'",
                what=what,
                most=most,
            ),
            UserWarning,
            stacklevel=_calls_inside(),
        )


def _calls_inside() -> int:
    """Return the calls from a warning to code outside this package and xarray."""
    frame, count = sys._getframe(1), 1
    while frame.f_back is not None and str(
        frame.f_globals.get("__name__", "")
    ).partition(".")[0] in ("emcforecast", "xarray"):
        frame, count = frame.f_back, count + 1
    return count


def _in_units(what: str, value: Any, known: Sequence[str], allowed: str) -> Any:
    """Convert a Series or DataArray that says its units."""
    attrs = getattr(value, "attrs", None)
    units = attrs.get("units") if isinstance(attrs, dict) else None
    if units is None:
        return value
    unit = plain_unit(str(units))
    if unit not in known:
        raise InputError(
            _(
                "{what} in units {units!r} is not known; give it in {allowed}",
                what=what,
                units=str(units),
                allowed=allowed,
            )
        )
    return from_unit(value, "1" if unit == "kg/kg" else unit)


def _labelled(
    function: Callable[[Any, Any], Any], first: Any, second: Any, about: _Result
) -> Any:
    """Apply an array function; keep labels where an input carries them."""
    xarray, pandas = sys.modules.get("xarray"), sys.modules.get("pandas")
    both = (first, second)
    if xarray is not None and any(isinstance(v, xarray.DataArray) for v in both):
        result = xarray.apply_ufunc(
            function, first, second, dask="parallelized", output_dtypes=[float]
        )
        result.attrs = about.attrs
        return result.rename(about.name)
    if pandas is not None:
        series = [v for v in both if isinstance(v, pandas.Series)]
        if series:
            return _series_like(series, function(first, second), about.name)
    result = function(first, second)
    return float(result) if result.ndim == 0 else result


def _series_like(series: Sequence[Any], values: FloatArray, name: str) -> Any:
    """Return values as a Series of the same index; the name of all, or the result's."""
    index = series[0].index
    if not all(index.equals(other.index) for other in series[1:]):
        raise InputError(
            _(
                "the two Series do not share an index; align them first: a, "
                "b = a.align(b)"
            )
        )
    import pandas as pd

    names = {one.name for one in series}
    return pd.Series(values, index=index, name=names.pop() if len(names) == 1 else name)
