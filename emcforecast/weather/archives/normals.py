"""NOAA hourly climate normals: 8,760 hours of the mean year, 1991 to 2020.

Reply: one row an hour in local standard time without a year; °F and miles an hour,
-9999 missing (-7777 rounds to zero); no humidity but a dew point. The hours are means
over thirty years, so the days differ little from one another: the spread from day to
day is gone, and the series says so by its kind.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.raw import (
    place_of,
    series_of_reports,
    standard_offset,
)
from emcforecast.weather.archives.record import (
    NOAA,
    STATIONS_GHCNH,
    Archive,
    Origin,
    Place,
    Request,
    read_us,
)
from emcforecast.weather.archives.tables import (
    counted_table,
    first_text,
    last_number,
    numbers,
    scaled,
)
from emcforecast.weather.formats.content import first_line
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair
from emcforecast.weather.series import NOMINAL_YEAR

HOURS = 8760
ABOUT = (
    *("STATION", "NAME", "DATE", "month", "day", "hour"),
    *("LATITUDE", "LONGITUDE", "ELEVATION"),
)
SPECIAL = -6666.0
ORIGIN = Origin(
    "hourly normals",
    "NOAA hourly climate normals 1991-2020",
    *NOAA,
    kind="normals",
)
TEMPERATURE, DEW_POINT, WIND = "HLY-TEMP-NORMAL", "HLY-DEWP-NORMAL", "HLY-WIND-AVGSPD"


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station; the span is the archive's own."""
    root = "https://www.ncei.noaa.gov/data/normals-hourly/1991-2020/access"
    return [
        Request(
            f"{root}/{place.station}.csv",
            label="normals 1991 to 2020",
            last=date(2020, 12, 31),
        )
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply."""
    repairs: list[Repair] = []
    frame = counted_table(
        payload,
        repairs,
        columns=(*ABOUT, TEMPERATURE, DEW_POINT, WIND),
        text=("STATION", "NAME", "DATE"),
    )
    if len(frame) == 0:
        raise ArchiveError(
            _("the normals reply holds no rows; ask for another station")
        )
    place = place_of(
        hints,
        **{
            name: last_number(frame, name.upper())
            for name in ("latitude", "longitude", "elevation")
        },
    )
    offset, found = standard_offset(hints, place, "hourly normals", "US")
    repairs.append(found)
    when = (_hour_of_year(frame) - round(offset)) % HOURS
    columns = {
        name: _column(frame, name, when) for name in (TEMPERATURE, DEW_POINT, WIND)
    }
    first = np.datetime64(f"{NOMINAL_YEAR}-01-01T00", "h")
    return series_of_reports(
        ORIGIN,
        (first + np.arange(HOURS)).astype("datetime64[ns]"),
        {
            "air_temperature": _converted(columns[TEMPERATURE], "F", "air_temperature"),
            "dew_point": _converted(columns[DEW_POINT], "F", "dew_point"),
            "wind_speed": _converted(columns[WIND], "mph", "wind_speed"),
        },
        repairs,
        {
            **place,
            "station": first_text(frame, "STATION"),
            "place": first_text(frame, "NAME"),
            "utc_offset": offset,
        },
    )


def _hour_of_year(frame: pd.DataFrame) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    parts = [numbers(frame, name) for name in ("month", "day", "hour")]
    if any(part is None for part in parts):
        if "DATE" not in frame:
            raise ArchiveError(
                _("the normals reply has no dates; fetch all its columns")
            )
        found = frame["DATE"].str.extract(r"(\d\d)-(\d\d)[T ](\d\d)")
        if found.isna().any().any():
            raise ArchiveError(
                _(
                    "normals dates such as {cell!r} are not understood",
                    cell=frame["DATE"].iloc[0],
                )
            )
        month, day, hour = (found[n].to_numpy(dtype=np.float64) for n in range(3))
    else:
        month, day, hour = (part for part in parts if part is not None)
        hour = hour - hour.min()
    if not np.isfinite(month + day + hour).all():
        raise ArchiveError(_("a row of the normals reply has no date; fetch it again"))
    starts = np.arange(
        f"{NOMINAL_YEAR}-01", f"{NOMINAL_YEAR + 1}-01", dtype="datetime64[M]"
    )
    days = (starts.astype("datetime64[D]") - starts[0].astype("datetime64[D]")).astype(
        int
    )
    whole = days[month.astype(int) - 1] + day - 1
    return np.asarray(whole * 24 + hour, dtype=np.int64)


def _column(
    frame: pd.DataFrame, name: str, when: np.ndarray[tuple[int], np.dtype[np.int64]]
) -> FloatArray | None:
    values = numbers(frame, name)
    if values is None:
        return None
    values = np.where(values == -7777.0, 0.0, values)
    placed = np.full(HOURS, np.nan)
    placed[when] = np.where(values <= SPECIAL, np.nan, values)
    return placed


def _converted(column: FloatArray | None, unit: str, name: str) -> FloatArray | None:
    return None if column is None else scaled(column, unit, name, "hourly normals")


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    line = first_line(head)
    return "STATION" in line and "HLY-" in line


ARCHIVE = Archive(
    id="hourly-normals",
    title="NOAA hourly climate normals 1991-2020",
    coverage="about 460 airports of the United States; one mean year",
    since=1991,
    variables=("air_temperature", "relative_humidity", "wind_speed"),
    origin=ORIGIN,
    requests=requests,
    parse=parse,
    stations=STATIONS_GHCNH,
    read_stations=read_us,
)
