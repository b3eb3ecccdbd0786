"""Replies of NASA POWER, JSON or CSV of any step -> columns and their times."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Stamps
from emcforecast.weather.archives.payload import decode
from emcforecast.weather.archives.power_values import (
    MONTHS,
    Columns,
    series_of_columns,
    series_of_normals,
)
from emcforecast.weather.archives.raw import place_of
from emcforecast.weather.archives.tables import numbers, table
from emcforecast.weather.hints import Hints
from emcforecast.weather.times.years import in_nanoseconds

MISSING = -999.0
WHEN = ("YEAR", "MO", "DY", "HR", "DOY")


def from_json(reply: Mapping[str, Any], hints: Hints) -> xr.Dataset:
    """Read the JSON of hours, days, months or normals.

    Parameters
    ----------
    reply : mapping
        The document.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        The raw series.

    Raises
    ------
    ArchiveError
        For an error reply, or times that are not understood.
    """
    try:
        parameters = reply["properties"]["parameter"]
    except (KeyError, TypeError) as error:
        said = reply.get("messages") or reply.get("detail") or reply.get("errors")
        raise ArchiveError(
            f"NASA POWER sent no data: {said or 'no parameters in the reply'}"
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
    return float(value) if isinstance(value, (int, float)) else float("nan")


def _key_stamps(keys: list[str]) -> tuple[Stamps, str]:
    size = len(keys[0]) if keys else 8
    step = {6: "month", 8: "day", 10: "hour"}.get(size)
    if step is None or not all(key.isdigit() and len(key) == size for key in keys):
        raise ArchiveError(f"NASA POWER times such as {keys[0]!r} are not understood")

    def part(start: int, stop: int, least: int) -> Floats:
        return np.array([float(key[start:stop] or least) for key in keys])

    return _stamps(part(0, 4, 1), part(4, 6, 1), part(6, 8, 1), part(8, 10, 0)), step


def _stamps(year: Floats, month: Floats, day: Floats, hour: Floats) -> Stamps:
    """Put times together; month 13, the annual value, becomes NaT."""
    known = np.isfinite(year + month + day + hour) & (month <= 12)
    months = np.where(known, (year - 1970) * 12 + month - 1, 0).astype(np.int64)
    hours = np.where(known, (day - 1) * 24 + hour, 0).astype("timedelta64[h]")
    stamps = months.astype("datetime64[M]").astype("datetime64[h]") + hours
    stamps[~known] = np.datetime64("NaT")
    return in_nanoseconds(stamps)


def from_csv(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read the CSV of hours, days, months or normals.

    Parameters
    ----------
    payload : bytes
        The reply, with or without its header.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        The raw series.

    Raises
    ------
    ArchiveError
        When the table has no dates.
    """
    lines = decode(payload).replace("\r\n", "\n").split("\n")
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
    said = _search(r"missing.*:\s*(-?[\d.]+)", header)
    fill = MISSING if said is None else said
    standard = re.search(r"\bin (UTC|LST)\b", header)
    frame = table("\n".join(lines[end + 1 :]).encode(), text=("PARAMETER",))
    names = [str(name) for name in frame.columns]
    if "PARAMETER" in names:
        return _from_rows(frame, units, fill, place)
    if "YEAR" not in names or not {"MO", "DOY"} & set(names):
        raise ArchiveError(
            f"the NASA POWER table has no dates (columns: {', '.join(names)})"
        )
    columns = {
        name: column
        for name in names
        if name not in WHEN and (column := numbers(frame, name)) is not None
    }
    found = Columns(columns, units, fill, standard[1] if standard else "", place)
    return series_of_columns(*_table_stamps(frame), found)


def _table_stamps(frame: pd.DataFrame) -> tuple[Stamps, str]:
    def part(name: str, otherwise: float) -> Floats:
        found = numbers(frame, name)
        return np.full(len(frame), otherwise) if found is None else found

    day = part("DOY", 1.0) if "DOY" in frame else part("DY", 1.0)
    stamps = _stamps(part("YEAR", np.nan), part("MO", 1.0), day, part("HR", 0.0))
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
            f"the NASA POWER table has no column {lacking[0]}; fetch it again"
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
