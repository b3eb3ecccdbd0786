"""NASA POWER: MERRA-2 weather and CERES sun at a point; hours, days, months, normals.

Reply: JSON, or CSV after a header between two marker lines. TimeArray are the start of
their interval. Units are read from the reply: precipitation of the hourly product may
be in mm/day. -999 is missing. Month 13 and ANN are annual values and are dropped. The
clock is UTC when asked for, else local solar time: the reply says which.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import xarray as xr

from emcforecast.weather.archives.power_reply import (
    NAMES,
    ORIGIN,
    WHEN,
    from_csv,
    from_json,
)
from emcforecast.weather.archives.record import (
    MODELLED,
    Archive,
    Place,
    Request,
    whole_years,
)
from emcforecast.weather.archives.tables import document
from emcforecast.weather.formats.content import bare_start, first_line
from emcforecast.weather.hints import Hints

ROOT = "https://power.larc.nasa.gov/api/temporal"
ASKED = "T2M,RH2M,T2MDEW,QV2M,PS,PRECTOTCORR,WS10M,ALLSKY_SFC_SW_DWN"
ASKED_DAILY = f"{ASKED},T2M_MIN,T2M_MAX"
#: Names that only this archive gives its columns.
OWN = frozenset(name for theirs in NAMES.values() for name, _ in theirs) - {"PS"}


def _query(place: Place, asked: str) -> tuple[tuple[str, str], ...]:
    return (
        ("parameters", asked),
        ("community", "ag"),
        ("longitude", f"{place.longitude:.5f}"),
        ("latitude", f"{place.latitude:.5f}"),
        ("format", "json"),
    )


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for hours, one calendar year a request."""
    return _spans(place, start, end, "hourly", ASKED)


def daily_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for days, one calendar year a request."""
    return _spans(place, start, end, "daily", ASKED_DAILY)


def _spans(
    place: Place, start: date, end: date, step: str, asked: str
) -> list[Request]:
    return [
        Request(
            f"{ROOT}/{step}/point",
            (
                *_query(place, asked),
                ("start", first.strftime("%Y%m%d")),
                ("end", last.strftime("%Y%m%d")),
                ("time-standard", "UTC"),
            ),
            label=str(first.year),
            last=last,
        )
        for first, last in whole_years(start, end)
    ]


def monthly_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for months: whole years, in one request."""
    years = (("start", str(start.year)), ("end", str(end.year)))
    return [
        Request(
            f"{ROOT}/monthly/point",
            (*_query(place, ASKED_DAILY), *years),
            label=f"{start.year} to {end.year}",
            last=end,
        )
    ]


def climatology_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for the twelve normals; the span is the archive's own."""
    return [
        Request(
            f"{ROOT}/climatology/point",
            _query(place, ASKED_DAILY),
            label="twelve normals",
        )
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply of any step, JSON or CSV."""
    if payload.lstrip()[:1] == b"{":
        return from_json(document(payload, "NASA POWER"), hints)
    return from_csv(payload, hints)


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply by its header, or by this archive's own column names."""
    start = bare_start(head)
    if start[:1] == b"{":
        return (b'"parameter"' in start and b'"properties"' in start) or (
            b"POWER" in start and b'"messages"' in start
        )
    line = first_line(head)
    if line.startswith("-BEGIN HEADER-"):
        return b"POWER" in start
    # A table whose header was cut off; others too name their columns YEAR, MO, DY.
    columns = line.split(",")
    if columns[0] == "PARAMETER":
        rows = start[:4096].decode("ascii", "replace").split("\n")[1:]
        return "JAN" in columns and any(row.split(",")[0] in OWN for row in rows)
    return columns[0] in WHEN and bool(OWN & set(columns))


HOURLY = Archive(
    id="nasa-power",
    title="NASA POWER, hourly",
    by="place",
    coverage="whole world, 2001 to a few days ago, 50 km grid",
    since=2001,
    variables=MODELLED,
    origin=ORIGIN,
    limits="no key; be moderate, one request at a time",
    requests=requests,
    parse=parse,
    pause=1.0,
)
DAILY = replace(
    HOURLY,
    id="nasa-power-daily",
    title="NASA POWER, daily",
    step="day",
    coverage="whole world, 1981 to a few days ago, 50 km grid",
    since=1981,
    requests=daily_requests,
)
MONTHLY = replace(
    DAILY,
    id="nasa-power-monthly",
    title="NASA POWER, monthly means",
    step="month",
    coverage="whole world, 1981 to last year, 50 km grid",
    requests=monthly_requests,
)
CLIMATOLOGY = replace(
    HOURLY,
    id="nasa-power-normals",
    title="NASA POWER, twelve monthly normals",
    origin=replace(ORIGIN, kind="normals"),
    step="month",
    coverage="whole world, normals of 2001 to 2020, 50 km grid",
    requests=climatology_requests,
)
