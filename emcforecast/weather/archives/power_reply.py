"""Replies of NASA POWER, JSON or CSV of any step -> the raw series."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.conversions import split_rate
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.raw import place_of, series_of_reports
from emcforecast.weather.archives.record import Origin
from emcforecast.weather.archives.tables import (
    counted_table,
    numbers,
    scaled,
    times_of_parts,
)
from emcforecast.weather.formats.content import decode
from emcforecast.weather.hints import Hints
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, add_repairs, repair
from emcforecast.weather.series import NOMINAL_YEAR

ORIGIN = Origin(
    "NASA POWER",
    "NASA POWER (MERRA-2, CERES)",
    "free use, acknowledgement asked",
    "Data from the NASA Langley Research Center POWER project "
    "(https://power.larc.nasa.gov/)",
    "reanalysis",
)
#: Ours, theirs in order of preference, and the unit when the reply states none.
NAMES = {
    "air_temperature": (("T2M", "C"),),
    "air_temperature_min": (("T2M_MIN", "C"),),
    "air_temperature_max": (("T2M_MAX", "C"),),
    "relative_humidity": (("RH2M", "%"),),
    "dew_point": (("T2MDEW", "C"),),
    "specific_humidity": (("QV2M", "g/kg"),),
    "pressure": (("PS", "kPa"),),
    "precipitation": (("PRECTOTCORR", ""), ("PRECTOT", "")),
    "wind_speed": (("WS10M", "m/s"), ("WS2M", "m/s")),
    "shortwave": (("ALLSKY_SFC_SW_DWN", ""),),
}
#: Wind at 10 m over wind at 2 m above short grass: FAO-56 equation 47.
TWO_TO_TEN = float(np.log(67.8 * 10 - 5.42) / 4.87)
MONTHS = (
    *("JAN", "FEB", "MAR", "APR", "MAY", "JUN"),
    *("JUL", "AUG", "SEP", "OCT", "NOV", "DEC"),
)
HOURS_A_DAY = 24.0
MISSING = -999.0
WHEN = ("YEAR", "MO", "DY", "HR", "DOY")


@dataclass(frozen=True)
class Columns:
    """What a reply holds, before any unit is changed.

    `columns`: shape (n,), by the archive's own names; `units` as the reply states them;
    `fill` stands for missing; `standard` is "UTC", "LST" (local solar time) or "";
    `place` holds latitude, longitude (degrees) and elevation (m).
    """

    columns: Mapping[str, FloatArray]
    units: Mapping[str, str]
    fill: float
    standard: str
    place: dict[str, float | None]


def series_of_columns(stamps: TimeArray, step: str, found: Columns) -> xr.Dataset:
    """Build the raw series of hours, days or months.

    `stamps`: start of each interval by the clock of the reply; NaT for annual values.
    """
    repairs: list[Repair] = []
    values = _in_units(found, step, repairs)
    if step == "month":
        yearly = np.isnat(stamps)
        stamps = stamps[~yearly]
        values = {name: column[~yearly] for name, column in values.items()}
        _month_totals(values, found.units, stamps)
    if found.standard == "LST" and step == "hour":
        stamps = _solar_to_utc(stamps, found.place, repairs)
    elif found.standard == "LST" and step == "day":
        repairs.append(repair(RepairKind.DAYS_OF_SOLAR_TIME))
    return series_of_reports(
        ORIGIN, stamps, values, repairs, found.place, step=step, preceding=()
    )


def series_of_normals(keys: list[str], found: Columns) -> xr.Dataset:
    """Build the raw series of the twelve normals; annual values are dropped."""
    upper = [key.upper() for key in keys]
    order = [upper.index(name) for name in MONTHS if name in upper]
    if len(order) != 12:
        raise ArchiveError(_("the NASA POWER climatology does not hold twelve months"))
    repairs: list[Repair] = []
    values = {
        name: column[order]
        for name, column in _in_units(found, "month", repairs).items()
    }
    for name in ("air_temperature", "relative_humidity", "dew_point"):
        lacking = np.flatnonzero(np.isnan(values.get(name, np.zeros(12))))
        if 0 < lacking.size < 12:
            raise ArchiveError(
                _(
                    "the NASA POWER climatology has no {name} in month {month}; "
                    "fetch it again, or ask for hours or days",
                    name=quantity_name(name),
                    month=lacking[0] + 1,
                )
            )
    first = np.datetime64(f"{NOMINAL_YEAR}-01", "M")
    stamps = np.asarray((first + np.arange(12)).astype("datetime64[ns]"))
    _month_totals(values, found.units, stamps)
    return series_of_reports(
        *(ORIGIN, stamps, values, repairs, found.place),
        step="month",
        kind="normals",
        preceding=(),
    )


def _in_units(
    found: Columns, step: str, repairs: list[Repair]
) -> dict[str, FloatArray]:
    values: dict[str, FloatArray] = {}
    for ours, theirs in NAMES.items():
        hit = next(((n, unit) for n, unit in theirs if n in found.columns), None)
        if hit is None:
            continue
        name, usual = hit
        column = found.columns[name]
        column = np.where(column <= found.fill + 0.5, np.nan, column)
        unit = found.units.get(name) or usual
        if ours == "precipitation":
            column = _depth(column, unit, step)
        else:
            column = scaled(column, unit, ours, "NASA POWER")
        if name == "WS2M":
            column = column * TWO_TO_TEN
            repairs.append(repair(RepairKind.WIND_RAISED))
        values[ours] = column
    return values


def _depth(column: FloatArray, unit: str, step: str) -> FloatArray:
    """Precipitation in mm per step, from a rate or an amount."""
    depth, hours = split_rate(unit)
    if depth != "mm" or hours not in (None, 1.0, HOURS_A_DAY):
        raise ArchiveError(
            _(
                "NASA POWER gives precipitation in {unit!r}; known: mm/day, "
                "mm/hour, mm",
                unit=unit,
            )
        )
    per_day = hours == HOURS_A_DAY and step == "hour"
    return column / HOURS_A_DAY if per_day else column


def _month_totals(
    values: dict[str, FloatArray], units: Mapping[str, str], stamps: TimeArray
) -> None:
    """Turn a month's mean rain a day into its sum."""
    unit = units.get("PRECTOTCORR") or units.get("PRECTOT") or "mm/day"
    if "precipitation" in values and "day" in unit:
        first = stamps.astype("datetime64[M]")
        days = (first + np.timedelta64(1, "M")).astype("datetime64[D]") - first.astype(
            "datetime64[D]"
        )
        values["precipitation"] = values["precipitation"] * days.astype(np.float64)


