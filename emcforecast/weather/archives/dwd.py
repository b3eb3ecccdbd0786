"""DWD (German weather service) hourly stations: temperature with humidity or dew point.

Reply: a zip with a table of the product and several of the station's history, values
between semicolons in padded columns, -999 missing, UTC; histories are in Latin-1. TU
holds TT_TU (°C) and RF_TU (%), TD holds TT and TD (°C). The place is that of the last
line of the geography table: a station may have moved.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, humidity
from emcforecast.weather.archives.payload import (
    ZIP,
    first_line,
    members,
    numbers,
    table,
    times,
    unpack,
)
from emcforecast.weather.archives.raw import make_raw, place_of
from emcforecast.weather.archives.record import Archive, Place, Request
from emcforecast.weather.archives.stations import STATIONS_DWD, read_dwd
from emcforecast.weather.formats import Hints

LICENCE = "CC BY 4.0"
ATTRIBUTION = "Source: Deutscher Wetterdienst (https://www.dwd.de/), CC BY 4.0"
ROOT = (
    "https://opendata.dwd.de/climate_environment/CDC/observations_germany/climate/"
    "hourly/air_temperature"
)
#: Days of the past that the recent file covers.
RECENT = 500
MISSING = -999.0


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for the station's recent file; older years have a name only a list tells.

    Parameters
    ----------
    place : Place
        With the station's number.
    start, end : datetime.date
        Not used: the file holds the last 500 days.

    Returns
    -------
    list of Request
        One.
    """
    number = place.station.zfill(5)
    return [
        Request(f"{ROOT}/recent/stundenwerte_TU_{number}_akt.zip", label="recent days")
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply, the zip or its product table alone.

    Parameters
    ----------
    payload : bytes
        The reply.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        Hours.

    Raises
    ------
    ArchiveError
        For another product, no rows, or a damaged file.
    """
    notes = Notes()
    product, geography = _parts(payload)
    frame = table(product, sep=";", text=("MESS_DATUM", "eor"))
    frame.columns = frame.columns.str.upper()
    notes.count(frame.attrs["broken"], "broken line", "left out")
    temperature = _column(frame, ("TT_TU", "TT"))
    humid = None
    if temperature is not None:
        humid = humidity(
            temperature,
            notes,
            given=_column(frame, ("RF_TU", "RF_STD")),
            dew_point=_column(frame, ("TD",)),
        )
    values = {
        "air_temperature": temperature,
        "relative_humidity": humid,
        "wind_speed": _column(frame, ("F",)),
        "precipitation": _column(frame, ("R1",)),
    }
    if "MESS_DATUM" not in frame:
        raise ArchiveError("the DWD table has no MESS_DATUM; fetch it again")
    when = frame["MESS_DATUM"].str.strip().str.replace(":", "").str[:10]
    return make_raw(
        times(when, "%Y%m%d%H"),
        values,
        archive="DWD",
        step="hour",
        kind="observed",
        source="DWD hourly stations",
        licence=LICENCE,
        attribution=ATTRIBUTION,
        notes=notes.lines,
        preceding=("precipitation",),
        about={**_geography(geography, hints), "station": _station(frame)},
    )


def _station(frame: pd.DataFrame) -> str:
    found = numbers(frame, "STATIONS_ID")
    return "" if found is None or not found.size else f"{int(found[0]):05d}"


def _parts(payload: bytes) -> tuple[bytes, bytes]:
    """Find the product table and, where there is one, the geography table."""
    if not payload.startswith(ZIP):
        return unpack(payload), b""
    box = members(payload)
    product = next((n for n in box if n.rpartition("/")[2].startswith("produkt")), None)
    if product is None:
        raise ArchiveError(
            f"the DWD zip file has no product table ({', '.join(box) or 'empty'}); "
            "fetch stundenwerte_TU of the station"
        )
    place = next((name for name in box if "Geographie" in name), None)
    return box[product], box[place] if place else b""


def _column(frame: pd.DataFrame, names: tuple[str, ...]) -> Floats | None:
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
            "the geography table of the DWD zip file is damaged; fetch it again"
        ) from error
    about = place_of(hints, latitude=latitude, longitude=longitude, elevation=elevation)
    return {**about, "place": parts[6] if len(parts) > 6 else ""}


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
        True for the zip file or its table.
    """
    if head.startswith(ZIP) and (b"produkt_" in head or b"Metadaten_" in head):
        return True
    line = first_line(head).upper()
    return line.startswith(("STATIONS_ID;MESS_DATUM", "STATIONS_ID;STATIONSHOEHE"))


ARCHIVE = Archive(
    id="dwd",
    title="DWD hourly stations, the last 500 days",
    kind="observed",
    step="hour",
    by="station",
    coverage="about 500 stations of Germany; older files by hand",
    since=2024,
    variables=("air_temperature", "relative_humidity"),
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits="no key; be moderate",
    requests=requests,
    parse=parse,
    stations=STATIONS_DWD,
    read_stations=read_dwd,
)
