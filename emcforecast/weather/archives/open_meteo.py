"""Open-Meteo: ERA5 and other models at a point, by the hour.

Reply: JSON with ``hourly`` and ``hourly_units`` (a list of such for several points),
or the CSV export with the place in the first two lines. Times carry no offset: UTC is
time less ``utc_offset_seconds``, which ignores daylight saving, so the zone's name is
never used. Temperature, humidity and wind are instantaneous and stand for the hour
they open; precipitation and sun are of the hour before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.raw import place_of, series_of_reports
from emcforecast.weather.archives.record import (
    MODELLED,
    Archive,
    Origin,
    Place,
    Request,
    whole_years,
)
from emcforecast.weather.archives.tables import (
    counted_table,
    document,
    numbers,
    scaled,
    times,
)
from emcforecast.weather.formats.content import bare_start, decode, first_line
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, add_repairs, repair
from emcforecast.weather.times.calendar import in_nanoseconds

ORIGIN = Origin(
    "Open-Meteo",
    "Open-Meteo",
    "CC BY 4.0",
    "Weather data by Open-Meteo.com (https://open-meteo.com/), CC BY 4.0",
    kind="reanalysis",
)
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
ASKED = (
    "temperature_2m,relative_humidity_2m,dew_point_2m,precipitation,"
    "shortwave_radiation,wind_speed_10m"
)
#: Asked for beside a forecast, to estimate its bias against the record it is joined to.
PAST_DAYS = 61


def _one_point(reply: Any, hints: Hints) -> dict[str, Any]:
    """Return the reply of one point, where several may have been asked for."""
    if isinstance(reply, list):
        if not reply:
            raise ArchiveError(_("the Open-Meteo reply holds no place at all"))
        if len(reply) > 1 and hints.place is None:
            where = "; ".join(
                f"{number}: {item.get('latitude')}, {item.get('longitude')}"
                for number, item in enumerate(reply, 1)
            )
            raise ArchiveError(
                _(
                    "the reply holds {count} places ({where}); say which with "
                    "--place NUMBER",
                    count=len(reply),
                    where=where,
                )
            )
        number = hints.place or "1"
        if not (number.isdigit() and 1 <= int(number) <= len(reply)):
            raise ArchiveError(
                _(
                    "--place {number!r} is not among the 1 to {count} of this reply",
                    number=number,
                    count=len(reply),
                )
            )
        reply = reply[int(number) - 1]
    if not isinstance(reply, dict):
        raise ArchiveError(_("the Open-Meteo reply is not of the expected shape"))
    return reply


def _from_csv(payload: bytes, repairs: list[Repair]) -> dict[str, Any]:
    """Turn the CSV export into the shape of the JSON reply."""
    lines = decode(payload).split("\n")
    head = [name.strip() for name in lines[0].split(",")]
    reply: dict[str, Any] = {}
    start = 1
    if head[0] != "time":
        if len(lines) < 2:
            raise ArchiveError(_("the Open-Meteo table is cut short; fetch it again"))
        for name, value in zip(head, lines[1].split(","), strict=False):
            reply[name] = value.strip()
        for name in ("latitude", "longitude", "elevation", "utc_offset_seconds"):
            reply[name] = _number(reply.get(name))
        if head[0] == "location_id":
            raise ArchiveError(
                _("the Open-Meteo table holds several places; ask for one at a time")
            )
        start = next(
            (n for n, line in enumerate(lines) if line.startswith("time,")), len(lines)
        )
    else:
        start = 0
    body = "\n".join(lines[start:])
    block, _gap, rest = body.partition("\n\n")
    if "\ntime," in rest and not block.strip():
        block = rest
    frame = counted_table(
        block.encode(), repairs, missing=("NaN", "nan"), text=("time",)
    )
    units, columns = {}, {}
    for label in frame.columns:
        name, _open, unit = str(label).partition(" (")
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


def _stamps(block: Mapping[str, Any], reply: Mapping[str, Any]) -> TimeArray:
    listed = block.get("time", [])
    if listed and isinstance(listed[0], (int, float)):  # timeformat=unixtime is UTC
        seconds = np.asarray(listed, dtype=np.int64)
        return in_nanoseconds(seconds.astype("datetime64[s]"))
    offset = _number(reply.get("utc_offset_seconds")) or 0.0
    shift = np.timedelta64(int(offset), "s")
    return np.asarray(times(pd.Series([str(one) for one in listed], dtype=str)) - shift)


def _columns(
    block: Mapping[str, Any],
    units: Mapping[str, str],
    names: Mapping[str, tuple[str, ...]],
) -> dict[str, FloatArray]:
    found = {}
    for ours, theirs in names.items():
        for name in theirs:
            # Asking one model by name may add it to the variable's name.
            hit = next(
                (k for k in block if k == name or k.startswith(f"{name}_era5")), None
            )
            if hit is not None:
                held = [None if type(v) is bool else v for v in block[hit]]
                column = pd.to_numeric(
                    pd.Series(held, dtype=object), errors="coerce"
                ).to_numpy(dtype=np.float64)
                found[ours] = scaled(column, units.get(hit, ""), ours, "Open-Meteo")
                break
    return found


def _hours(reply: Mapping[str, Any], hints: Hints) -> xr.Dataset:
    """Return the hours of a reply."""
    block = reply["hourly"]
    repairs: list[Repair] = []
    stamps = _stamps(block, reply)
    values = _columns(block, reply.get("hourly_units", {}), NAMES)
    if any(column.size != stamps.size for column in values.values()):
        raise ArchiveError(
            _("the Open-Meteo reply is damaged: columns differ in length")
        )
    before = ("precipitation", "shortwave")
    about = _about(reply, hints)
    return series_of_reports(ORIGIN, stamps, values, repairs, about, preceding=before)


def _days(reply: Mapping[str, Any], hints: Hints) -> xr.Dataset:
    """Return the days of a reply; parameters as in `hourly`."""
    block = reply["daily"]
    repairs: list[Repair] = []
    offset = _number(reply.get("utc_offset_seconds")) or 0.0
    stamps = _stamps(block, {**reply, "utc_offset_seconds": 0})
    if offset:
        repairs.append(repair(RepairKind.DAYS_OF_OFFSET, offset=offset / 3600))
    values = _columns(block, reply.get("daily_units", {}), DAILY)
    about = _about(reply, hints)
    return series_of_reports(
        ORIGIN, stamps, values, repairs, about, step="day", preceding=()
    )


def _about(reply: Mapping[str, Any], hints: Hints) -> dict[str, float | None]:
    return place_of(
        hints,
        latitude=_number(reply.get("latitude")),
        longitude=_number(reply.get("longitude")),
        elevation=_number(reply.get("elevation")),
    )


def _query(place: Place) -> list[tuple[str, str]]:
    return [
        ("latitude", f"{place.latitude:.5f}"),
        ("longitude", f"{place.longitude:.5f}"),
        ("hourly", ASKED),
        ("timezone", "GMT"),
        ("wind_speed_unit", "ms"),
    ]


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a place, one calendar year a request."""
    return [
        Request(
            "https://archive-api.open-meteo.com/v1/archive",
            (
                *_query(place),
                ("models", "era5"),
                ("start_date", first.isoformat()),
                ("end_date", last.isoformat()),
            ),
            label=str(first.year),
            last=last,
        )
        for first, last in whole_years(start, end)
    ]