def _solar_to_utc(
    stamps: TimeArray, place: Mapping[str, float | None], repairs: list[Repair]
) -> TimeArray:
    longitude = place["longitude"]
    if longitude is None:
        raise ArchiveError(
            _(
                "the NASA POWER hours are in local solar time and the place "
                "is not known; give --longitude, or ask for time-standard=UTC"
            )
        )
    offset = int(np.round(longitude / 15.0))
    repairs.append(repair(RepairKind.SOLAR_TIME, offset=offset))
    return np.asarray(stamps - np.timedelta64(offset, "h"))


def from_json(reply: Mapping[str, Any], hints: Hints) -> xr.Dataset:
    """Read the JSON of hours, days, months or normals."""
    try:
        parameters = reply["properties"]["parameter"]
    except (KeyError, TypeError) as error:
        stated = reply.get("messages") or reply.get("detail") or reply.get("errors")
        raise ArchiveError(
            _(
                "NASA POWER sent no data: {stated}",
                stated=stated or _("no parameters in the reply"),
            )
        ) from error
    header = reply.get("header", {})
    spot = list(reply.get("geometry", {}).get("coordinates", []))
    longitude, latitude, elevation = [*spot, None, None, None][:3]
    keys = list(dict.fromkeys(key for item in parameters.values() for key in item))
    found = Columns(
        {
            name: np.array([_value(item.get(key)) for key in keys], dtype=np.float64)
            for name, item in parameters.items()
        },
        {
            name: str(item.get("units", ""))
            for name, item in reply.get("parameters", {}).items()
        },
        float(header.get("fill_value", MISSING)),
        str(header.get("time_standard", "")),
        place_of(hints, latitude=latitude, longitude=longitude, elevation=elevation),
    )
    if keys and keys[0].upper() in (*MONTHS, "ANN"):
        return series_of_normals(keys, found)
    return series_of_columns(*_key_stamps(keys), found)


