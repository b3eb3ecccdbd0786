"""Read weather from any file it may come in, recognised by its content."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.weather.formats.format import HEAD, Format
from emcforecast.weather.formats.registry import all_formats
from emcforecast.weather.formats.unknown import what_it_is
from emcforecast.weather.formats.unpack import is_zip, unwrapped, zip_members
from emcforecast.weather.hints import Hints, make_hints
from emcforecast.weather.mend.gaps import fill_gaps

if TYPE_CHECKING:
    import xarray as xr

Progress = Callable[[int, int, str], None]

DEMO = "demo"
"""The name that means the packed demonstration weather."""


def read_weather(
    path: str | Path | Sequence[str | Path],
    *,
    gaps: str = "fill",
    progress: Progress | None = None,
    **hints: object,
) -> xr.Dataset:
    """Read a weather file into a weather series.

    Parameters
    ----------
    path : str, pathlib.Path or a sequence of them
        A file of any known format, plain or compressed; "demo" for the demonstration
        place; an archive's address ("ghcnh:USW00013967"). Several files of one place
        as a sequence, a folder, a pattern ("data/*.csv") or joined by "+": years after
        one another, temperature and humidity apart, or observations and a reanalysis
        that fills them.
    gaps : {"fill", "keep"}
        Fill what is missing (and refuse months with too much missing), or leave NaN.
    progress : callable, optional
        ``progress(done, of, label)`` before each year asked of an archive, or each of
        several files.
    **hints
        Fields of `emcforecast.weather.hints.Hints`: ``latitude``,
        ``longitude`` (degrees north, east), ``elevation`` (m), ``utc_offset`` (h),
        ``day_first``, ``temperature_unit`` ("C", "F", "K"), ``humidity_unit``
        ("percent", "fraction"), ``columns`` and so on, for what the file does not say.

    Returns
    -------
    xarray.Dataset
        The weather series: ``air_temperature`` (°C), ``relative_humidity`` (%), and
        ``precipitation`` (mm), ``wind_speed`` (m/s), ``shortwave`` (W/m²) where the
        file has them, along UTC ``time``; every repair in ``attrs["repairs"]``.

    Raises
    ------
    WeatherError
        With the reason and what to do, when the file cannot be used.

    Examples
    --------
    >>> weather = read_weather("demo")
    >>> weather.attrs["step"], weather.sizes["time"] // 8766
    ('hour', 12)
    """
    said = make_hints(**hints)
    if gaps not in ("fill", "keep"):
        raise WeatherError(f"gaps {gaps!r} is not known; 'fill' or 'keep'")
    parts = _parts(path)

    def read(part: str | Path) -> xr.Dataset:
        return _read_part(part, said, progress)

    if len(parts) == 1:
        series = read(parts[0])
    else:
        from emcforecast.weather.several import read_several

        several = read_several(parts, read, said, progress)
        series = _ahead_marked(several, said)
    if gaps == "keep":
        return series
    return _named(_name_of(parts), lambda: fill_gaps(series))


def _parts(path: str | Path | Sequence[str | Path]) -> list[str | Path]:
    """Return the one thing or the several that the words for weather name."""
    if isinstance(path, str):
        if not path.strip():
            raise WeatherError("'' names no file; give a weather file, or 'demo'")
        several = set(path) & set("+*?[") or _is_folder(path)
        if not several or Path(path).is_file():
            return [path]
        from emcforecast.weather.several import files_named

        return [*files_named(path, lambda word: word == DEMO or _is_address(word))]
    if isinstance(path, Path):
        return _parts(str(path)) if _is_folder(path) else [path]
    if not path:
        raise WeatherError("no file is named; give a weather file, or 'demo'")
    return [name for item in path for name in _parts(item)]


def _is_folder(path: str | Path) -> bool:
    return Path(path).is_dir()


def _name_of(parts: Sequence[str | Path]) -> str:
    names = [str(part) if _is_word(part) else Path(part).name for part in parts]
    return " and ".join(names) if len(names) < 3 else f"{names[0]} to {names[-1]}"


def _is_word(part: str | Path) -> bool:
    return isinstance(part, str) and (part == DEMO or _is_address(part))


def _read_part(part: str | Path, hints: Hints, progress: Progress | None) -> xr.Dataset:
    if isinstance(part, str) and part == DEMO:
        from emcforecast.weather.demo import demonstration

        return demonstration()
    if isinstance(part, str) and _is_address(part):
        from emcforecast.weather.addresses import fetch_address

        return fetch_address(part, progress=progress, **vars(hints))
    return _ahead_marked(_read_one(Path(part), hints), hints)


def _ahead_marked(series: xr.Dataset, hints: Hints) -> xr.Dataset:
    """Mark hours after now, which no file can hold but as a forecast."""
    from emcforecast.weather.ahead import MARK, far_told, marked

    if hints.forecast_from is not None:
        return marked(series, np.datetime64(hints.forecast_from, "h"))
    if MARK in series.attrs:
        return series
    told = marked(series)
    return told if MARK in told.attrs else far_told(told)


def read_logger(path: str | Path, **hints: object) -> xr.Dataset:
    """Read a temperature-humidity logger, gaps left as gaps.

    Parameters
    ----------
    path : str or pathlib.Path
        The logger's export.
    **hints
        As in `read_weather`.

    Returns
    -------
    xarray.Dataset
        Hourly series of kind "logger", NaN where nothing was logged.
    """
    hints = {"kind": "logger", **hints}
    return read_weather(path, gaps="keep", progress=None, **hints)


def _read_one(path: Path, hints: Hints) -> xr.Dataset:
    try:
        with path.open("rb") as file:
            head = file.read(HEAD)
            found = _recognised(head, path.name)
            if found is not None and found.read_path is not None:
                by_path = found.read_path
                return _named(path.name, lambda: by_path(path, hints))
            data = head + file.read()
    except FileNotFoundError as error:
        raise WeatherError(
            f"{path}: no such file; give a weather file, or 'demo'"
        ) from error
    except IsADirectoryError as error:
        raise WeatherError(f"{path}: a folder; give one weather file in it") from error
    except OSError as error:
        raise WeatherError(f"{path}: cannot be read ({error.strerror})") from error
    return _named(path.name, lambda: read_bytes(data, path.name, hints))


def _is_address(text: str) -> bool:
    """Tell "archive:place" from a file, without loading the archives for a file."""
    if ":" not in text or Path(text).exists():
        return False
    from emcforecast.weather.addresses import is_archive_address

    return is_archive_address(text)


def _named(name: str, read: Callable[[], xr.Dataset]) -> xr.Dataset:
    """Put the file's name before the reason of a refusal, and into the source."""
    try:
        series = read()
    except (WeatherError, ArchiveError) as error:
        text = str(error)
        raise type(error)(text if name in text else f"{name}: {text}") from error
    if series.attrs["source"] == "CSV file":
        series.attrs["source"] = f"CSV file {name}"
    return series


