"""Iowa State's archive of airport reports (ASOS, AWOS, METAR) from all the world.

Reply: tabs or commas, perhaps after lines of ``#DEBUG``; the clock is in those lines,
UTC when asked for. Names carry the unit: tmpf dwpf °F, tmpc dwpc °C, relh %, sknt
knots, sped mph, p01i inches and p01m mm since the last routine report. M is missing
(or nothing, or null), T a trace. A leading K is dropped from American station codes.
"""

from __future__ import annotations

from datetime import date, timedelta

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
    whole_years,
)
from emcforecast.weather.archives.tables import (
    count_traces,
    counted_table,
    first_text,
    last_number,
    scaled,
    times,
)
from emcforecast.weather.formats.content import bare_start, decode
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair

#: Ours, theirs and the unit the name stands for, the finer first.
NAMES = {
    "air_temperature": (("tmpf", "F"), ("tmpc", "C")),
    "dew_point": (("dwpf", "F"), ("dwpc", "C")),
    "relative_humidity": (("relh", "%"),),
    "precipitation": (("p01m", "mm"), ("p01i", "in")),
    "wind_speed": (("sknt", "kn"), ("sped", "mph")),
}
ABOUT = ("station", "valid", "lat", "lon", "elevation")
MISSING = ("M", "null", "None")
ORIGIN = Origin(
    "Iowa State",
    "Iowa State ASOS archive",
    "free use, credit asked",
    "Airport reports collected by the Iowa Environmental Mesonet, Iowa State "
    "University (https://mesonet.agron.iastate.edu/)",
)


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station, one calendar year a request."""
    code = place.station.upper()
    if len(code) == 4 and code.startswith("K"):
        code = code[1:]
    asked = [("data", name) for name in ("tmpf", "dwpf", "relh", "p01i", "sknt")]
    return [
        Request(
            "https://mesonet.agron.iastate.edu/cgi-bin/request/asos.py",
            (
                ("station", code),
                *asked,
                ("sts", f"{first.isoformat()}T00:00Z"),
                ("ets", f"{(last + timedelta(days=1)).isoformat()}T00:00Z"),
                ("tz", "UTC"),
                ("format", "onlycomma"),
                ("missing", "M"),
                ("latlon", "yes"),
                ("elev", "yes"),
                ("report_type", "3"),
            ),
            label=str(first.year),
            last=last,
        )
        for first, last in whole_years(start, end)
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply in any of its three formats."""
    text = payload
    head = decode(text[:4000]).splitlines()
    skip = sum(line.startswith("#") for line in head)
    _require_utc([line for line in head if line.startswith("#")])
    if len(head) <= skip:
        raise ArchiveError(_("the Iowa State reply is empty; ask for another span"))
    sep = "\t" if "\t" in head[skip] else ","
    names = [name for pairs in NAMES.values() for name, _ in pairs]
    repairs: list[Repair] = []
    frame = counted_table(
        text,
        repairs,
        sep=sep,
        skip=skip,
        columns=(*ABOUT, *names),
        text=("station", "valid", "p01i", "p01m"),
        missing=MISSING,
    )
    frame = _one_station(frame, hints)
    values: dict[str, FloatArray] = {}
    for ours, theirs in NAMES.items():
        hit = next(((n, unit) for n, unit in theirs if n in frame), None)
        if hit is not None:
            column = _plain(frame[hit[0]], repairs)
            values[ours] = scaled(column, hit[1], ours, "Iowa State")
    if len(frame) and not values:
        raise ArchiveError(
            _(
                "the Iowa State reply holds no parsed temperatures "
                "({header}); ask for tmpf, dwpf and relh",
                header=", ".join(_header(head[skip], sep)),
            )
        )
    return series_of_reports(
        ORIGIN,
        times(frame["valid"], "%Y-%m-%d %H:%M"),
        values,
        repairs,
        {
            **place_of(
                hints,
                latitude=last_number(frame, "lat"),
                longitude=last_number(frame, "lon"),
                elevation=last_number(frame, "elevation"),
            ),
            "station": first_text(frame, "station"),
        },
    )


def _header(line: str, sep: str) -> list[str]:
    return [part.strip() for part in line.split(sep)]


def _require_utc(comments: list[str]) -> None:
    for line in comments:
        name, _arrow, zone = line.partition("->")
        if "Time Zone" in name and zone.strip() not in ("UTC", "Etc/UTC", "GMT"):
            raise ArchiveError(
                _(
                    "the Iowa State reply is in {zone} with daylight saving, "
                    "which cannot be undone; ask for tz=UTC",
                    zone=zone.strip(),
                )
            )


def _one_station(frame: pd.DataFrame, hints: Hints) -> pd.DataFrame:
    if not {"station", "valid"} <= set(frame.columns):
        raise ArchiveError(
            _("the Iowa State reply has no station or time; fetch it again")
        )
    codes = [str(code) for code in frame["station"].dropna().unique()]
    if len(codes) <= 1:
        return frame
    if hints.place not in codes:
        raise ArchiveError(
            _(
                "the reply holds {count} stations ({codes}); say which with "
                "--place CODE",
                count=len(codes),
                codes=", ".join(codes[:8]),
            )
        )
    return frame[frame["station"] == hints.place].reset_index(drop=True)


def _plain(column: pd.Series[str], repairs: list[Repair]) -> FloatArray:
    if not pd.api.types.is_numeric_dtype(column):
        trace = column.fillna("").str.strip().isin(["T", "0.0001"])
        count_traces(trace, repairs)
        column = column.where(~trace, "0")
    return pd.to_numeric(column, errors="coerce").to_numpy(dtype=np.float64)


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    start = bare_start(head)
    lines = [line for line in start[:4000].split(b"\n") if not line.startswith(b"#")]
    header = lines[0] if lines else b""
    return header.startswith((b"station,valid", b"station\tvalid")) or (
        start.startswith(b"#DEBUG: Format Typ")
    )


ARCHIVE = Archive(
    id="iem-asos",
    title="Iowa State archive of airport reports",
    coverage="airports of the world, 1928 to the present",
    since=1928,
    origin=ORIGIN,
    limits="no key; one request a second",
    requests=requests,
    parse=parse,
    pause=1.0,
)
