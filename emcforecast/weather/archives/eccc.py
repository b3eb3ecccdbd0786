"""Environment and Climate Change Canada: hourly stations, one month a request.

Reply: CSV of 31 columns with or without a byte-order mark, English or French; local
standard time without an offset; °C, %, km/h, mm of the hour before, units in the
header. A flag stands beside each value: M missing, E estimated, T trace, NA not
available. Estimated values are kept and counted.
"""

from __future__ import annotations

import re
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
    Archive,
    Origin,
    Place,
    Request,
    Station,
    kept_stations,
    make_station,
    station_rows,
)
from emcforecast.weather.archives.tables import (
    counted_table,
    first_text,
    last_number,
    scaled,
    table,
    times,
)
from emcforecast.weather.formats.content import decode, first_line
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, counted

#: Ours, the beginning of theirs in English and French.
NAMES = {
    "air_temperature": ("Temp (", "Temp. ("),
    "dew_point": ("Dew Point Temp (", "Point de rosée ("),
    "relative_humidity": ("Rel Hum (", "Hum. rel ("),
    "precipitation": ("Precip. Amount (", "Hauteur de précip. ("),
    "wind_speed": ("Wind Spd (", "Vit. du vent ("),
}
ORIGIN = Origin(
    "Environment Canada",
    "Environment and Climate Change Canada",
    "ECCC Data Servers End-use Licence",
    "Data source: Environment and Climate Change Canada "
    "(https://climate.weather.gc.ca/)",
)
WHEN = ("Date/Time", "Date/Heure")
ABOUT = {
    "latitude": ("Latitude",),
    "longitude": ("Longitude",),
    "station": ("Climate ID", "ID climatologique"),
    "place": ("Station Name", "Nom de la Station"),
}


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station by its number (not its climate identifier), by the month."""
    asked = []
    month = date(start.year, start.month, 1)
    while month <= end:
        after = date(month.year + month.month // 12, month.month % 12 + 1, 1)
        asked.append(
            Request(
                "https://climate.weather.gc.ca/climate_data/bulk_data_e.html",
                (
                    ("format", "csv"),
                    ("stationID", place.station),
                    ("Year", str(month.year)),
                    ("Month", str(month.month)),
                    ("Day", "14"),
                    ("timeframe", "1"),
                ),
                label=f"{month:%Y-%m}",
                last=date.fromordinal(after.toordinal() - 1),
            )
        )
        month = after
    return asked


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply."""
    repairs: list[Repair] = []
    words = (*WHEN, *ABOUT["station"], *ABOUT["place"])
    frame = counted_table(payload, repairs, text=words)
    about = {ours: _find(frame, theirs) for ours, theirs in ABOUT.items()}
    when = _find(frame, WHEN)
    if when is None:
        raise ArchiveError(
            _("the Environment Canada reply has no times; fetch it again")
        )
    if not re.search(r"LST|HNL", when) and _find(frame, ("Time", "Heure")) is None:
        raise ArchiveError(
            _(
                "the Environment Canada reply holds days or months, which "
                "have no humidity; ask for timeframe=1 (hours)"
            )
        )
    values = _values(frame, repairs)
    place = place_of(
        hints,
        latitude=last_number(frame, about["latitude"]),
        longitude=last_number(frame, about["longitude"]),
    )
    offset, found = standard_offset(hints, place, "Environment Canada", "CA")
    repairs.append(found)
    shift = np.timedelta64(round(offset * 60), "m")
    return series_of_reports(
        ORIGIN,
        np.asarray(times(frame[when]) - shift),
        values,
        repairs,
        {
            **place,
            "station": first_text(frame, about["station"]),
            "place": first_text(frame, about["place"]),
            "utc_offset": offset,
        },
    )


def _values(frame: pd.DataFrame, repairs: list[Repair]) -> dict[str, FloatArray]:
    values = {}
    names = [str(name) for name in frame.columns]
    for ours, theirs in NAMES.items():
        name = _find(frame, theirs)
        if name is None:
            continue
        unit = name.rpartition("(")[2].rstrip(")")
        column = pd.to_numeric(frame[name], errors="coerce").to_numpy(np.float64)
        beside = names.index(name) + 1
        flags = np.full(len(frame), "")
        if beside < len(names) and re.search("Flag|Indicateur", names[beside]):
            flags = (
                frame.iloc[:, beside].astype(object).fillna("").to_numpy(dtype=np.str_)
            )
        column = np.where(np.isin(flags, ["M", "NA"]), np.nan, column)
        if ours == "precipitation":
            column = np.where(flags == "T", 0.0, column)
        estimated = int(((flags == "E") & np.isfinite(column)).sum())
        repairs += counted(RepairKind.ESTIMATED, estimated, ours)
        values[ours] = scaled(column, unit, ours, "Environment Canada")
    return values


def _find(frame: pd.DataFrame, starts: tuple[str, ...]) -> str | None:
    return next((str(n) for n in frame.columns if str(n).startswith(starts)), None)


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    line = first_line(head)
    return "Longitude (x)" in line and ("Climate ID" in line or "ID climat" in line)


STATIONS_ECCC = (
    "https://collaboration.cmc.ec.gc.ca/cmc/climate/"
    "Get_More_Data_Plus_de_donnees/Station%20Inventory%20EN.csv"
)


def read_eccc(payload: bytes) -> list[Station]:
    """Read the station inventory of Environment and Climate Change Canada."""
    text = decode(payload)
    lines = text.splitlines()
    start = next((n for n, line in enumerate(lines) if "Station ID" in line), 0)
    names = (
        *("Station ID", "Name", "Latitude (Decimal Degrees)"),
        *("Longitude (Decimal Degrees)", "Elevation (m)"),
        *("HLY First Year", "HLY Last Year"),
    )
    frame = table("\n".join(lines[start:]).encode(), columns=names, text=names).fillna(
        ""
    )
    rows = station_rows(frame, names, "Environment Canada")
    return kept_stations(
        [
            make_station(number, name, (lat, lon, up), (first, last))
            for number, name, lat, lon, up, first, last in rows
            if str(first)
        ],
        "Environment Canada",
    )


ARCHIVE = Archive(
    id="eccc",
    title="Environment and Climate Change Canada, hourly stations",
    coverage="stations of Canada, most since 1953",
    since=1953,
    origin=ORIGIN,
    limits="no key; one request a second, one month a request",
    requests=requests,
    parse=parse,
    pause=1.0,
    stations=STATIONS_ECCC,
    read_stations=read_eccc,
)
