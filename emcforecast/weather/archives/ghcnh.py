"""NOAA GHCNh: the Global Historical Climatology Network, hourly.

Reply: values between bars, UTC, several reports an hour, a station's whole record
(times in five columns) or one year of it (one ISO column). Each element is followed by
its measurement code, quality code, report type, source code and source station. °C,
whole %, mm, m/s. A trace of rain is 0 with a word in the measurement code.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, humidity
from emcforecast.weather.archives.noaa import ATTRIBUTION, LICENCE
from emcforecast.weather.archives.payload import (
    first_line,
    numbers,
    table,
    times,
    unpack,
)
from emcforecast.weather.archives.raw import make_raw, place_of
from emcforecast.weather.archives.record import Archive, Place, Request, whole_years
from emcforecast.weather.archives.stations import STATIONS_GHCNH, read_ghcnh
from emcforecast.weather.formats import Hints
from emcforecast.weather.years import in_nanoseconds

ROOT = "https://www.ncei.noaa.gov/oa/global-historical-climatology-network/hourly"
#: Checks of the archive that a value failed: consistency L, outlier o, frequent F,
#: day and night U, distribution D d, record W, streak K, climate C, time T, spike S,
#: humidity h, variance V, wind w, neighbours N, clean-up E, pressure p, many marks H;
#: f is given to values worked out from one that failed.
FAILED = tuple("LoFUDdWKCTShVwNEpHf")
#: Older marks: suspect or wrong.
OLD_BAD = ("2", "3", "6", "7")
#: Sources whose mark 5 says "removed".
REMOVED_BY = ("220", "221", "222", "223", "347", "348")
#: Sources (313 to 346) whose letters C and U mark values that were accepted.
ACCEPTED_BY = tuple(str(number) for number in range(313, 347))
ELEMENTS = (
    *("temperature", "dew_point_temperature", "relative_humidity", "wind_speed"),
    *("precipitation", "station_level_pressure"),
)
_TIMES = ("year", "month", "day", "hour", "minute")
_ABOUT = ("station_id", "station", "station_name", "latitude", "longitude", "elevation")


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station, one calendar year a request.

    Parameters
    ----------
    place : Place
        With the station's number.
    start, end : datetime.date
        First and last day.

    Returns
    -------
    list of Request
        In order of time.
    """
    return [
        Request(
            f"{ROOT}/access/by-year/{first.year}/psv/"
            f"GHCNh_{place.station}_{first.year}.psv",
            label=str(first.year),
            last=date(first.year, 12, 31),
        )
        for first, _ in whole_years(start, end)
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply, by station or by year.

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
        For no rows, no times, or no temperature or humidity.
    """
    codes = [
        f"{element}_{code}"
        for element in ELEMENTS
        for code in ("quality_code", "source_code")
    ]
    codes.append("precipitation_measurement_code")
    frame = table(
        unpack(payload),
        sep="|",
        columns=("date", *_TIMES, *_ABOUT, *ELEMENTS, *codes),
        text=("date", *_ABOUT[:3]),
        marks=codes,
    )
    frame.columns = frame.columns.str.lower()
    notes = Notes()
    notes.count(frame.attrs["broken"], "broken line", "left out")
    values = {name: _checked(frame, name, notes) for name in ELEMENTS}
    temperature = values["temperature"]
    humid = None
    if temperature is not None:
        humid = humidity(
            temperature,
            notes,
            given=values["relative_humidity"],
            dew_point=values["dew_point_temperature"],
        )
    return make_raw(
        _times(frame),
        {
            "air_temperature": temperature,
            "relative_humidity": humid,
            "precipitation": _rain(frame, values["precipitation"], notes),
            "wind_speed": values["wind_speed"],
        },
        archive="GHCNh",
        step="hour",
        kind="observed",
        source="NOAA GHCNh",
        licence=LICENCE,
        attribution=ATTRIBUTION,
        notes=notes.lines,
        preceding=("precipitation",),
        about={
            **place_of(hints, **{name: _last(frame, name) for name in _ABOUT[3:]}),
            "station": _word(frame, "station_id") or _word(frame, "station"),
            "place": _word(frame, "station_name"),
        },
    )


def _times(frame: pd.DataFrame) -> npt.NDArray[np.datetime64]:
    if "date" in frame:
        return times(frame["date"])
    lacking = [name for name in _TIMES[:4] if name not in frame]
    if lacking:
        raise ArchiveError(
            f"the GHCNh reply has no {lacking[0]} column, so no times; fetch it again"
        )
    year, month, day, hour, minute = (
        np.zeros(len(frame)) if part is None else part
        for part in (numbers(frame, name) for name in _TIMES)
    )
    known = np.isfinite(year + month + day + hour)
    months = (np.where(known, year, 1970) - 1970) * 12 + np.where(known, month, 1) - 1
    stamps = months.astype(np.int64).astype("datetime64[M]").astype("datetime64[m]")
    rest = ((day - 1) * 24 + hour) * 60 + np.nan_to_num(minute)
    stamps = stamps + np.where(known, rest, 0).astype(np.int64)
    stamps[~known] = np.datetime64("NaT")
    return in_nanoseconds(stamps)


def _last(frame: pd.DataFrame, name: str) -> float | None:
    column = numbers(frame, name)
    known = np.empty(0) if column is None else column[np.isfinite(column)]
    if known.size == 0 or (name == "elevation" and known[-1] <= -999):
        return None
    return float(known[-1])


def _word(frame: pd.DataFrame, name: str) -> str:
    return str(frame[name].iloc[0]) if name in frame and len(frame) else ""


def _checked(frame: pd.DataFrame, name: str, notes: Notes) -> Floats | None:
    """Return an element without the values that failed the archive's checks."""
    values = numbers(frame, name)
    quality = f"{name}_quality_code"
    if values is None or quality not in frame:
        return values
    marks = frame[quality]
    bad = _among(marks, (*FAILED, *OLD_BAD))
    source = f"{name}_source_code"
    if source in frame:
        origin = frame[source]
        bad |= _among(marks, ("5",)) & _among(origin, REMOVED_BY)
        bad &= ~(_among(marks, ("C", "U")) & _among(origin, ACCEPTED_BY))
    bad &= np.isfinite(values)
    what = name.replace("_", " ")
    notes.count(
        int(bad.sum()), f"{what} value", "that failed the archive's checks left out"
    )
    return np.where(bad, np.nan, values)


def _among(marks: pd.Series[str], words: tuple[str, ...]) -> npt.NDArray[np.bool_]:
    """Tell which marks are among some words, looking at each different one once."""
    known = [str(word).removesuffix(".0") in words for word in marks.cat.categories]
    return np.array([*known, False], dtype=bool)[marks.cat.codes.to_numpy()]


def _rain(frame: pd.DataFrame, depth: Floats | None, notes: Notes) -> Floats | None:
    code = "precipitation_measurement_code"
    if depth is None or code not in frame:
        return depth
    words = [str(word) for word in frame[code].cat.categories]
    missing = _among(frame[code], tuple(w for w in words if "missing" in w.lower()))
    traces = tuple(word for word in words if word == "T" or "trace" in word.lower())
    trace = _among(frame[code], traces)
    notes.count(int(trace.sum()), "trace of rain", "counted as none", "traces of rain")
    depth = np.where(missing & (depth == 0.0), np.nan, depth)
    return np.where(trace, 0.0, depth)


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply.

    Parameters
    ----------
    head : bytes
        Beginning of the file, packed or not.
    name : str
        Its name, which is not looked at.

    Returns
    -------
    bool
        True for a GHCNh file.
    """
    line = first_line(head).lower()
    return "|" in line and "_quality_code" in line and line.startswith("station")


ARCHIVE = Archive(
    id="ghcnh",
    title="NOAA GHCNh (Global Historical Climatology Network, hourly)",
    kind="observed",
    step="hour",
    by="station",
    coverage="over 20,000 stations of the world, 1790 to the present",
    since=1790,
    variables=("air_temperature", "relative_humidity", "precipitation", "wind_speed"),
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits="no key; be moderate",
    requests=requests,
    parse=parse,
    stations=STATIONS_GHCNH,
    read_stations=read_ghcnh,
)