def read_bytes(data: bytes, name: str, hints: Hints) -> xr.Dataset:
    """Read the content of a weather file.

    Parameters
    ----------
    data : bytes
        The content, packed or not.
    name : str
        What to call it in messages.
    hints : Hints
        What the person said.

    Returns
    -------
    xarray.Dataset
        A weather series; gaps are still gaps.

    Raises
    ------
    WeatherError
        When it cannot be used.
    """
    data = unwrapped(data, name)
    if not data[:HEAD].strip():
        raise WeatherError(f"{name}: the file is empty; give a weather file")
    found = _recognised(data[:HEAD], name)
    if found is not None:
        return found.read(data, hints)
    if is_zip(data):
        return _from_zip(data, name, hints)
    raise WeatherError(
        f"{name}: not a weather format that is known{what_it_is(data)}; give CSV, "
        "EPW, TMY3, PVGIS, NetCDF, or the saved reply of an archive"
    )


def _with_company(
    member: str, series: xr.Dataset, members: dict[str, bytes]
) -> xr.Dataset:
    """Say what else lies in a zip whose only weather was read."""
    others = [name for name in members if name != member]
    if others:
        line = f"{', '.join(others)[:60]} in the zip beside {member}: no weather"
        series.attrs["repairs"] = [*series.attrs["repairs"], line]
    return series


def _recognised(head: bytes, name: str) -> Format | None:
    return next((fmt for fmt in all_formats() if fmt.sniff(head, name)), None)


def _from_zip(data: bytes, name: str, hints: Hints) -> xr.Dataset:
    members = zip_members(data, name)
    if hints.sheet is not None:
        if hints.sheet not in members:
            raise WeatherError(
                f"{name}: no '{hints.sheet}' inside; it holds "
                f"{', '.join(members)[:200]}"
            )
        members = {hints.sheet: members[hints.sheet]}
    read: dict[str, xr.Dataset] = {}
    reasons: list[WeatherError | ArchiveError] = []
    for member, content in members.items():
        try:
            read[member] = read_bytes(content, member, hints)
        except (WeatherError, ArchiveError) as error:
            reasons.append(error)
    if len(read) > 1:
        raise WeatherError(
            f"{name}: {len(read)} weather files inside ({', '.join(read)[:160]}); "
            "choose one with --sheet, or unpack years of one place into a folder and "
            "give that"
        )
    if read:
        return _with_company(*next(iter(read.items())), members)
    if reasons:
        raise reasons[0]
    raise WeatherError(f"{name}: the zip is empty")
