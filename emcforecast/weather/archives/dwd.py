"""DWD (German weather service) hourly stations: temperature with humidity or dew point.

Reply: a zip with a table of the product and several of the station's history, values
between semicolons in padded columns, -999 missing, UTC; histories are in Latin-1. TU
holds TT_TU (°C) and RF_TU (%), TD holds TT and TD (°C). The place is that of the last
line of the geography table: a station may have moved.
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
from emcforecast.weather.archives.raw import place_of, series_of_reports
from emcforecast.weather.archives.record import (
    Archive,
    Origin,
    Place,
    Request,
    Station,
    kept_stations,
    make_station,
)
from emcforecast.weather.archives.tables import counted_table, numbers, times
from emcforecast.weather.formats.content import ZIP, first_line, zip_members
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair

ROOT = (
    "https://opendata.dwd.de/climate_environment/CDC/observations_germany/climate/"
    "hourly/air_temperature"
)
MISSING = -999.0
#: Ours, and theirs in the products that hold them.
NAMES = {
    "air_temperature": ("TT_TU", "TT"),
    "relative_humidity": ("RF_TU", "RF_STD"),
    "dew_point": ("TD",),
    "wind_speed": ("F",),
    "precipitation": ("R1",),
}
ORIGIN = Origin(
    "DWD",
    "DWD hourly stations",
    "CC BY 4.0",
    "Source: Deutscher Wetterdienst (https://www.dwd.de/), CC BY 4.0",
)


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for the station's recent file; older years have a name only a list gives."""
    number = place.station.zfill(5)
    return [
        Request(f"{ROOT}/recent/stundenwerte_TU_{number}_akt.zip", label="recent days")
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply, the zip or its product table alone."""
    repairs: list[Repair] = []
    product, geography = _parts(payload)
    frame = counted_table(product, repairs, sep=";", text=("MESS_DATUM", "eor"))
    frame.columns = frame.columns.str.upper()
    if "MESS_DATUM" not in frame:
        raise ArchiveError(_("the DWD table has no MESS_DATUM; fetch it again"))
    when = frame["MESS_DATUM"].str.strip().str.replace(":", "").str[:10]
    return series_of_reports(
        ORIGIN,
        times(when, "%Y%m%d%H"),
        {ours: _column(frame, theirs) for ours, theirs in NAMES.items()},
        repairs,
        {**_geography(geography, hints), "station": _station(frame)},
    )


def _station(frame: pd.DataFrame) -> str:
    found = numbers(frame, "STATIONS_ID")
    return "" if found is None or not found.size else f"{int(found[0]):05d}"


def _parts(payload: bytes) -> tuple[bytes, bytes]:
    """Find the product table and, where there is one, the geography table."""
    if not payload.startswith(ZIP):
        return payload, b""
    box = zip_members(payload, ArchiveError)
    product = next((n for n in box if n.rpartition("/")[2].startswith("produkt")), None)
    if product is None:
        raise ArchiveError(
            _(
                "the DWD zip file has no product table ({found}); fetch "
                "stundenwerte_TU of the station",
                found=", ".join(box) or "empty",
            )
        )
    place = next((name for name in box if "Geographie" in name), None)
    return box[product], box[place] if place else b""


def _column(frame: pd.DataFrame, names: tuple[str, ...]) -> FloatArray | None:
    for name in names:
        values = numbers(frame, name)
        if values is not None:
            return np.where(values <= MISSING, np.nan, values)
    return None


def _geography(text: bytes, hints: Hints) -> dict[str, float | str | None]:
    if not text:
        return dict(place_of(hints))
    lines = [line for line in text.decode("latin-1").splitlines() if line.strip()]
    parts = [part.strip() for part in lines[-1].split(";")]
    try:
        elevation, latitude, longitude = (float(part) for part in parts[1:4])
    except ValueError as error:
        raise ArchiveError(
            _("the geography table of the DWD zip file is damaged; fetch it again")
        ) from error
    about = place_of(hints, latitude=latitude, longitude=longitude, elevation=elevation)
    return {**about, "place": parts[6] if len(parts) > 6 else ""}


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    if head.startswith(ZIP) and (b"produkt_" in head or b"Metadaten_" in head):
        return True
    line = first_line(head).upper()
    return line.startswith(("STATIONS_ID;MESS_DATUM", "STATIONS_ID;STATIONSHOEHE"))


STATIONS_DWD = (
    "https://opendata.dwd.de/climate_environment/CDC/observations_germany/climate/"
    "hourly/air_temperature/recent/TU_Stundenwerte_Beschreibung_Stationen.txt"
)


def read_dwd(payload: bytes) -> list[Station]:
    """Read the station list of the DWD, in Latin-1."""
    pattern = re.compile(
        r"\s*(\d+)\s+(\d{8})\s+(\d{8})\s+(-?[\d.]+)\s+(-?[\d.]+)\s+(-?[\d.]+)\s+(.+)"
    )
    found = []
    for line in payload.decode("latin-1").splitlines():
        match = pattern.match(line)
        if match:
            number, first, last, up, lat, lon, rest = match.groups()
            name = re.split(r"\s{2,}", rest.strip())[0]
            where = (lat, lon, up)
            found.append(make_station(number.zfill(5), name, where, (first, last)))
    return kept_stations(found, "DWD")


ARCHIVE = Archive(
    id="dwd",
    title="DWD hourly stations, the last 500 days",
    coverage="about 500 stations of Germany; older files by hand",
    since=2024,
    variables=("air_temperature", "relative_humidity"),
    origin=ORIGIN,
    requests=requests,
    parse=parse,
    stations=STATIONS_DWD,
    read_stations=read_dwd,
)
