"""NOAA Integrated Surface Database: global-hourly CSV, its own columns, and ISD-lite.

global-hourly: one row a report, UTC; TMP and DEW are tenths and a quality mark
("+0260,1"), +9999 missing; WND holds direction, mark, type, speed in tenths, mark; AA1
holds hours, depth in tenths of mm, condition and mark; depths of 3, 6 or 12 hours serve
where no hour gives its own. No humidity: it comes from the dew point.

The fixed columns hold the same values at fixed places of a line, rain in an additional
section, of which the one-hour depths are read. Only as a file.

ISD-lite, hourly summaries to 2025: gzip of fixed columns, widths 5,3,3,2 and eight of
6: year month day hour, temperature, dew point, pressure, wind direction, wind speed,
sky, rain of 1 and 6 hours; tenths; -9999 missing; rain -1 is a trace. UTC. The file
does not say where the station is.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.raw import (
    place_of,
    series_of_reports,
    share_out,
)
from emcforecast.weather.archives.record import (
    NOAA,
    STATIONS_ISD,
    Archive,
    Origin,
    Place,
    Request,
    by_year,
    read_isd_history,
    read_isd_joined,
)
from emcforecast.weather.archives.tables import (
    count_traces,
    counted_table,
    first_text,
    last_number,
    times,
    times_of_parts,
    without_marked,
)
from emcforecast.weather.formats.content import first_line
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, counted

#: Quality marks of values that are suspect or wrong; all others (0, 1, 4, 5, 9 and the
#: letters A, C, I, M, P, R, U) are kept.
BAD_MARKS = ("2", "3", "6", "7")
WANTED = (
    *("STATION", "NAME", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "REPORT_TYPE"),
    *("TMP", "DEW", "WND", "AA1"),
)
#: Reports that sum up a day or a month; they hold no reading of their own.
SUMMARIES = ("SOD", "SOM", "SHEF", "PCP15", "PCP60")
MISSING = 9999
#: Totals of these many hours are shared out where no hour gives its own rain.
LONGER = (3, 6, 12)
ROOT = "https://www.ncei.noaa.gov/data/global-hourly/access"
ORIGIN = Origin("global-hourly", "NOAA global-hourly", *NOAA)
FIXED_ORIGIN = Origin("ISD", "NOAA ISD", *NOAA)
_FIXED = re.compile(rb"\d{4}[0-9A-Z]{6}\d{5}\d{12}.[+-]\d{5}[+-]\d{6}")
_WHOLE = re.compile(
    _FIXED.pattern + rb".{5}[+-]\d{4}.{12}.{2}\d{4}.{18}[+-]\d{4}.[+-]\d{4}."
)
_LITE_LINE = re.compile(rb"\d{4} [ \d]\d [ \d]\d [ \d]\d(?: +-?\d{1,5}){8}[ \r]*")
LITE_COLUMNS = 12
LITE_ROOT = "https://www.ncei.noaa.gov/pub/data/noaa/isd-lite"
LITE_ORIGIN = Origin("ISD-lite", "NOAA ISD-lite", *NOAA)


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station by USAF and WBAN, eleven digits, a year a request."""
    station = place.station.replace("-", "")
    return by_year(start, end, lambda year: f"{ROOT}/{year}/{station}.csv")


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a global-hourly reply."""
    text = ("STATION", "NAME", "DATE", "REPORT_TYPE", "TMP", "DEW", "WND", "AA1")
    repairs: list[Repair] = []
    frame = counted_table(payload, repairs, columns=WANTED, text=text)
    if "DATE" not in frame:
        raise ArchiveError(
            _("the global-hourly reply has no DATE column; fetch it again")
        )
    if "REPORT_TYPE" in frame:
        kind = frame["REPORT_TYPE"].fillna("").str.strip()
        frame = frame[~kind.isin(SUMMARIES)].reset_index(drop=True)
    stamps = times(frame["DATE"])
    return series_of_reports(
        ORIGIN,
        stamps,
        {
            "air_temperature": _tenths_marked(frame, "TMP", 0, 1, repairs),
            "dew_point": _tenths_marked(frame, "DEW", 0, 1, repairs),
            "wind_speed": _tenths_marked(frame, "WND", 3, 4, repairs),
            "precipitation": _rain(frame, stamps, repairs),
        },
        repairs,
        {
            **_place(frame, hints),
            "station": first_text(frame, "STATION"),
            "place": first_text(frame, "NAME"),
        },
    )


def _place(frame: pd.DataFrame, hints: Hints) -> dict[str, float | None]:
    found = {
        name: last_number(frame, name.upper())
        for name in ("latitude", "longitude", "elevation")
    }
    if found["latitude"] == 0 == found["longitude"]:
        # A mobile station without a place, not one in the Gulf of Guinea.
        found = {"latitude": None, "longitude": None, "elevation": None}
    return place_of(hints, **found)


def _tenths_marked(
    frame: pd.DataFrame, name: str, value: int, mark: int, repairs: list[Repair]
) -> FloatArray | None:
    """Split "value,mark" columns of tenths and drop what the mark calls bad."""
    if name not in frame:
        return None
    parts = frame[name].fillna("").str.split(",", expand=True)
    if parts.shape[1] <= max(value, mark):
        return np.full(len(frame), np.nan)
    column = pd.to_numeric(parts[value], errors="coerce").to_numpy(np.float64)
    column = np.where(np.abs(column) == MISSING, np.nan, column / 10.0)
    return without_marked(column, parts[mark].isin(BAD_MARKS), name, repairs)


def _rain(
    frame: pd.DataFrame, stamps: TimeArray, repairs: list[Repair]
) -> FloatArray | None:
    if "AA1" not in frame:
        return None
    parts = frame["AA1"].fillna("").str.split(",", expand=True)
    if parts.shape[1] < 4:
        return None
    depth = pd.to_numeric(parts[1], errors="coerce").to_numpy(np.float64)
    depth = np.where(depth == MISSING, np.nan, depth / 10.0)
    depth = without_marked(depth, parts[3].isin(BAD_MARKS), "AA1", repairs)
    hours = parts[0].to_numpy()
    rain = np.where(hours == "01", depth, np.nan)
    if np.isnat(stamps).any() or bool((np.diff(stamps) < np.timedelta64(0, "s")).any()):
        return rain
    for length in LONGER:
        total = np.where(hours == f"{length:02d}", depth, np.nan)
        rain = share_out(stamps, rain, total, length, repairs)
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
    coverage="20,000 stations of the world, 1901 to 2025; history only",
    since=1901,
    origin=ORIGIN,
    requests=requests,
    parse=parse,
    stations=STATIONS_ISD,
    read_stations=read_isd_joined,
)


def parse_fixed(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read the fixed columns of the database itself.

    Notes
    -----
    Columns counted from 0: 4-15 station, 15-27 time, 28-34 and 34-41 latitude and
    longitude in thousandths, 46-51 elevation, 41-46 kind of report, 65-69 wind in
    tenths and its mark, 87-92 temperature in tenths and its mark, 93-98 dew point and
    its mark; then "ADD" and groups, AA1 to AA4 with hours, depth, condition, mark.
    """
    repairs: list[Repair] = []
    lines = [line for line in payload.split(b"\n") if line.strip()]
    good = [line for line in lines if _WHOLE.match(line)]
    repairs += counted(RepairKind.BROKEN_LINES, len(lines) - len(good))
    good = [
        line
        for line in good
        if line[41:46].decode("ascii", "replace").strip() not in SUMMARIES
    ]
    if not good:
        raise ArchiveError(_("no line of the ISD file is whole; fetch it again"))

    def cut(start: int, stop: int) -> list[str]:
        return [line[start:stop].decode("ascii", "replace") for line in good]

    def reading(start: int, stop: int, name: str) -> FloatArray:
        values = np.array([float(text) for text in cut(start, stop)])
        values = np.where(np.abs(values) == MISSING, np.nan, values / 10.0)
        marks = np.array(cut(stop, stop + 1))
        return without_marked(values, np.isin(marks, BAD_MARKS), name, repairs)

    stamps = times(pd.Series(cut(15, 27)), "%Y%m%d%H%M")
    latitude, longitude = (
        float(good[-1][28:34]) / 1000.0,
        float(good[-1][34:41]) / 1000.0,
    )
    elevation = float(good[-1][46:51])
    unknown = abs(latitude) > 90 or abs(longitude) > 180
    place = place_of(
        hints,
        latitude=None if unknown else latitude,
        longitude=None if unknown else longitude,
        elevation=None if elevation >= 9999 else elevation,
    )
    rain = np.full(len(good), np.nan)
    for number, line in enumerate(good):
        match = re.search(rb"AA[1-4]01(\d{4}).([0-9A-Z])", line[105:].split(b"REM")[0])
        if match and match[1] != b"9999" and match[2].decode() not in BAD_MARKS:
            rain[number] = int(match[1]) / 10.0
    return series_of_reports(
        FIXED_ORIGIN,
        stamps,
        {
            "air_temperature": reading(87, 92, "temperature"),
            "dew_point": reading(93, 98, "dew point"),
            "wind_speed": reading(65, 69, "wind"),
            "precipitation": rain,
        },
        repairs,
        {**place, "station": good[0][4:15].decode("ascii", "replace")},
    )


