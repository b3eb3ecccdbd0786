"""ERA5 at a point, from the Copernicus climate data store with the user's own key.

Reply: a zip with one or more CSV files; valid_time UTC, t2m and d2m in K, sp in Pa,
u10 and v10 in m/s, tp in m and ssrd in J/m² of the hour before. The archive runs a
job, which the session waits for; the key goes into a header and nowhere else.
"""

from __future__ import annotations

import json
from datetime import date

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.raw import place_of, series_of_reports
from emcforecast.weather.archives.record import (
    MODELLED,
    Archive,
    Origin,
    Place,
    Request,
)
from emcforecast.weather.archives.tables import (
    counted_table,
    last_number,
    numbers,
    scaled,
    times,
)
from emcforecast.weather.formats.content import (
    ZIP,
    first_line,
    first_member,
    zip_members,
)
from emcforecast.weather.hints import Hints
from emcforecast.weather.mend.running_sums import hours_of_running_sums
from emcforecast.weather.repairs import Repair, RepairKind, repair

ORIGIN = Origin(
    "ERA5",
    "ERA5 (ECMWF, Copernicus)",
    "Copernicus licence (CC BY 4.0)",
    "Contains modified Copernicus Climate Change Service information (ERA5); neither "
    "the European Commission nor ECMWF is responsible for its use",
    kind="reanalysis",
)
DATASET = "reanalysis-era5-single-levels-timeseries"
ROOT = "https://cds.climate.copernicus.eu/api/retrieve/v1"
ASKED = (
    *("2m_temperature", "2m_dewpoint_temperature", "total_precipitation"),
    *("10m_u_component_of_wind", "10m_v_component_of_wind"),
    "surface_solar_radiation_downwards",
)


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a place and the whole span in one job."""
    inputs = {
        "variable": list(ASKED),
        "location": {
            "latitude": round(place.latitude, 2),
            "longitude": round(place.longitude, 2),
        },
        "date": [f"{start.isoformat()}/{end.isoformat()}"],
        "data_format": "csv",
    }
    return [
        Request(
            f"{ROOT}/processes/{DATASET}/execution",
            label=f"{start.year} to {end.year}",
            last=end,
            body=json.dumps({"inputs": inputs}, sort_keys=True),
        )
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply, the zip or its CSV alone."""
    repairs: list[Repair] = []
    frame = _frame(payload, repairs)
    east, north = numbers(frame, "u10"), numbers(frame, "v10")
    wind = None if east is None or north is None else np.hypot(east, north)
    rain, sun = numbers(frame, "tp"), numbers(frame, "ssrd")
    if rain is not None:
        # Packing leaves amounts a hair below nothing.
        rain = np.where((rain < 0) & (rain > -1e-6), 0.0, rain * 1000.0)
    if sun is not None:
        sun = scaled(np.maximum(sun, 0.0), "J/m2", "shortwave", "ERA5")
    stamps = times(frame["valid_time"])
    rain, sun = (
        _by_hour(stamps, column, name, repairs)
        for name, column in (("tp", rain), ("ssrd", sun))
    )
    return series_of_reports(
        ORIGIN,
        stamps,
        {
            "air_temperature": _kelvin(frame, "t2m", "air_temperature"),
            "dew_point": _kelvin(frame, "d2m", "dew_point"),
            "precipitation": rain,
            "wind_speed": wind,
            "shortwave": sun,
        },
        repairs,
        place_of(
            hints,
            latitude=last_number(frame, "latitude"),
            longitude=last_number(frame, "longitude"),
        ),
        preceding=("precipitation", "shortwave"),
    )


def _frame(payload: bytes, repairs: list[Repair]) -> pd.DataFrame:
    """Read every CSV of the reply and set them side by side by time."""
    if payload.startswith(ZIP):
        box = zip_members(payload, ArchiveError)
        texts = [text for text in box.values() if first_line(text[:4096]).count(",")]
    else:
        texts = [payload]
    frames = []
    for text in texts:
        frame = counted_table(text, repairs, text=("valid_time", "time"))
        frame = frame.rename(columns={"time": "valid_time"})
        if "valid_time" in frame:
            frames.append(frame.drop_duplicates("valid_time").set_index("valid_time"))
    if not frames:
        raise ArchiveError(_("the ERA5 reply holds no table with valid_time"))
    joined = frames[0]
    for frame in frames[1:]:
        new = [name for name in frame.columns if name not in joined.columns]
        joined = joined.join(frame[new], how="outer")
    return joined.reset_index()


def _by_hour(
    stamps: TimeArray, column: FloatArray | None, name: str, repairs: list[Repair]
) -> FloatArray | None:
    """Take apart what the archive's land model adds up over the day."""
    if column is None:
        return None
    hours, running = hours_of_running_sums(stamps, column)
    if running:
        repairs.append(repair(RepairKind.RUNNING_SUMS, variable=name))
    return hours


def _kelvin(frame: pd.DataFrame, column: str, name: str) -> FloatArray | None:
    values = numbers(frame, column)
    if values is None:
        return None
    known = values[np.isfinite(values)]
    if known.size and not 150.0 < float(np.median(known)) < 350.0:
        raise ArchiveError(
            _(
                "ERA5 {column} is not in kelvin (middle value {median:g}); "
                "use the file as the archive sent it",
                column=column,
                median=np.median(known),
            )
        )
    return scaled(values, "K", name, "ERA5")


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    start = first_member(head) if head.startswith(ZIP) else head
    columns = first_line(start).split(",")
    return bool({"valid_time", "time"} & set(columns)) and bool(
        {"t2m", "d2m", "tp", "u10", "ssrd", "sp"} & set(columns)
    )


ARCHIVE = Archive(
    id="era5",
    title="ERA5 at a point (Copernicus climate data store)",
    by="place",
    coverage="whole world, 1940 to about five days ago, 25 km grid",
    since=1940,
    variables=MODELLED,
    origin=ORIGIN,
    limits="a free account and its key; jobs wait in a queue",
    requests=requests,
    parse=parse,
    pause=1.0,
    key="EMCFORECAST_CDS_KEY",
)
