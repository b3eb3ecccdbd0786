"""NOAA Local Climatological Data: hourly reports and daily summaries in one table.

Local standard time without an offset. Values carry letters: s suspect, V variable, T
trace, M missing, * and blanks. The first edition gives °F, inches and miles an hour,
the second °C, mm and m/s, neither says so: the humidity of the same rows tells, else
the form of the station number does. Only reports of kind FM-12, FM-15 and FM-16 are
readings; SOD and SOM sum up days and months.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.physics.moist_air import relative_humidity, saturation_vapour_pressure
from emcforecast.weather.archives.raw import (
    place_of,
    series_of_reports,
    standard_offset,
)
from emcforecast.weather.archives.record import (
    NOAA,
    STATIONS_ISD,
    Archive,
    Origin,
    Place,
    Request,
    by_year,
    read_isd_joined,
)
from emcforecast.weather.archives.tables import (
    count_traces,
    counted_table,
    first_text,
    last_number,
    scaled,
    times,
)
from emcforecast.weather.formats.content import first_line
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, counted, repair

ELEMENTS = {
    "air_temperature": "HourlyDryBulbTemperature",
    "dew_point": "HourlyDewPointTemperature",
    "relative_humidity": "HourlyRelativeHumidity",
    "precipitation": "HourlyPrecipitation",
    "wind_speed": "HourlyWindSpeed",
}
ABOUT = (
    *("STATION", "NAME", "DATE", "datetime", "REPORT_TYPE", "REPORTTYPE"),
    *("LATITUDE", "LONGITUDE", "ELEVATION"),
)
ROOT = "https://www.ncei.noaa.gov/data/local-climatological-data/access"
ORIGIN = Origin("LCD", "NOAA Local Climatological Data", *NOAA)
READINGS = ("FM-12", "FM-15", "FM-16")
AMERICAN = {
    "air_temperature": "F",
    "dew_point": "F",
    "relative_humidity": "%",
    "precipitation": "in",
    "wind_speed": "mph",
}
METRIC = {
    "air_temperature": "C",
    "dew_point": "C",
    "relative_humidity": "%",
    "precipitation": "mm",
    "wind_speed": "m/s",
}


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station by USAF and WBAN, eleven digits, a year a request."""
    station = place.station.replace("-", "")
    return by_year(start, end, lambda year: f"{ROOT}/{year}/{station}.csv")


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply of either edition."""
    wanted = (*ABOUT, *ELEMENTS.values())
    repairs: list[Repair] = []
    frame = counted_table(
        payload, repairs, columns=wanted, text=wanted, missing=("NA",)
    )
    frame = _readings(frame, repairs)
    values = {
        ours: _plain(frame[theirs], theirs, repairs)
        for ours, theirs in ELEMENTS.items()
        if theirs in frame
    }
    station = first_text(frame, "STATION")
    units = _units(values, station, hints, repairs)
    values = {
        name: scaled(column, units[name], name, "LCD")
        for name, column in values.items()
    }
    place = place_of(
        hints,
        **{
            name: last_number(frame, name.upper())
            for name in ("latitude", "longitude", "elevation")
        },
    )
    name = first_text(frame, "NAME")
    # Names end in the country where they are long enough to.
    abroad = "," in name and not name.endswith("US")
    offset, found = standard_offset(hints, place, "LCD", "" if abroad else "US")
    repairs.append(found)
    when = frame["DATE"] if "DATE" in frame else frame["datetime"]
    shift = np.timedelta64(round(offset * 60), "m")
    return series_of_reports(
        ORIGIN,
        np.asarray(times(when.str.strip()) - shift),
        values,
        repairs,
        {**place, "station": station, "place": name, "utc_offset": offset},
    )


def _readings(frame: pd.DataFrame, repairs: list[Repair]) -> pd.DataFrame:
    if not {"DATE", "datetime"} & set(frame.columns):
        raise ArchiveError(
            _("the LCD reply has no DATE column; fetch it with all its columns")
        )
    name = next((n for n in ("REPORT_TYPE", "REPORTTYPE") if n in frame), None)
    if name is None:
        return frame
    wanted = frame[name].fillna("").str.strip().isin(READINGS)
    if not wanted.any() and len(frame):
        raise ArchiveError(
            _(
                "the LCD reply holds daily or monthly summaries only, no "
                "hourly readings; fetch the hourly ones"
            )
        )
    repairs += counted(RepairKind.SUMMARY_ROWS, int((~wanted).sum()))
    return frame[wanted].reset_index(drop=True)


def _plain(column: pd.Series[str], name: str, repairs: list[Repair]) -> FloatArray:
    """Take the letters off; suspect values go, a trace is none."""
    text = column.fillna("").astype(str).str.strip()
    suspect = text.str.endswith("s")
    trace = text == "T"
    what = name.removeprefix("Hourly")
    kind = RepairKind.MARKED_SUSPECT
    repairs += counted(kind, int(suspect.sum()), column=what)
    count_traces(trace, repairs)
    bare = text.str.removesuffix("V").str.removesuffix("*").where(~suspect, "")
    bare = bare.where(~trace, "0")
    return pd.to_numeric(bare, errors="coerce").to_numpy(dtype=np.float64)


def _units(
    values: dict[str, FloatArray], station: str, hints: Hints, repairs: list[Repair]
) -> dict[str, str]:
    if hints.temperature_unit is not None:
        return METRIC if hints.temperature_unit == "C" else AMERICAN
    units, by = (AMERICAN if station[:1].isdigit() else METRIC), ""
    if {"air_temperature", "dew_point", "relative_humidity"} <= set(values):
        errors = [_misfit(values, unit) for unit in ("F", "C")]
        if np.isfinite(errors).all():
            units = AMERICAN if errors[0] <= errors[1] else METRIC
            by = "humidity"
    system = "us" if units is AMERICAN else "si"
    repairs.append(repair(RepairKind.UNITS_OF_TABLE, system=system, by=by))
    return units


def _misfit(values: dict[str, FloatArray], unit: str) -> float:
    """Median distance (% RH) of stated humidity from that of the two temperatures."""
    t = scaled(values["air_temperature"], unit, "air_temperature", "LCD")
    t_d = scaled(values["dew_point"], unit, "dew_point", "LCD")
    e_pa = saturation_vapour_pressure(t_d)
    off = np.abs(relative_humidity(t, e_pa) - values["relative_humidity"])
    return float(np.median(off[np.isfinite(off)])) if np.isfinite(off).any() else np.nan


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    columns = [part.strip('" ') for part in first_line(head).split(",")]
    return "STATION" in columns and any(
        column.startswith(("HourlyDry", "HourlyDew", "HourlyRel", "HourlyWind"))
        for column in columns
    )


ARCHIVE = Archive(
    id="lcd",
    title="NOAA Local Climatological Data",
    coverage="about 2,400 airports, most in the United States",
    since=1931,
    origin=ORIGIN,
    requests=requests,
    parse=parse,
    stations=STATIONS_ISD,
    read_stations=read_isd_joined,
)
