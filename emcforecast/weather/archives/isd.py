"""NOAA Integrated Surface Database: global-hourly CSV and the older fixed columns.

global-hourly: one row a report, UTC; TMP and DEW are tenths and a quality mark
("+0260,1"), +9999 missing; WND holds direction, mark, type, speed in tenths, mark; AA1
holds hours, depth in tenths of mm, condition and mark; depths of 3, 6 or 12 hours serve
where no hour tells its own. No humidity: it comes from the dew point. Fixed columns:
the same values at fixed places, rain in an additional section (one-hour depths only).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import (
    Floats,
    Notes,
    humidity,
    share_out,
)
from emcforecast.weather.archives.noaa import ATTRIBUTION, LICENCE, without_bad
from emcforecast.weather.archives.payload import (
    first_line,
    numbers,
    table,
    times,
    unpack,
    unpack_head,
)
from emcforecast.weather.archives.raw import make_raw, place_of
from emcforecast.weather.archives.record import Archive, Place, Request, whole_years
from emcforecast.weather.archives.stations import STATIONS_ISD, read_isd_joined
from emcforecast.weather.formats import Hints

WANTED = (
    *("STATION", "NAME", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "REPORT_TYPE"),
    *("TMP", "DEW", "WND", "AA1"),
)
#: Reports that sum up a day or a month; they hold no reading of their own.
SUMMARIES = ("SOD", "SOM", "SHEF", "PCP15", "PCP60")
#: Totals of these many hours are shared out where no hour tells its own rain.
LONGER = (3, 6, 12)
_FIXED = re.compile(rb"\d{4}[0-9A-Z]{6}\d{5}\d{12}.[+-]\d{5}[+-]\d{6}")
_WHOLE = re.compile(
    _FIXED.pattern + rb".{5}[+-]\d{4}.{12}.{2}\d{4}.{18}[+-]\d{4}.[+-]\d{4}."
)


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station, one calendar year a request.

    Parameters
    ----------
    place : Place
        With the station as USAF and WBAN, eleven digits.
    start, end : datetime.date
        First and last day.

    Returns
    -------
    list of Request
        In order of time.
    """
    root = "https://www.ncei.noaa.gov/data/global-hourly/access"
    station = place.station.replace("-", "")
    return [
        Request(
            f"{root}/{first.year}/{station}.csv",
            label=str(first.year),
            last=date(first.year, 12, 31),
        )
        for first, _ in whole_years(start, end)
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a global-hourly reply.

    Parameters
    ----------
    payload : bytes
        The reply.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        Reports.

    Raises
    ------
    ArchiveError
        For no rows, or no temperature or dew point.
    """
    text = ("STATION", "NAME", "DATE", "REPORT_TYPE", "TMP", "DEW", "WND", "AA1")
    frame = table(unpack(payload), columns=WANTED, text=text)
    notes = Notes()
    notes.count(frame.attrs["broken"], "broken line", "left out")
    if "DATE" not in frame:
        raise ArchiveError("the global-hourly reply has no DATE column; fetch it again")
    if "REPORT_TYPE" in frame:
        kind = frame["REPORT_TYPE"].fillna("").str.strip()
        frame = frame[~kind.isin(SUMMARIES)].reset_index(drop=True)
    stamps = times(frame["DATE"])
    columns = {
        "temperature": _marked(frame, "TMP", 0, 1, 10.0, (9999,), notes),
        "dew point": _marked(frame, "DEW", 0, 1, 10.0, (9999,), notes),
        "wind": _marked(frame, "WND", 3, 4, 10.0, (9999,), notes),
    }
    return _reports(
        stamps,
        columns,
        _rain(frame, stamps, notes),
        notes,
        "NOAA global-hourly",
        {
            **_where(frame, hints),
            "station": _first(frame, "STATION"),
            "place": _first(frame, "NAME"),
        },
    )


def _first(frame: pd.DataFrame, name: str) -> str:
    return str(frame[name].iloc[0]) if name in frame and len(frame) else ""


def _where(frame: pd.DataFrame, hints: Hints) -> dict[str, float | None]:
    found: dict[str, float | None] = {}
    for name in ("latitude", "longitude", "elevation"):
        column = numbers(frame, name.upper())
        known = None if column is None else column[np.isfinite(column)]
        found[name] = None if known is None or known.size == 0 else float(known[-1])
    if found["latitude"] == 0 == found["longitude"]:
        # A mobile station without a place, not one in the Gulf of Guinea.
        found = {"latitude": None, "longitude": None, "elevation": None}
    if found["elevation"] is not None and found["elevation"] <= -999:
        found["elevation"] = None
    return place_of(hints, **found)


def _marked(
    frame: pd.DataFrame,
    name: str,
    value: int,
    mark: int,
    scale: float,
    missing: tuple[int, ...],
    notes: Notes,
) -> Floats | None:
    """Split "value,mark" columns and drop what the mark calls bad."""
    if name not in frame:
        return None
    parts = frame[name].fillna("").str.split(",", expand=True)
    if parts.shape[1] <= max(value, mark):
        return np.full(len(frame), np.nan)
    column = pd.to_numeric(parts[value], errors="coerce").to_numpy(np.float64)
    column = np.where(np.isin(np.abs(column), missing), np.nan, column / scale)
    marks = parts[mark].fillna("").to_numpy(dtype=np.str_)
    column, bad = without_bad(column, marks)
    notes.count(bad, f"{name} value", "marked suspect or wrong, left out")
    return column


def _rain(
    frame: pd.DataFrame, stamps: npt.NDArray[np.datetime64], notes: Notes
) -> Floats | None:
    if "AA1" not in frame:
        return None
    parts = frame["AA1"].fillna("").str.split(",", expand=True)
    if parts.shape[1] < 4:
        return None
    depth = pd.to_numeric(parts[1], errors="coerce").to_numpy(np.float64)
    depth = np.where(depth == 9999, np.nan, depth / 10.0)
    depth, bad = without_bad(depth, parts[3].fillna("").to_numpy(dtype=np.str_))
    notes.count(bad, "AA1 value", "marked suspect or wrong, left out")
    hours = parts[0].to_numpy()
    rain = np.where(hours == "01", depth, np.nan)
    if np.isnat(stamps).any() or bool((np.diff(stamps) < np.timedelta64(0)).any()):
        return rain
    for length in LONGER:
        total = np.where(hours == f"{length:02d}", depth, np.nan)
        rain = share_out(stamps, rain, total, length, notes)
    return rain


def _reports(
    stamps: npt.NDArray[np.datetime64],
    columns: dict[str, Floats | None],
    rain: Floats | None,
    notes: Notes,
    source: str,
    about: Mapping[str, float | str | None],
) -> xr.Dataset:
    temperature = columns["temperature"]
    humid = None
    if temperature is not None:
        humid = humidity(temperature, notes, dew_point=columns["dew point"])
    return make_raw(
        stamps,
        {
            "air_temperature": temperature,
            "relative_humidity": humid,
            "precipitation": rain,
            "wind_speed": columns["wind"],
        },
        archive=source.removeprefix("NOAA "),
        step="hour",
        kind="observed",
        source=source,
        licence=LICENCE,
        attribution=ATTRIBUTION,
        notes=notes.lines,
        preceding=("precipitation",),
        about=about,
    )


def parse_fixed(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read the fixed columns of the database itself.

    Parameters
    ----------
    payload : bytes
        One station and year, packed or not.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        Reports.

    Raises
    ------
    ArchiveError
        When no line is of the expected shape.

    Notes
    -----
    Columns counted from 0: 4-15 station, 15-27 time, 28-34 and 34-41 latitude and
    longitude in thousandths, 46-51 elevation, 41-46 kind of report, 65-69 wind in
    tenths and its mark, 87-92 temperature in tenths and its mark, 93-98 dew point and
    its mark; then "ADD" and groups, AA1 to AA4 with hours, depth, condition, mark.
    """
    notes = Notes()
    lines = [line for line in unpack(payload).split(b"\n") if line.strip()]
    good = [line for line in lines if _WHOLE.match(line)]
    notes.count(len(lines) - len(good), "broken line", "left out")
    good = [
        line
        for line in good
        if line[41:46].decode("ascii", "replace").strip() not in SUMMARIES
    ]
    if not good:
        raise ArchiveError("no line of the ISD file is whole; fetch it again")

    def cut(start: int, stop: int) -> list[str]:
        return [line[start:stop].decode("ascii", "replace") for line in good]

    def reading(start: int, stop: int, name: str) -> Floats:
        values = np.array([float(text) for text in cut(start, stop)])
        values = np.where(np.abs(values) == 9999, np.nan, values / 10.0)
        values, bad = without_bad(values, np.array(cut(stop, stop + 1)))
        notes.count(bad, f"{name} value", "marked suspect or wrong, left out")
        return values

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
        if match and match[1] != b"9999" and match[2] not in (b"2", b"3", b"6", b"7"):
            rain[number] = int(match[1]) / 10.0
    return _reports(
        stamps,
        {
            "temperature": reading(87, 92, "temperature"),
            "dew point": reading(93, 98, "dew point"),
            "wind": reading(65, 69, "wind"),
        },
        rain,
        notes,
        "NOAA ISD",
        {**place, "station": good[0][4:15].decode("ascii", "replace")},
    )


def sniff(head: bytes, name: str) -> bool:
    """Recognise a global-hourly reply.

    Parameters
    ----------
    head : bytes
        Beginning of the file, packed or not.
    name : str
        Its name, which is not looked at.

    Returns
    -------
    bool
        True for one.
    """
    columns = [part.strip('" ') for part in first_line(head).split(",")]
    return {"STATION", "DATE"} <= set(columns) and bool(
        {"TMP", "DEW", "WND", "SLP", "CIG", "VIS"} & set(columns)
    )


def sniff_fixed(head: bytes, name: str) -> bool:
    """Recognise the fixed columns.

    Parameters
    ----------
    head : bytes
        Beginning of the file, packed or not.
    name : str
        Its name, which is not looked at.

    Returns
    -------
    bool
        True for them.
    """
    return _FIXED.match(unpack_head(head)) is not None


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
