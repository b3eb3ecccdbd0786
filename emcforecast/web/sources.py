"""Weather by the names that addresses use, and the files a visitor may choose."""

import hashlib
import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from emcforecast.errors import InputError, WeatherError
from emcforecast.language import _
from emcforecast.weather.hints import SAID_OF_A_FILE
from emcforecast.weather.quantities import quantity_name
from emcforecast.web.serving import Serving

if TYPE_CHECKING:
    import xarray as xr

ENDINGS = (".csv", ".txt", ".epw", ".nc", ".json", ".zip", ".gz", ".tsv", ".dat")
NUMBERS = ("latitude", "longitude", "elevation", "utc_offset")
WORDS = ("temperature_unit", "humidity_unit", "wind_unit", "precipitation_unit")
HELD = 3
_UPLOAD = re.compile(r"[0-9a-f]{24}")
_PLACE = re.compile(r"[\w .,'’-]{1,80}")
MOST_FILES = 200


@dataclass(frozen=True)
class Source:
    """Weather as an address names it.

    Parameters
    ----------
    name : str
        "demo", "file:NAME", "upload:CODE" or "ARCHIVE:PLACE".
    read_from : str or Path
        What `read_weather` is given.
    hints : mapping
        What helps read it.
    mark : str
        Changes when the weather does.
    """

    name: str
    read_from: str | Path
    hints: Mapping[str, Any]
    mark: str


class Sources:
    """The weather one server may read, a few series held in memory."""

    def __init__(self, serving: Serving) -> None:
        """Take what may be read from how the server is set up."""
        self._folder = serving.folder
        self._uploads = serving.keep / "uploads"
        self._held: OrderedDict[str, xr.Dataset] = OrderedDict()
        self._lock = threading.Lock()

    def files(self) -> list[str]:
        """Return the names of the weather files that may be chosen."""
        if self._folder is None:
            return []
        return sorted(
            path.name
            for path in self._folder.iterdir()
            if path.suffix.lower() in ENDINGS and self._is_inside(path)
        )[:MOST_FILES]

    def find(self, name: str, asked: Mapping[str, str]) -> Source:
        """Return the weather of a name.

        Parameters
        ----------
        name : str
            As the address has it.
        asked : mapping of str to str
            The fields of the address; those of `SAID_OF_A_FILE` are taken.

        Raises
        ------
        InputError
            When there is no such weather, or a hint is not understood.
        """
        hints = hints_of(asked)
        head, colon, rest = name.strip().partition(":")
        if head == "demo" and not colon:
            return Source("demo", "demo", {}, "demo")
        if head == "file":
            if rest not in self.files() or self._folder is None:
                raise WeatherError(
                    _(
                        "{rest!r}: the server's folder has no such weather file; "
                        "choose one of the list",
                        rest=rest[:60],
                    )
                )
            return _of_file(name, self._folder / rest, hints)
        if head == "upload":
            return _of_file(name, self.uploaded(rest), hints)
        from emcforecast.weather.archives.registry import ARCHIVES

        if head not in ARCHIVES or not _PLACE.fullmatch(rest):
            raise WeatherError(
                _(
                    "weather {name!r} is not known; choose the demonstration, a "
                    "file, or an archive and a place",
                    name=name[:60],
                )
            )
        return Source(name, f"{head}:{rest.strip()}", hints, f"{date.today()}")

    def uploaded(self, code: str) -> Path:
        """Return the file of an upload.

        Raises
        ------
        WeatherError
            When it is not there, or not any more.
        """
        found = list(self._uploads.glob(f"{code}-*")) if _UPLOAD.fullmatch(code) else []
        if len(found) != 1:
            raise WeatherError(
                _("this uploaded file is not here any more; upload it again")
            )
        return found[0]

    def read(
        self, source: Source, progress: Callable[[int, int, str], None] | None = None
    ) -> "xr.Dataset":
        """Read the weather, or return it where it was read before.

        Raises
        ------
        WeatherError
            When the file is refused, with what to do.
        """
        from emcforecast.weather.read import read_weather

        key = f"{source.name}\n{sorted(source.hints.items())}\n{source.mark}"
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key]
        series = read_weather(source.read_from, progress=progress, **source.hints)
        with self._lock:
            self._held[key] = series
            while len(self._held) > HELD:
                self._held.popitem(last=False)
        return series

    def _is_inside(self, path: Path) -> bool:
        """Tell whether it is a plain file of the folder, links out of it followed."""
        folder = self._folder
        real = path.resolve()
        return (
            folder is not None and real.is_file() and folder.resolve() in real.parents
        )


def hints_of(asked: Mapping[str, str]) -> dict[str, Any]:
    """Return what helps read a file, checked.

    Raises
    ------
    WeatherError
        For a number that is none, or a value that is not allowed.
    """
    from emcforecast.weather.hints import make_hints

    hints: dict[str, Any] = {}
    for name in SAID_OF_A_FILE:
        text = asked.get(name, "").strip()
        if not text:
            continue
        if name in NUMBERS:
            hints[name] = number(name, text)
        elif name == "day_first":
            hints[name] = text == "yes"
        else:
            hints[name] = text
    make_hints(**hints)
    return hints


def number(name: str, text: str) -> float:
    """Read a number a person typed, with a point or a comma.

    Raises
    ------
    InputError
        When it is none.
    """
    tidy = text.strip().removesuffix("%").strip().replace(",", ".")
    if not re.fullmatch(r"[-+]?\d{1,9}(\.\d{1,12})?", tidy):
        raise InputError(
            _(
                "{name} {text!r} is not a number; write it like 12 or 12.5",
                name=quantity_name(name),
                text=text,
            )
        )
    return float(tidy)


def _of_file(name: str, path: Path, hints: Mapping[str, Any]) -> Source:
    try:
        stat = path.stat()
    except OSError as error:
        raise WeatherError(
            _("{file}: cannot be read; choose another", file=path.name)
        ) from error
    text = f"{path.name}\n{stat.st_size}\n{stat.st_mtime_ns}"
    return Source(name, path, hints, hashlib.sha256(text.encode()).hexdigest()[:16])
