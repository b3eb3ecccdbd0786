"""Places by name, through the search of Open-Meteo (names of GeoNames)."""

from __future__ import annotations

from dataclasses import dataclass, replace

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.open_meteo import ARCHIVE
from emcforecast.weather.archives.payload import document
from emcforecast.weather.archives.record import Archive, Place, Request

CREDIT = "Place names from GeoNames (https://www.geonames.org/), CC BY 4.0"
#: Who is asked, for the pace and the messages.
SEARCH: Archive = replace(ARCHIVE, id="places", title="the search for places")


@dataclass(frozen=True)
class Found:
    """A place found by name.

    Attributes
    ----------
    name, region, country : str
        What it is called and where it lies.
    latitude, longitude : float
        Degrees north and east.
    elevation : float or None
        Height above the sea (m).
    population : int or None
        How many live there.
    """

    name: str
    region: str
    country: str
    latitude: float
    longitude: float
    elevation: float | None
    population: int | None

    def words(self) -> str:
        """Say it in one line.

        Returns
        -------
        str
            Coordinates to copy, then the name.
        """
        where = ", ".join(part for part in (self.region, self.country) if part)
        height = "" if self.elevation is None else f", {self.elevation:.0f} m"
        return (
            f"{self.latitude:.4f},{self.longitude:.4f}  {self.name} ({where}{height})"
        )

    def place(self) -> Place:
        """Return it as a place to ask weather for.

        Returns
        -------
        Place
            The same place.
        """
        return Place(
            self.latitude, self.longitude, elevation=self.elevation, name=self.name
        )


def places_request(name: str) -> Request:
    """Ask for places of a name.

    Parameters
    ----------
    name : str
        At least two letters.

    Returns
    -------
    Request
        What to ask.

    Raises
    ------
    ArchiveError
        For a name too short to search.
    """
    if len(name.strip()) < 2:
        raise ArchiveError(f"place {name!r} is too short; give a name or LAT,LON")
    return Request(
        "https://geocoding-api.open-meteo.com/v1/search",
        (
            ("name", name.strip()),
            ("count", "10"),
            ("language", "en"),
            ("format", "json"),
        ),
        label=f"for {name.strip()!r}",
    )


def parse_places(payload: bytes) -> list[Found]:
    """Read the reply; nothing found is an empty list.

    Parameters
    ----------
    payload : bytes
        The reply.

    Returns
    -------
    list of Found
        The likeliest first.

    Raises
    ------
    ArchiveError
        When it is no such reply.
    """
    reply = document(payload, "place search")
    if not isinstance(reply, dict) or "generationtime_ms" not in reply:
        raise ArchiveError("the place search sent something else; try again later")
    try:
        return [
            Found(
                str(item["name"]),
                str(item.get("admin1", "")),
                str(item.get("country", "")),
                float(item["latitude"]),
                float(item["longitude"]),
                item.get("elevation"),
                item.get("population"),
            )
            for item in reply.get("results", [])
        ]
    except (KeyError, TypeError, ValueError) as error:
        raise ArchiveError(
            f"a place of the search lacks {error}; give LAT,LON instead"
        ) from error