def forecast_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for the recent days and the coming sixteen."""
    ahead = min(16, max(1, (end - start).days + 1))
    return [
        Request(
            "https://api.open-meteo.com/v1/forecast",
            (
                *_query(place),
                ("past_days", str(PAST_DAYS)),
                ("forecast_days", str(ahead)),
            ),
            label=f"{ahead} days ahead",
        )
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply, JSON or CSV."""
    repairs: list[Repair] = []
    if payload.lstrip()[:1] in (b"{", b"["):
        reply = _one_point(document(payload, "Open-Meteo"), hints)
    else:
        reply = _from_csv(payload, repairs)
    if reply.get("error"):
        raise ArchiveError(
            _("Open-Meteo refused: {reason}", reason=reply.get("reason", "no reason"))
        )
    if set(reply) == {"generationtime_ms"}:
        raise ArchiveError(
            _(
                "this is a search for a place that found none, not weather; "
                "`emcforecast places NAME` searches again"
            )
        )
    if "results" in reply:
        raise ArchiveError(
            _(
                "this is a list of places found by name, not weather; "
                "`emcforecast fetch LAT,LON` asks for one of them"
            )
        )
    if "hourly" in reply:
        return add_repairs(_hours(reply, hints), *repairs)
    if "daily" in reply:
        return add_repairs(_days(reply, hints), *repairs)
    raise ArchiveError(
        _("the Open-Meteo reply holds no hourly weather: ask for hourly=")
    )


def parse_forecast(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a forecast, which looks like any other reply."""
    return parse(payload, hints).assign_attrs(kind="forecast")


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    start = bare_start(head)
    if start[:1] in (b"{", b"["):
        return b'"generationtime_ms"' in start or (
            b'"error"' in start and b'"reason"' in start
        )
    line = first_line(head).lower()
    return line.startswith(
        ("latitude,longitude,elevation,utc_offset_seconds", "location_id,latitude")
    ) or (line.startswith("time,") and "temperature_2m" in line)


ARCHIVE = Archive(
    id="open-meteo",
    title="Open-Meteo historical weather (ERA5)",
    by="place",
    coverage="whole world, 1940 to about five days ago, 25 km grid",
    since=1940,
    variables=MODELLED,
    origin=ORIGIN,
    limits="free for non-commercial use; 600 calls a minute, 10,000 a day, "
    "and a year counts as tens of calls",
    requests=requests,
    parse=parse,
    pause=1.0,
)
FORECAST = replace(
    ARCHIVE,
    id="open-meteo-forecast",
    title="Open-Meteo weather forecast",
    origin=replace(ORIGIN, kind="forecast"),
    coverage="whole world, the coming 16 days",
    since=2022,
    requests=forecast_requests,
    parse=parse_forecast,
)
