"""NOAA Integrated Surface Database in its own fixed columns.

The values of global-hourly at fixed places of a line; rain in an additional section, of
which the one-hour depths are read. Only as a file: the archive is asked for the CSV.
"""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes
from emcforecast.weather.archives.isd import MISSING, SUMMARIES
from emcforecast.weather.archives.noaa import ATTRIBUTION, BAD_MARKS, LICENCE
from emcforecast.weather.archives.payload import unpack, unpack_head
from emcforecast.weather.archives.raw import place_of
from emcforecast.weather.archives.reports import (
    Origin,
    series_of_reports,
    without_marked,
)
from emcforecast.weather.archives.tables import times
from emcforecast.weather.hints import Hints

ORIGIN = Origin("ISD", "NOAA ISD", LICENCE, ATTRIBUTION)
_FIXED = re.compile(rb"\d{4}[0-9A-Z]{6}\d{5}\d{12}.[+-]\d{5}[+-]\d{6}")
_WHOLE = re.compile(
    _FIXED.pattern + rb".{5}[+-]\d{4}.{12}.{2}\d{4}.{18}[+-]\d{4}.[+-]\d{4}."
)


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read the fixed columns of the database itself.

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
        values = np.where(np.abs(values) == MISSING, np.nan, values / 10.0)
        marks = np.array(cut(stop, stop + 1))
        return without_marked(values, np.isin(marks, BAD_MARKS), name, notes)

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
        ORIGIN,
        stamps,
        {
            "air_temperature": reading(87, 92, "temperature"),
            "dew_point": reading(93, 98, "dew point"),
            "wind_speed": reading(65, 69, "wind"),
            "precipitation": rain,
        },
        notes,
        {**place, "station": good[0][4:15].decode("ascii", "replace")},
    )


def sniff(head: bytes, name: str) -> bool:
    """Recognise the fixed columns."""
    return _FIXED.match(unpack_head(head)) is not None
