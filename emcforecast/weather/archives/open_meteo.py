"""Open-Meteo: ERA5 and other models at a point, by the hour.

Reply: JSON with ``hourly`` and ``hourly_units`` (a list of such for several points),
or the CSV export with the place in the first two lines. Times carry no offset: UTC is
time less ``utc_offset_seconds``, which ignores daylight saving, so the zone's name is
never used. Temperature, humidity and wind are instantaneous and stand for the hour
they open; precipitation and sun are of the hour before.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.open_meteo_reply import (
    ATTRIBUTION,
    LICENCE,
    daily,
    from_csv,
    hourly,
    one_of,
)
from emcforecast.weather.archives.payload import (
    document,
    first_line,
    unpack,
    unpack_head,
)
from emcforecast.weather.archives.record import Archive, Place, Request, whole_years
from emcforecast.weather.hints import Hints

ASKED = (
    "temperature_2m,relative_humidity_2m,dew_point_2m,precipitation,"
    "shortwave_radiation,wind_speed_10m"
)
#: Asked for beside a forecast, to tell its bias against the record it is joined to.
PAST_DAYS = 61


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
    """Ask for the recent days and the coming sixteen.

    Parameters
    ----------
    place : Place
        Where.
    start, end : datetime.date
        Only their distance counts: at most 16 days ahead are asked for.

    Returns
    -------
    list of Request
        One.
    """
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
    """Read a reply, JSON or CSV.

    Parameters
    ----------
    payload : bytes
        The reply.
    hints : Hints
        `place` ("1", "2", …) chooses among several points.

    Returns
    -------
    xarray.Dataset
        Hours; days when the reply has nothing finer.

    Raises
    ------
    ArchiveError
        For an error reply, no rows, or no temperature or humidity.
    """
    payload = unpack(payload)
    if payload.lstrip()[:1] in (b"{", b"["):
        reply = one_of(document(payload, "Open-Meteo"), hints)
    else:
        reply = from_csv(payload)
    if reply.get("error"):
        raise ArchiveError(f"Open-Meteo refused: {reply.get('reason', 'no reason')}")
    if set(reply) == {"generationtime_ms"}:
        raise ArchiveError(
            "this is a search for a place that found none, not weather; "
            "`emcforecast places NAME` searches again"
        )
    if "results" in reply:
        raise ArchiveError(
            "this is a list of places found by name, not weather; "
            "`emcforecast fetch LAT,LON` asks for one of them"
        )
    if "hourly" in reply:
        return hourly(reply, hints)
    if "daily" in reply:
        return daily(reply, hints)
    raise ArchiveError("the Open-Meteo reply holds no hourly weather: ask for hourly=")


def parse_forecast(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a forecast, which looks like any other reply.

    Parameters
    ----------
    payload : bytes
        The reply.
    hints : Hints
        As in `parse`.

    Returns
    -------
    xarray.Dataset
        Hours, of kind "forecast".
    """
    return parse(payload, hints).assign_attrs(kind="forecast")


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    start = unpack_head(head).lstrip(b"\xef\xbb\xbf \r\n\t")
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
    kind="reanalysis",
    step="hour",
    by="place",
    coverage="whole world, 1940 to about five days ago, 25 km grid",
    since=1940,
    variables=(
        "air_temperature",
        "relative_humidity",
        "precipitation",
        "wind_speed",
        "shortwave",
    ),
    licence=LICENCE,
    attribution=ATTRIBUTION,
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
    kind="forecast",
    coverage="whole world, the coming 16 days",
    since=2022,
    requests=forecast_requests,
    parse=parse_forecast,
)
