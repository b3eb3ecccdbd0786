"""Columns of a table -> series units; what is not stated is decided or refused."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.conversions import fahrenheit_to_celsius, from_unit
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.moist_air import (
    relative_humidity,
    saturation_vapour_pressure,
)
from emcforecast.weather.formats.headers import TEMPERATURES, allowed_units
from emcforecast.weather.formats.table import Numbers
from emcforecast.weather.formats.table_times import Timeline
from emcforecast.weather.hints import Hints
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, repair

HUMIDITY_MEASURES = (
    *("relative_humidity", "dew_point", "wet_bulb", "vapour_pressure"),
    *("specific_humidity", "mixing_ratio", "absolute_humidity"),
)
WANTED = (
    *(*TEMPERATURES, *HUMIDITY_MEASURES),
    *("precipitation", "wind_speed", "shortwave", "pressure"),
)


def in_units(
    columns: dict[str, Numbers],
    units: dict[str, str | None],
    time: TimeArray,
    when: Timeline,
    hints: Hints,
) -> tuple[dict[str, FloatArray], dict[str, str], list[Repair]]:
    """Bring the columns of a table to series units.

    `units`: what the names of the columns say; `time`: when the rows were, shape (n,).
    Returns the values and the units used, by quantity.
    """
    repairs: list[Repair] = []
    raw = {name: column.values for name, column in columns.items()}
    said = {
        name: _said_unit(name, column, units.get(name))
        for name, column in columns.items()
    }
    odd = {text for column in columns.values() for text in column.unreadable}
    if odd:
        such = sorted(odd)[0][:20]
        repairs.append(repair(RepairKind.UNREADABLE_CELLS, example=such))
    out: dict[str, FloatArray] = {}
    used: dict[str, str] = {}
    if "relative_humidity" in raw:
        unit, why = humidity_unit(
            raw["relative_humidity"], hints.humidity_unit or said["relative_humidity"]
        )
        used["relative_humidity"] = unit
        out["relative_humidity"] = from_unit(raw["relative_humidity"], unit)
        repairs += why
    warm, why = _temperature_unit(raw, said, out, time, when, hints)
    repairs += why
    for name in TEMPERATURES:
        if name in raw:
            used[name] = said[name] or warm
            out[name] = from_unit(raw[name], used[name])
    for name in WANTED:
        if name in out or name not in raw:
            continue
        unit_or_none, why = _other_unit(name, raw[name], said[name], warm, hints)
        repairs += why
        if unit_or_none is None:
            continue
        used[name] = unit_or_none
        out[name] = from_unit(raw[name], unit_or_none)
        if name == "shortwave" and unit_or_none != "W/m2":
            out[name] = out[name] / {"day": 24.0, "hour": 1.0}.get(when.step, 24.0)
    return out, used, repairs


def _said_unit(name: str, column: Numbers, header: str | None) -> str | None:
    allowed = allowed_units(name) or set()
    in_cells = [unit for unit in column.units if unit in allowed]
    if len(in_cells) > 1:
        raise WeatherError(
            _(
                "cells of {name} carry different units ({allowed}); write "
                "them all in one",
                name=quantity_name(name),
                allowed=", ".join(in_cells),
            )
        )
    return in_cells[0] if in_cells else header


def _temperature_unit(
    raw: dict[str, FloatArray],
    said: dict[str, str | None],
    out: dict[str, FloatArray],
    time: TimeArray,
    when: Timeline,
    hints: Hints,
) -> tuple[str, list[Repair]]:
    if hints.temperature_unit is not None:
        for name in TEMPERATURES:
            if name in said:
                said[name] = hints.temperature_unit
        return hints.temperature_unit, []
    main = next((n for n in TEMPERATURES if n in raw), None)
    if main is None:
        return "C", []
    stated = next((said[n] for n in TEMPERATURES if said.get(n)), None)
    if said.get(main):
        return str(said[main]), []
    if stated:
        return stated, [repair(RepairKind.UNIT_OF_NEIGHBOURS, unit=stated)]
    days = (
        365.0
        if when.step == "normals"
        else float((time.max() - time.min()) / np.timedelta64(1, "D"))
    )
    others = {"dew_point": raw["dew_point"]} if "dew_point" in raw else {}
    if "relative_humidity" in out:
        others["relative_humidity"] = out["relative_humidity"]
    means = when.step in ("month", "normals")
    return temperature_unit(raw[main], others, days=days, means=means)


_DEFAULTS = {
    "wind_speed": ("m/s", "wind_unit"),
    "precipitation": ("mm", "precipitation_unit"),
}


def _other_unit(
    name: str, values: FloatArray, said: str | None, warm: str, hints: Hints
) -> tuple[str | None, list[Repair]]:
    if name in _DEFAULTS:
        usual, hint = _DEFAULTS[name]
        stated = getattr(hints, hint) or said
        if stated:
            return stated, []
        if warm == "F":
            return None, [repair(RepairKind.UNIT_BESIDE_FAHRENHEIT, None, name)]
        return usual, [repair(RepairKind.UNIT_USUAL, None, name, unit=usual)]
    if said:
        return said, []
    if name == "shortwave":
        return "W/m2", [repair(RepairKind.UNIT_DECIDED, None, name, unit="W/m2")]
    known = values[np.isfinite(values)]
    middle = float(np.median(np.abs(known))) if known.size else 0.0
    if name in ("pressure", "vapour_pressure"):
        bounds = ((2000.0, "Pa"), (200.0, "hPa"), (50.0, "kPa"))
        if name == "pressure":
            unit = next((u for least, u in bounds if middle > least), None)
            if unit is None:
                return None, [repair(RepairKind.UNIT_UNKNOWN, None, name)]
            return unit, []
        raise WeatherError(
            _(
                "vapour pressure has no unit; write it in the header, such "
                "as vapour_pressure_hpa"
            )
        )
    unit = {"absolute_humidity": "g/m3"}.get(name, "g/kg" if middle > 0.1 else "kg/kg")
    return unit, [repair(RepairKind.UNIT_DECIDED, None, name, unit=unit)]


HOTTEST = 57.0
"""Hottest air ever measured, °C."""
TREE_LINE = 10.0
"""No trees grow where the warmest month stays below this, °C."""


def temperature_unit(
    values: FloatArray, others: Mapping[str, FloatArray], *, days: float, means: bool
) -> tuple[str, list[Repair]]:
    """Decide the unit of temperatures whose name states none.

    `others`: ``dew_point`` in the same unit and ``relative_humidity`` (%), when
    present; `days`: length of the record (d); `means`: monthly means.
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
        _(
            "temperature has no unit and {low:.0f} to {high:.0f} may be "
            "°C or °F; say which with --temperature-unit C or "
            "--temperature-unit F",
            low=low,
            high=high,
        )
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
                _(
                    "relative humidity is said to be in % but never passes "
                    "{top:g}; if it is a fraction say so with --humidity-unit "
                    "fraction",
                    top=top,
                )
            )
        return "percent", []
    if top <= 1.0:
        return "fraction", [repair(RepairKind.UNIT_FRACTION)]
    if top <= 1.5:
        raise WeatherError(
            _(
                "relative humidity has no unit and its largest value is "
                "{top:g}; say --humidity-unit fraction or --humidity-unit "
                "percent",
                top=top,
            )
        )
    return "percent", []
