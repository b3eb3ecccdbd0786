"""Every archive, and how a saved reply of each is recognised by its content."""

from __future__ import annotations

from collections.abc import Callable

import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.language import _, did_you_mean
from emcforecast.weather.archives import (
    dwd,
    eccc,
    era5,
    ghcnh,
    iem,
    isd,
    lcd,
    meteostat,
    normals,
    open_meteo,
    power,
)
from emcforecast.weather.archives.raw import series_of
from emcforecast.weather.archives.record import Archive
from emcforecast.weather.hints import Format, Hints

ARCHIVES: dict[str, Archive] = {
    "open-meteo": open_meteo.ARCHIVE,
    "open-meteo-forecast": open_meteo.FORECAST,
    "nasa-power": power.HOURLY,
    "nasa-power-daily": power.DAILY,
    "nasa-power-monthly": power.MONTHLY,
    "nasa-power-normals": power.CLIMATOLOGY,
    "era5": era5.ARCHIVE,
    "ghcnh": ghcnh.ARCHIVE,
    "global-hourly": isd.ARCHIVE,
    "isd-lite": isd.LITE,
    "lcd": lcd.ARCHIVE,
    "hourly-normals": normals.ARCHIVE,
    "iem-asos": iem.ARCHIVE,
    "meteostat": meteostat.ARCHIVE,
    "dwd": dwd.ARCHIVE,
    "eccc": eccc.ARCHIVE,
}


def _reader(
    parse: Callable[[bytes, Hints], xr.Dataset],
) -> Callable[[bytes, Hints], xr.Dataset]:
    def read(data: bytes, hints: Hints) -> xr.Dataset:
        return series_of(parse(data, hints), hints)

    return read


FORMATS: tuple[Format, ...] = (
    Format("Open-Meteo reply", open_meteo.sniff, _reader(open_meteo.parse)),
    Format("NASA POWER reply", power.sniff, _reader(power.parse)),
    Format("NOAA GHCNh file", ghcnh.sniff, _reader(ghcnh.parse)),
    Format("NOAA LCD file", lcd.sniff, _reader(lcd.parse)),
    Format("NOAA hourly normals", normals.sniff, _reader(normals.parse)),
    Format("NOAA global-hourly file", isd.sniff, _reader(isd.parse)),
    Format("NOAA ISD file", isd.sniff_fixed, _reader(isd.parse_fixed)),
    Format("NOAA ISD-lite file", isd.sniff_lite, _reader(isd.parse_lite)),
    Format("Iowa State ASOS reply", iem.sniff, _reader(iem.parse)),
    Format("Meteostat file", meteostat.sniff, _reader(meteostat.parse)),
    Format("DWD station file", dwd.sniff, _reader(dwd.parse)),
    Format("Environment Canada file", eccc.sniff, _reader(eccc.parse)),
    Format("ERA5 point series", era5.sniff, _reader(era5.parse)),
)


def archive_named(name: str) -> Archive:
    """Return an archive by its short name.

    Examples
    --------
    >>> archive_named("isd-lite").step
    'hour'
    """
    found = ARCHIVES.get(name.strip().lower())
    if found is None:
        raise ArchiveError(
            _(
                "archive {name!r} is not known.{near} `emcforecast archives` "
                "lists them",
                name=name,
                near=did_you_mean(name, list(ARCHIVES)),
            )
        )
    return found