def sniff_fixed(head: bytes, name: str) -> bool:
    """Recognise the fixed columns."""
    return _FIXED.match(head) is not None


def lite_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station as USAF-WBAN, one calendar year a request."""
    station = place.station
    return by_year(start, end, lambda year: f"{LITE_ROOT}/{year}/{station}-{year}.gz")


def parse_lite(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply."""
    text = payload.replace(b"\r", b"")
    repairs: list[Repair] = []
    if not _lite_is_whole(text):
        lines = [line for line in text.split(b"\n") if line.strip()]
        whole = [line for line in lines if _LITE_LINE.fullmatch(line)]
        repairs += counted(RepairKind.BROKEN_LINES, len(lines) - len(whole))
        if lines and not whole:
            raise ArchiveError(
                _("no line of the ISD-lite reply is whole; fetch it again")
            )
        text = b"\n".join(whole) + b"\n"
    words = text.strip().decode("ascii")
    flat = np.fromstring(words, dtype=np.int64, sep=" ") if words else np.empty(0)
    rows = flat.astype(np.int64, copy=False).reshape(-1, LITE_COLUMNS)
    stamps = times_of_parts(*rows[:, :4].T.astype(np.float64))
    rain = _lite_tenths(rows[:, 10])
    trace = rows[:, 10] == -1
    count_traces(trace, repairs)
    six = np.where(rows[:, 11] == -1, 0.0, _lite_tenths(rows[:, 11]))
    rain = share_out(stamps, np.where(trace, 0.0, rain), six, 6, repairs)
    return series_of_reports(
        LITE_ORIGIN,
        stamps,
        {
            "air_temperature": _lite_tenths(rows[:, 4]),
            "dew_point": _lite_tenths(rows[:, 5]),
            "precipitation": rain,
            "wind_speed": _lite_tenths(rows[:, 8]),
        },
        repairs,
        place_of(hints),
    )


def _lite_is_whole(text: bytes) -> bool:
    """Return whether every line is as long as it must be and holds only numbers."""
    width = text.find(b"\n") + 1
    return (
        width > 1
        and len(text) % width == 0
        and text.count(b"\n") == len(text) // width
        and not text.translate(None, b"0123456789- \n")
        and _LITE_LINE.fullmatch(text[: width - 1]) is not None
        and _LITE_LINE.fullmatch(text[-width:-1]) is not None
    )


def _lite_tenths(column: np.ndarray[tuple[int], np.dtype[np.int64]]) -> FloatArray:
    return np.where(column == -9999, np.nan, column / 10.0)


def sniff_lite(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    line = head.partition(b"\n")[0]
    return _LITE_LINE.fullmatch(line) is not None


LITE = replace(
    ARCHIVE,
    id="isd-lite",
    title="NOAA ISD-lite",
    origin=LITE_ORIGIN,
    requests=lite_requests,
    parse=parse_lite,
    read_stations=read_isd_history,
)
