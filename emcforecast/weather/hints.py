"""What a reader of weather files is given and gives: hints, and what a format is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import TYPE_CHECKING

from emcforecast import bounds
from emcforecast.errors import WeatherError
from emcforecast.language import _, did_you_mean

if TYPE_CHECKING:
    import xarray as xr


@dataclass(frozen=True)
class Hints:
    """What the person says about a file because the file does not.

    Attributes
    ----------
    latitude, longitude : float, optional
        Place (degrees north, east).
    elevation : float, optional
        Height above the sea (m).
    utc_offset : float, optional
        Hours by which the file's clock is ahead of UTC (local standard time).
    day_first : bool, optional
        True for 31/12/2024, False for 12/31/2024.
    temperature_unit : {"C", "F", "K"}, optional
        Unit of temperatures whose unit the file does not state.
    humidity_unit : {"percent", "fraction"}, optional
        Unit of relative humidity.
    wind_unit : {"m/s", "km/h", "mph", "kn"}, optional
        Unit of wind speed.
    precipitation_unit : {"mm", "in"}, optional
        Unit of precipitation.
    stamp : {"start", "end"}, optional
        Whether a time names the start or the end of its interval.
    place : str, optional
        Which place of a file that holds several.
    sheet : str, optional
        Which member of an archive file that holds several.
    kind : str, optional
        What the weather is, when the person knows better (such as "logger").
    forecast_from : str, optional
        UTC hour (ISO) from which on the rows are a weather forecast, not a record;
        hours after the clock's are always taken so.
    columns : tuple of (str, str) pairs, optional
        Column of the file for a variable: ``(("air_temperature", "T_out"),)``.
    """

    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    utc_offset: float | None = None
    day_first: bool | None = None
    temperature_unit: str | None = None
    humidity_unit: str | None = None
    wind_unit: str | None = None
    precipitation_unit: str | None = None
    stamp: str | None = None
    place: str | None = None
    sheet: str | None = None
    kind: str | None = None
    forecast_from: str | None = None
    columns: tuple[tuple[str, str], ...] = field(default=())

    def __post_init__(self) -> None:
        """Refuse impossible hints."""
        for name, allowed in _CHOICES.items():
            value = getattr(self, name)
            if value is not None and value not in allowed:
                raise WeatherError(
                    _(
                        "{name} {value!r} is not known; one of {allowed}",
                        name=name,
                        value=value,
                        allowed=", ".join(allowed),
                    )
                )
        for name, limits in bounds.PLACE.items():
            value = getattr(self, name)
            if value is not None and not bounds.within(value, limits):
                raise WeatherError(
                    _(
                        "{name} {value:g} is not within {allowed}",
                        name=name,
                        value=value,
                        allowed=bounds.spoken(limits),
                    )
                )
        if self.forecast_from is not None:
            try:
                datetime.fromisoformat(self.forecast_from)
            except ValueError:
                raise WeatherError(
                    _(
                        "forecast_from {forecast_from!r} is no time; write "
                        "year-month-dayThour in UTC, such as 2026-05-01T06",
                        forecast_from=self.forecast_from,
                    )
                ) from None


_CHOICES = {
    "temperature_unit": ("C", "F", "K"),
    "humidity_unit": ("percent", "fraction"),
    "wind_unit": ("m/s", "km/h", "mph", "kn"),
    "precipitation_unit": ("mm", "in"),
    "stamp": ("start", "end"),
}


SAID_OF_A_FILE = tuple(
    item.name
    for item in fields(Hints)
    if item.name not in ("kind", "forecast_from", "columns")
)
"""Hints that a person gives by one word or number each."""


def make_hints(**given: object) -> Hints:
    """Return hints, naming the nearest when one is unknown.

    `columns` may be a mapping. Raises `WeatherError` for an unknown hint or value.

    Examples
    --------
    >>> make_hints(latitude=45.0).latitude
    45.0
    """
    known = [item.name for item in fields(Hints)]
    for name in given:
        if name not in known:
            raise WeatherError(
                _(
                    "'{name}' is not a hint for reading weather.{near} Known: {known}",
                    name=name,
                    near=did_you_mean(name, known),
                    known=", ".join(known),
                )
            )
    columns = given.get("columns")
    if isinstance(columns, dict):
        given["columns"] = tuple(sorted(columns.items()))
    elif columns is None:
        given.pop("columns", None)
    return Hints(**given)  # type: ignore[arg-type]


#: How much of a file a format may look at to recognise itself (bytes).
HEAD = 65536


@dataclass(frozen=True)
class Format:
    """One kind of weather file.

    Attributes
    ----------
    name : str
        What it is, in words a person knows.
    sniff : callable
        ``sniff(head, name) -> bool`` from the first `HEAD` bytes, unpacked; the
        file's name is given but is never enough.
    read : callable
        ``read(data, hints) -> Dataset``: the whole content to a weather series.
    is_unnamed : bool
        Whether its content does not say what it is of, so that its source is the
        name of the file.
    """

    name: str
    sniff: Callable[[bytes, str], bool]
    read: Callable[[bytes, Hints], xr.Dataset]
    is_unnamed: bool = False
