"""Columns of a table -> series units; what is not stated is decided or refused."""

from __future__ import annotations

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.conversions import from_unit
from emcforecast.errors import WeatherError
from emcforecast.weather.formats.cells import Numbers
from emcforecast.weather.formats.headers import TEMPERATURES, allowed_units
from emcforecast.weather.formats.table_times import Timeline
from emcforecast.weather.formats.unit_choice import (
    humidity_unit,
    temperature_unit,
)
from emcforecast.weather.hints import Hints
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

    Parameters
    ----------
    columns : dict of str to Numbers
        By quantity.
    units : dict of str to str or None
        What the names of the columns say.
    time : ndarray of datetime64, shape (n,)
        When the rows were.
    when : Timeline
        What a row stands for.
    hints : Hints
        What the user states.
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
            f"cells of {name.replace('_', ' ')} carry different units "
            f"({', '.join(in_cells)}); write them all in one"
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
            "vapour pressure has no unit; write it in the header, such as "
            "vapour_pressure_hpa"
        )
    unit = {"absolute_humidity": "g/m3"}.get(name, "g/kg" if middle > 0.1 else "kg/kg")
    return unit, [repair(RepairKind.UNIT_DECIDED, None, name, unit=unit)]
