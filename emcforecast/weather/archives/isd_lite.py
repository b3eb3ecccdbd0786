"""NOAA ISD-lite: hourly summaries of the Integrated Surface Database, to 2025.

Reply: gzip of fixed columns, widths 5,3,3,2 and eight of 6: year month day hour,
temperature, dew point, pressure, wind direction, wind speed, sky, rain of 1 and 6
hours; tenths; -9999 missing; rain -1 is a trace. UTC. The file does not say where the
station is.
"""

from __future__ import annotations

import re
from datetime import date

import numpy as np
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, share_out
from emcforecast.weather.archives.noaa import ATTRIBUTION, LICENCE
from emcforecast.weather.archives.payload import unpack, unpack_head
from emcforecast.weather.archives.raw import place_of
from emcforecast.weather.archives.record import Archive, Place, Request, by_year
from emcforecast.weather.archives.reports import (
    Origin,
    count_traces,
    series_of_reports,
)
from emcforecast.weather.archives.stations import STATIONS_ISD, read_isd_history
from emcforecast.weather.hints import Hints
from emcforecast.weather.times.years import in_nanoseconds

_LINE = re.compile(rb"\d{4} [ \d]\d [ \d]\d [ \d]\d(?: +-?\d{1,5}){8}[ \r]*")
COLUMNS = 12
ROOT = "https://www.ncei.noaa.gov/pub/data/noaa/isd-lite"
ORIGIN = Origin("ISD-lite", "NOAA ISD-lite", LICENCE, ATTRIBUTION)


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station as USAF-WBAN, one calendar year a request."""
    station = place.station
    return by_year(start, end, lambda year: f"{ROOT}/{year}/{station}-{year}.gz")


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply."""
    text = unpack(payload).replace(b"\r", b"")
    notes = Notes()
    if not _is_whole(text):
        lines = [line for line in text.split(b"\n") if line.strip()]
        whole = [line for line in lines if _LINE.fullmatch(line)]
        notes.count(len(lines) - len(whole), "broken line", "left out")
        if lines and not whole:
            raise ArchiveError("no line of the ISD-lite reply is whole; fetch it again")
        text = b"\n".join(whole) + b"\n"
    words = text.strip().decode("ascii")
    flat = np.fromstring(words, dtype=np.int64, sep=" ") if words else np.empty(0)
    rows = flat.astype(np.int64, copy=False).reshape(-1, COLUMNS)
    year, month, day, hour = rows[:, :4].T
    months = (year - 1970) * 12 + month - 1
    stamps = months.astype("datetime64[M]").astype("datetime64[h]")
    stamps = stamps + (day - 1) * 24 + hour
    rain = _tenths(rows[:, 10])
    trace = rows[:, 10] == -1
    count_traces(trace, notes)
    stamps = in_nanoseconds(stamps)
    six = np.where(rows[:, 11] == -1, 0.0, _tenths(rows[:, 11]))
    rain = share_out(stamps, np.where(trace, 0.0, rain), six, 6, notes)
    return series_of_reports(
        ORIGIN,
        stamps,
        {
            "air_temperature": _tenths(rows[:, 4]),
            "dew_point": _tenths(rows[:, 5]),
            "precipitation": rain,
            "wind_speed": _tenths(rows[:, 8]),
        },
        notes,
        place_of(hints),
    )


def _is_whole(text: bytes) -> bool:
    """Tell whether every line is as long as it must be and holds only numbers."""
    width = text.find(b"\n") + 1
    return (
        width > 1
        and len(text) % width == 0
        and text.count(b"\n") == len(text) // width
        and not text.translate(None, b"0123456789- \n")
        and _LINE.fullmatch(text[: width - 1]) is not None
        and _LINE.fullmatch(text[-width:-1]) is not None
    )


def _tenths(column: np.ndarray[tuple[int], np.dtype[np.int64]]) -> Floats:
    return np.where(column == -9999, np.nan, column / 10.0)


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    line = unpack_head(head).partition(b"\n")[0]
    return _LINE.fullmatch(line) is not None


ARCHIVE = Archive(
    id="isd-lite",
    title="NOAA ISD-lite",
    kind="observed",
    step="hour",
    by="station",
    coverage="20,000 stations of the world, 1901 to 2025; history only",
    since=1901,
    variables=("air_temperature", "relative_humidity", "precipitation", "wind_speed"),
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits="no key; be moderate",
    requests=requests,
    parse=parse,
    stations=STATIONS_ISD,
    read_stations=read_isd_history,
)
