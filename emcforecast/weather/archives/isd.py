"""NOAA Integrated Surface Database as global-hourly CSV.

global-hourly: one row a report, UTC; TMP and DEW are tenths and a quality mark
("+0260,1"), +9999 missing; WND holds direction, mark, type, speed in tenths, mark; AA1
holds hours, depth in tenths of mm, condition and mark; depths of 3, 6 or 12 hours serve
where no hour tells its own. No humidity: it comes from the dew point.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, share_out
from emcforecast.weather.archives.noaa import ATTRIBUTION, BAD_MARKS, LICENCE
from emcforecast.weather.archives.payload import first_line, unpack
from emcforecast.weather.archives.raw import place_of
from emcforecast.weather.archives.record import Archive, Place, Request, by_year
from emcforecast.weather.archives.reports import (
    Origin,
    counted_table,
    first_text,
    last_number,
    series_of_reports,
    without_marked,
)
from emcforecast.weather.archives.stations import STATIONS_ISD, read_isd_joined
from emcforecast.weather.archives.tables import times
from emcforecast.weather.hints import Hints

WANTED = (
    *("STATION", "NAME", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "REPORT_TYPE"),
    *("TMP", "DEW", "WND", "AA1"),
)
#: Reports that sum up a day or a month; they hold no reading of their own.
SUMMARIES = ("SOD", "SOM", "SHEF", "PCP15", "PCP60")
MISSING = 9999
#: Totals of these many hours are shared out where no hour tells its own rain.
LONGER = (3, 6, 12)
ROOT = "https://www.ncei.noaa.gov/data/global-hourly/access"
ORIGIN = Origin("global-hourly", "NOAA global-hourly", LICENCE, ATTRIBUTION)


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station by USAF and WBAN, eleven digits, a year a request."""
    station = place.station.replace("-", "")
    return by_year(start, end, lambda year: f"{ROOT}/{year}/{station}.csv")


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a global-hourly reply."""
    text = ("STATION", "NAME", "DATE", "REPORT_TYPE", "TMP", "DEW", "WND", "AA1")
    notes = Notes()
    frame = counted_table(unpack(payload), notes, columns=WANTED, text=text)
    if "DATE" not in frame:
        raise ArchiveError("the global-hourly reply has no DATE column; fetch it again")
    if "REPORT_TYPE" in frame:
        kind = frame["REPORT_TYPE"].fillna("").str.strip()
        frame = frame[~kind.isin(SUMMARIES)].reset_index(drop=True)
    stamps = times(frame["DATE"])
    return series_of_reports(
        ORIGIN,
        stamps,
        {
            "air_temperature": _marked(frame, "TMP", 0, 1, notes),
            "dew_point": _marked(frame, "DEW", 0, 1, notes),
            "wind_speed": _marked(frame, "WND", 3, 4, notes),
            "precipitation": _rain(frame, stamps, notes),
        },
        notes,
        {
            **_where(frame, hints),
            "station": first_text(frame, "STATION"),
            "place": first_text(frame, "NAME"),
        },
    )


def _where(frame: pd.DataFrame, hints: Hints) -> dict[str, float | None]:
    found = {
        name: last_number(frame, name.upper())
        for name in ("latitude", "longitude", "elevation")
    }
    if found["latitude"] == 0 == found["longitude"]:
        # A mobile station without a place, not one in the Gulf of Guinea.
        found = {"latitude": None, "longitude": None, "elevation": None}
    return place_of(hints, **found)


def _marked(
    frame: pd.DataFrame, name: str, value: int, mark: int, notes: Notes
) -> Floats | None:
    """Split "value,mark" columns of tenths and drop what the mark calls bad."""
    if name not in frame:
        return None
    parts = frame[name].fillna("").str.split(",", expand=True)
    if parts.shape[1] <= max(value, mark):
        return np.full(len(frame), np.nan)
    column = pd.to_numeric(parts[value], errors="coerce").to_numpy(np.float64)
    column = np.where(np.abs(column) == MISSING, np.nan, column / 10.0)
    return without_marked(column, parts[mark].isin(BAD_MARKS), name, notes)


def _rain(
    frame: pd.DataFrame, stamps: npt.NDArray[np.datetime64], notes: Notes
) -> Floats | None:
    if "AA1" not in frame:
        return None
    parts = frame["AA1"].fillna("").str.split(",", expand=True)
    if parts.shape[1] < 4:
        return None
    depth = pd.to_numeric(parts[1], errors="coerce").to_numpy(np.float64)
    depth = np.where(depth == MISSING, np.nan, depth / 10.0)
    depth = without_marked(depth, parts[3].isin(BAD_MARKS), "AA1", notes)
    hours = parts[0].to_numpy()
    rain = np.where(hours == "01", depth, np.nan)
    if np.isnat(stamps).any() or bool((np.diff(stamps) < np.timedelta64(0)).any()):
        return rain
    for length in LONGER:
        total = np.where(hours == f"{length:02d}", depth, np.nan)
        rain = share_out(stamps, rain, total, length, notes)
    return rain


def sniff(head: bytes, name: str) -> bool:
    """Recognise a global-hourly reply."""
    columns = [part.strip('" ') for part in first_line(head).split(",")]
    return {"STATION", "DATE"} <= set(columns) and bool(
        {"TMP", "DEW", "WND", "SLP", "CIG", "VIS"} & set(columns)
    )


ARCHIVE = Archive(
    id="global-hourly",
    title="NOAA global hourly (Integrated Surface Database)",
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
    read_stations=read_isd_joined,
)
