"""Which unit a column is in, when its name does not say: decided or refused."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.conversions import fahrenheit_to_celsius, from_unit
from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import (
    relative_humidity,
    saturation_vapour_pressure,
)
from emcforecast.weather.repairs import Repair, RepairKind, repair

HOTTEST = 57.0
"""Hottest air ever measured, °C."""
TREE_LINE = 10.0
"""No trees grow where the warmest month stays below this, °C."""


def temperature_unit(
    values: FloatArray, others: Mapping[str, FloatArray], *, days: float, means: bool
) -> tuple[str, list[Repair]]:
    """Decide the unit of temperatures whose name states none.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Air temperatures as in the file.
    others : mapping of str to ndarray
        ``dew_point`` in the same unit and ``relative_humidity`` (%), when present.
    days : float
        Length of the record (d).
    means : bool
        True for monthly means.
    """
    known = values[np.isfinite(values) & (np.abs(values) < 400.0)]
    if not known.size:
        return "C", []
    low, high = (float(q) for q in np.quantile(known, [0.001, 0.999]))
    if low > 180.0:
        return "K", [repair(RepairKind.UNIT_KELVIN)]
    decided = _by_dampness(values, others)
    if decided:
        return decided, [repair(RepairKind.UNIT_OF_HUMIDITY, unit=decided)]
    hottest = 42.0 if means else HOTTEST
    if high > hottest:
        return "F", [repair(RepairKind.UNIT_OF_HEAT, most=high)]
    as_f = fahrenheit_to_celsius(high)
    if days > 270.0 and as_f < TREE_LINE:
        return "C", [repair(RepairKind.UNIT_OF_COLD, warmest=as_f)]
    raise WeatherError(
        f"temperature has no unit and {low:.0f} to {high:.0f} may be °C or °F; "
        "say which with --temperature-unit C or --temperature-unit F"
    )


def _by_dampness(values: FloatArray, others: Mapping[str, FloatArray]) -> str:
    if "dew_point" not in others or "relative_humidity" not in others:
        return ""
    humidity, dew = others["relative_humidity"], others["dew_point"]
    good = np.isfinite(values + dew + humidity) & (humidity > 5.0) & (humidity < 98.0)
    if np.count_nonzero(good) < 3:
        return ""
    miss = {}
    for unit in ("C", "F"):
        t, t_d = from_unit(values[good], unit), from_unit(dew[good], unit)
        with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
            derived = relative_humidity(t, saturation_vapour_pressure(t_d))
        miss[unit] = float(np.nanmedian(np.abs(derived - humidity[good])))
    near, far = sorted(miss, key=lambda unit: miss[unit])
    return near if miss[near] < 2.5 and miss[far] > 2.0 * miss[near] + 1.0 else ""


def humidity_unit(values: FloatArray, stated: str | None) -> tuple[str, list[Repair]]:
    """Decide whether relative humidity is in per cent or a fraction."""
    known = values[np.isfinite(values) & (np.abs(values) < 900.0)]
    top = float(known.max()) if known.size else 100.0
    if stated == "fraction":
        return "fraction", []
    if stated == "percent":
        if 0.0 < top <= 1.0 and known.size > 2:
            raise WeatherError(
                f"relative humidity is said to be in % but never passes {top:g}; if it "
                "is a fraction say so with --humidity-unit fraction"
            )
        return "percent", []
    if top <= 1.0:
        return "fraction", [repair(RepairKind.UNIT_FRACTION)]
    if top <= 1.5:
        raise WeatherError(
            f"relative humidity has no unit and its largest value is {top:g}; say "
            "--humidity-unit fraction or --humidity-unit percent"
        )
    return "percent", []
