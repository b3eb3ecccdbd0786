"""NOAA GHCNh: the Global Historical Climatology Network, hourly.

Reply: values between bars, UTC, several reports an hour, a station's whole record
(times in five columns) or one year of it (one ISO column). Each element is followed by
its measurement code, quality code, report type, source code and source station. °C,
whole %, mm, m/s. A trace of rain is 0 with a word in the measurement code.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import BoolArray, FloatArray, TimeArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.raw import place_of, series_of_reports
from emcforecast.weather.archives.record import (
    NOAA,
    STATIONS_GHCNH,
    Archive,
    Origin,
    Place,
    Request,
    by_year,
    read_ghcnh,
)
from emcforecast.weather.archives.tables import (
    count_traces,
    counted_table,
    first_text,
    last_number,
    numbers,
    times,
    times_of_parts,
    without_marked,
)
from emcforecast.weather.formats.content import first_line
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind

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
ORIGIN = Origin("GHCNh", "NOAA GHCNh", *NOAA)
_TIMES = ("year", "month", "day", "hour", "minute")
_ABOUT = ("station_id", "station", "station_name", "latitude", "longitude", "elevation")


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station, one calendar year a request."""
    folder, name = f"{ROOT}/access/by-year", f"GHCNh_{place.station}"
    return by_year(start, end, lambda year: f"{folder}/{year}/psv/{name}_{year}.psv")


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply, by station or by year."""
    codes = [
        f"{element}_{code}"
        for element in ELEMENTS
        for code in ("quality_code", "source_code")
    ]
    codes.append("precipitation_measurement_code")
    repairs: list[Repair] = []
    frame = counted_table(
        payload,
        repairs,
        sep="|",
        columns=("date", *_TIMES, *_ABOUT, *ELEMENTS, *codes),
        text=("date", *_ABOUT[:3]),
        marks=codes,
    )
    frame.columns = frame.columns.str.lower()
    values = {name: _checked(frame, name, repairs) for name in ELEMENTS}
    return series_of_reports(
        ORIGIN,
        _times(frame),
        {
            "air_temperature": values["temperature"],
            "relative_humidity": values["relative_humidity"],
            "dew_point": values["dew_point_temperature"],
            "precipitation": _rain(frame, values["precipitation"], repairs),
            "wind_speed": values["wind_speed"],
        },
        repairs,
        {
            **place_of(hints, **{n: last_number(frame, n) for n in _ABOUT[3:]}),
            "station": first_text(frame, "station_id") or first_text(frame, "station"),
            "place": first_text(frame, "station_name"),
        },
    )


def _times(frame: pd.DataFrame) -> TimeArray:
    if "date" in frame:
        return times(frame["date"])
    lacking = [name for name in _TIMES[:4] if name not in frame]
    if lacking:
        raise ArchiveError(
            _(
                "the GHCNh reply has no {lacking} column, so no times; fetch it again",
                lacking=lacking[0],
            )
        )
    parts = (numbers(frame, name) for name in _TIMES)
    return times_of_parts(
        *(np.zeros(len(frame)) if part is None else part for part in parts)
    )


def _checked(
    frame: pd.DataFrame, name: str, repairs: list[Repair]
) -> FloatArray | None:
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
    return without_marked(values, bad, name, repairs, RepairKind.FAILED_CHECKS)


def _among(marks: pd.Series[str], words: tuple[str, ...]) -> BoolArray:
    """Return which marks are among some words, looking at each different one once."""
    known = [str(word).removesuffix(".0") in words for word in marks.cat.categories]
    return np.array([*known, False], dtype=bool)[marks.cat.codes.to_numpy()]


def _rain(
    frame: pd.DataFrame, depth: FloatArray | None, repairs: list[Repair]
) -> FloatArray | None:
    code = "precipitation_measurement_code"
    if depth is None or code not in frame:
        return depth
    words = [str(word) for word in frame[code].cat.categories]
    missing = _among(frame[code], tuple(w for w in words if "missing" in w.lower()))
    traces = tuple(word for word in words if word == "T" or "trace" in word.lower())
    trace = _among(frame[code], traces)
    count_traces(trace, repairs)
    depth = np.where(missing & (depth == 0.0), np.nan, depth)
    return np.where(trace, 0.0, depth)


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    line = first_line(head).lower()
    return "|" in line and "_quality_code" in line and line.startswith("station")


ARCHIVE = Archive(
    id="ghcnh",
    title="NOAA GHCNh (Global Historical Climatology Network, hourly)",
    coverage="over 20,000 stations of the world, 1790 to the present",
    since=1790,
    origin=ORIGIN,
    requests=requests,
    parse=parse,
    stations=STATIONS_GHCNH,
    read_stations=read_ghcnh,
)
