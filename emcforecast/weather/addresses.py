"""Addresses such as "open-meteo:46.1,7.2": an archive's weather in place of a file."""

from __future__ import annotations

from datetime import date, timedelta

import xarray as xr

from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.weather.ahead import recent_span, with_forecast
from emcforecast.weather.archives.record import Place
from emcforecast.weather.archives.registry import ARCHIVES, archive_named
from emcforecast.weather.fetch import Progress, fetch_place, last_whole_years
from emcforecast.weather.hints import make_hints
from emcforecast.weather.network.places import find_place
from emcforecast.weather.network.session import Session

#: The archive that forecasts.
AHEAD = "open-meteo-forecast"
#: Archives whose weather goes on with it unasked.
FORECASTING = ("open-meteo",)


def is_archive_address(text: str) -> bool:
    """Tell whether a text names an archive and a place, and not a file.

    Parameters
    ----------
    text : str
        Such as "open-meteo:46.1,7.2" or "ghcnh:USW00013967".

    Returns
    -------
    bool
        True when what stands before the colon is an archive.

    Examples
    --------
    >>> is_archive_address("open-meteo:46.1,7.2"), is_archive_address("C:/a.csv")
    (True, False)
    """
    name, colon, rest = text.partition(":")
    return bool(colon and rest) and name.strip().lower() in ARCHIVES


def ahead_of(
    record: xr.Dataset,
    place: Place,
    *,
    session: Session,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Join the recent days and the weather forecast of a place to its record.

    Parameters
    ----------
    record : xarray.Dataset
        Hourly weather series up to some days ago, missing hours still missing.
    place : Place
        Where; what it lacks is taken from the record.
    session : Session
        Who asks.
    progress : callable, optional
        As in `fetch_place`.

    Returns
    -------
    xarray.Dataset
        The series to the end of the forecast; ``attrs["forecast_from"]`` says where
        the forecast begins.

    Raises
    ------
    ArchiveError, WeatherError
        When there is no forecast to be had, or it cannot be joined.
    """
    latitude, longitude = (
        value if value == value else float(record.attrs.get(name, float("nan")))
        for name, value in (
            ("latitude", place.latitude),
            ("longitude", place.longitude),
        )
    )
    if latitude != latitude or longitude != longitude:
        raise ArchiveError(
            "a weather forecast needs the place: name it by LAT,LON, not by a station"
        )
    first, last = recent_span()
    source = archive_named(AHEAD)
    where = Place(latitude, longitude)
    series = fetch_place(source, where, first, last, session=session, progress=progress)
    return with_forecast(record, series)


def fetch_address(
    text: str,
    *,
    offline: bool = False,
    progress: Progress | None = None,
    **hints: object,
) -> xr.Dataset:
    """Fetch what an address such as "ghcnh:USW00013967" names.

    Parameters
    ----------
    text : str
        Archive, colon, and LAT,LON or a station or a name.
    offline : bool
        Use only what was fetched before.
    progress : callable, optional
        As in `fetch_place`.
    **hints
        As for `read_weather`.

    Returns
    -------
    xarray.Dataset
        The last whole years; of an archive that also forecasts, up to now and with the
        days ahead. Missing hours stay missing.

    Raises
    ------
    ArchiveError, WeatherError
        When it cannot be had.
    """
    name, _, where = text.partition(":")
    record = archive_named(name)
    start, end = last_whole_years()
    if record.kind == "forecast":
        start, end = recent_span()
    heard: list[str] = []
    with Session(offline=offline, say=heard.append) as session:
        place, said = find_place(where, record, session, (start.year, end.year))
        if record.id in FORECASTING:
            end = date.today() - timedelta(days=1)
        known = make_hints(**hints)
        series = fetch_place(
            *(record, place, start, end),
            session=session,
            hints=known,
            progress=progress,
        )
        if record.id in FORECASTING:
            try:
                series = ahead_of(series, place, session=session)
            except (ArchiveError, WeatherError) as error:
                # The record alone still serves; what it lacks is told.
                said = [*said, f"no weather forecast was joined: {error}"]
    series.attrs["repairs"] = [*said, *heard, *series.attrs["repairs"]]
    return series
