"""Replies of Open-Meteo, JSON or CSV -> its raw series."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, Stamps
from emcforecast.weather.archives.payload import decode
from emcforecast.weather.archives.raw import place_of
from emcforecast.weather.archives.reports import Origin, series_of_reports
from emcforecast.weather.archives.scale import scaled
from emcforecast.weather.archives.tables import numbers, table, times
from emcforecast.weather.hints import Hints
from emcforecast.weather.times.years import in_nanoseconds

LICENCE = "CC BY 4.0"
ATTRIBUTION = "Weather data by Open-Meteo.com (https://open-meteo.com/), CC BY 4.0"
ORIGIN = Origin("Open-Meteo", "Open-Meteo", LICENCE, ATTRIBUTION, kind="reanalysis")
#: Ours, and theirs now and formerly.
NAMES = {
    "air_temperature": ("temperature_2m",),
    "relative_humidity": ("relative_humidity_2m", "relativehumidity_2m"),
    "dew_point": ("dew_point_2m", "dewpoint_2m"),
    "precipitation": ("precipitation",),
    "wind_speed": ("wind_speed_10m", "windspeed_10m"),
    "shortwave": ("shortwave_radiation",),
}
DAILY = {
    "air_temperature": ("temperature_2m_mean",),
    "air_temperature_min": ("temperature_2m_min",),
    "air_temperature_max": ("temperature_2m_max",),
    "relative_humidity": ("relative_humidity_2m_mean", "relativehumidity_2m_mean"),
    "dew_point": ("dew_point_2m_mean", "dewpoint_2m_mean"),
    "precipitation": ("precipitation_sum",),
    "wind_speed": ("wind_speed_10m_mean", "windspeed_10m_mean"),
    "shortwave": ("shortwave_radiation_sum",),
}


def one_of(reply: Any, hints: Hints) -> dict[str, Any]:
    """Return the reply of one point, where several may have been asked for.

    Parameters
    ----------
    reply : object
        The JSON document.
    hints : Hints
        ``place`` ("1", "2", …) chooses among several points.

    Returns
    -------
    dict
        The reply.

    Raises
    ------
    ArchiveError
        When it stays open which, or the document has another shape.
    """
    if isinstance(reply, list):
        if not reply:
            raise ArchiveError("the Open-Meteo reply holds no place at all")
        if len(reply) > 1 and hints.place is None:
            where = "; ".join(
                f"{number}: {item.get('latitude')}, {item.get('longitude')}"
                for number, item in enumerate(reply, 1)
            )
            raise ArchiveError(
                f"the reply holds {len(reply)} places ({where}); "
                "say which with --place NUMBER"
            )
        number = hints.place or "1"
        if not (number.isdigit() and 1 <= int(number) <= len(reply)):
            raise ArchiveError(
                f"--place {number!r} is not among the 1 to {len(reply)} of this reply"
            )
        reply = reply[int(number) - 1]
    if not isinstance(reply, dict):
        raise ArchiveError("the Open-Meteo reply is not of the expected shape")
    return reply


def from_csv(payload: bytes) -> dict[str, Any]:
    """Turn the CSV export into the shape of the JSON reply.

    Parameters
    ----------
    payload : bytes
        The export.

    Returns
    -------
    dict
        As a JSON reply.

    Raises
    ------
    ArchiveError
        When it is cut short, or holds several places.
    """
    lines = decode(payload).replace("\r\n", "\n").split("\n")
    head = [name.strip() for name in lines[0].split(",")]
    reply: dict[str, Any] = {}
    start = 1
    if head[0] != "time":
        if len(lines) < 2:
            raise ArchiveError("the Open-Meteo table is cut short; fetch it again")
        for name, value in zip(head, lines[1].split(","), strict=False):
            reply[name] = value.strip()
        for name in ("latitude", "longitude", "elevation", "utc_offset_seconds"):
            reply[name] = _number(reply.get(name))
        if head[0] == "location_id":
            raise ArchiveError(
                "the Open-Meteo table holds several places; ask for one at a time"
            )
        start = next(
            (n for n, line in enumerate(lines) if line.startswith("time,")), len(lines)
        )
    else:
        start = 0
    body = "\n".join(lines[start:])
    block, _, rest = body.partition("\n\n")
    if "\ntime," in rest and not block.strip():
        block = rest
    frame = table(block.encode(), missing=("NaN", "nan"), text=("time",))
    units, columns = {}, {}
    for label in frame.columns:
        name, _, unit = str(label).partition(" (")
        units[name] = unit.rstrip(")")
        columns[name] = (
            frame[label].tolist() if name == "time" else numbers(frame, str(label))
        )
    daily = any(name.endswith(("_max", "_min", "_mean", "_sum")) for name in columns)
    key = "daily" if daily else "hourly"
    return {**reply, key: columns, f"{key}_units": units}


def _number(value: Any) -> float | None:
    try:
        return float(value)
    except (TypeError, ValueError):
        return None


def _stamps(block: Mapping[str, Any], reply: Mapping[str, Any]) -> Stamps:
    listed = block.get("time", [])
    if listed and isinstance(listed[0], (int, float)):  # timeformat=unixtime is UTC
        seconds = np.asarray(listed, dtype=np.int64)
        return in_nanoseconds(seconds.astype("datetime64[s]"))
    offset = _number(reply.get("utc_offset_seconds")) or 0.0
    shift = np.timedelta64(int(offset), "s")
    return np.asarray(times(pd.Series(listed, dtype=str)) - shift)


def _columns(
    block: Mapping[str, Any],
    units: Mapping[str, str],
    names: Mapping[str, tuple[str, ...]],
) -> dict[str, Floats]:
    found = {}
    for ours, theirs in names.items():
        for name in theirs:
            # Asking one model by name may add it to the variable's name.
            hit = next(
                (k for k in block if k == name or k.startswith(f"{name}_era5")), None
            )
            if hit is not None:
                column = pd.to_numeric(
                    pd.Series(block[hit], dtype=object), errors="coerce"
                ).to_numpy(dtype=np.float64)
                found[ours] = scaled(column, units.get(hit, ""), ours, "Open-Meteo")
                break
    return found


def hourly(reply: Mapping[str, Any], hints: Hints) -> xr.Dataset:
    """Return the hours of a reply.

    Parameters
    ----------
    reply : mapping
        The reply of one point.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        The raw series.
    """
    block = reply["hourly"]
    notes = Notes()
    stamps = _stamps(block, reply)
    values = _columns(block, reply.get("hourly_units", {}), NAMES)
    if any(column.size != stamps.size for column in values.values()):
        raise ArchiveError("the Open-Meteo reply is damaged: columns differ in length")
    before = ("precipitation", "shortwave")
    about = _about(reply, hints)
    return series_of_reports(ORIGIN, stamps, values, notes, about, preceding=before)


def daily(reply: Mapping[str, Any], hints: Hints) -> xr.Dataset:
    """Return the days of a reply; parameters as in `hourly`.

    Parameters
    ----------
    reply : mapping
        The reply of one point.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        The raw series.
    """
    block = reply["daily"]
    notes = Notes()
    offset = _number(reply.get("utc_offset_seconds")) or 0.0
    stamps = _stamps(block, {**reply, "utc_offset_seconds": 0})
    if offset:
        notes.lines.append(f"days are those of UTC{offset / 3600:+g} h")
    values = _columns(block, reply.get("daily_units", {}), DAILY)
    about = _about(reply, hints)
    return series_of_reports(
        ORIGIN, stamps, values, notes, about, step="day", preceding=()
    )


def _about(reply: Mapping[str, Any], hints: Hints) -> dict[str, float | None]:
    return place_of(
        hints,
        latitude=_number(reply.get("latitude")),
        longitude=_number(reply.get("longitude")),
        elevation=_number(reply.get("elevation")),
    )