def _value(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return float("nan")
    return float(value)


def _key_stamps(keys: list[str]) -> tuple[TimeArray, str]:
    size = len(keys[0]) if keys else 8
    step = {6: "month", 8: "day", 10: "hour"}.get(size)
    if step is None or not all(key.isdigit() and len(key) == size for key in keys):
        raise ArchiveError(
            _("NASA POWER times such as {cell!r} are not understood", cell=keys[0])
        )

    def part(start: int, stop: int, least: int) -> FloatArray:
        return np.array([float(key[start:stop] or least) for key in keys])

    year, month, day = part(0, 4, 1), part(4, 6, 1), part(6, 8, 1)
    return times_of_parts(year, month, day, part(8, 10, 0)), step


def from_csv(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read the CSV of hours, days, months or normals."""
    lines = decode(payload).split("\n")
    end = next(
        (n for n, line in enumerate(lines) if line.startswith("-END HEADER-")), -1
    )
    header = "\n".join(lines[: end + 1])
    units = {
        match[1]: match[2].strip()
        for match in re.finditer(r"^([A-Z][A-Z0-9_]+) +.*\(([^()]*)\) *$", header, re.M)
    }
    place = place_of(
        hints,
        latitude=_search(r"latitude\s+(-?[\d.]+)", header),
        longitude=_search(r"longitude\s+(-?[\d.]+)", header),
        elevation=_search(r"elevation.*=\s*(-?[\d.]+)\s*meters", header),
    )
    stated = _search(r"missing.*:\s*(-?[\d.]+)", header)
    fill = MISSING if stated is None else stated
    clock = re.search(r"\bin (UTC|LST)\b", header)
    standard = clock[1] if clock else ""
    broken: list[Repair] = []
    frame = counted_table(
        "\n".join(lines[end + 1 :]).encode(), broken, text=("PARAMETER",)
    )
    return add_repairs(_from_frame(frame, units, fill, standard, place), *broken)


def _from_frame(
    frame: pd.DataFrame,
    units: Mapping[str, str],
    fill: float,
    standard: str,
    place: dict[str, float | None],
) -> xr.Dataset:
    """Read the table of a CSV; `standard` as in `Columns`."""
    names = [str(name) for name in frame.columns]
    if "PARAMETER" in names:
        return _from_rows(frame, units, fill, place)
    if "YEAR" not in names or not {"MO", "DOY"} & set(names):
        raise ArchiveError(
            _(
                "the NASA POWER table has no dates (columns: {names})",
                names=", ".join(names),
            )
        )
    columns = {
        name: column
        for name in names
        if name not in WHEN and (column := numbers(frame, name)) is not None
    }
    found = Columns(columns, units, fill, standard, place)
    return series_of_columns(*_table_stamps(frame), found)


def _table_stamps(frame: pd.DataFrame) -> tuple[TimeArray, str]:
    def part(name: str, otherwise: float) -> FloatArray:
        found = numbers(frame, name)
        return np.full(len(frame), otherwise) if found is None else found

    day = part("DOY", 1.0) if "DOY" in frame else part("DY", 1.0)
    stamps = times_of_parts(part("YEAR", np.nan), part("MO", 1.0), day, part("HR", 0.0))
    daily = "DY" in frame or "DOY" in frame
    return stamps, "hour" if "HR" in frame else "day" if daily else "month"


def _search(pattern: str, text: str) -> float | None:
    match = re.search(pattern, text, re.I)
    return float(match[1]) if match else None


def _from_rows(
    frame: pd.DataFrame,
    units: Mapping[str, str],
    fill: float,
    place: dict[str, float | None],
) -> xr.Dataset:
    """Read the layout with a row for each parameter and a column for each month."""
    held = [(name, numbers(frame, name)) for name in MONTHS]
    lacking = [name for name, column in held if column is None]
    if lacking:
        raise ArchiveError(
            _(
                "the NASA POWER table has no column {lacking}; fetch it again",
                lacking=lacking[0],
            )
        )
    months = np.column_stack([column for _, column in held if column is not None])
    names = frame["PARAMETER"].fillna("").astype(str).to_numpy()
    year = numbers(frame, "YEAR")
    if year is None:
        normals = {name: months[names == name][0] for name in dict.fromkeys(names)}
        return series_of_normals(list(MONTHS), Columns(normals, units, fill, "", place))
    known = np.isfinite(year)
    years = np.unique(year[known]).astype(int)
    keys = [f"{one:04d}{month:02d}" for one in years for month in range(1, 13)]
    columns = {}
    for name in dict.fromkeys(names[known]):
        grid = np.full((years.size, 12), np.nan)
        rows = known & (names == name)
        grid[np.searchsorted(years, year[rows])] = months[rows]
        columns[name] = grid.ravel()
    found = Columns(columns, units, fill, "", place)
    return series_of_columns(*_key_stamps(keys), found)
