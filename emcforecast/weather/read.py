"""Read weather from any file it may come in, recognised by its content."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.files import contents, is_file, is_folder, open_plain, unopened
from emcforecast.language import N_, _
from emcforecast.tables import path as table_path
from emcforecast.weather.formats.content import (
    ZIP,
    describe_unknown,
    unpack,
    whole,
    zip_members,
)
from emcforecast.weather.hints import HEAD, Format, Hints, make_hints
from emcforecast.weather.mend.gaps import fill_gaps
from emcforecast.weather.repairs import RepairKind, add_repairs, repair
from emcforecast.weather.series import make_series

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
        file has them, along UTC ``time``; `emcforecast.weather.repairs.repairs_of`
        gives every repair.

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
    given = make_hints(**hints)
    if gaps not in ("fill", "keep"):
        raise WeatherError(_("gaps {gaps!r} is not known; 'fill' or 'keep'", gaps=gaps))
    parts = _parts(path)

    def read(part: str | Path) -> xr.Dataset:
        return _read_part(part, given, progress)

    if len(parts) == 1:
        series = read(parts[0])
    else:
        from emcforecast.weather.several import read_several

        several = read_several(parts, read, given, progress)
        series = _with_forecast_marked(several, given)
    if gaps == "keep":
        return series
    with _naming(_name_of(parts)):
        return fill_gaps(series)


def _parts(path: str | Path | Sequence[str | Path]) -> list[str | Path]:
    """Return the one thing or the several that the words for weather name."""
    if isinstance(path, str):
        if not path.strip():
            raise WeatherError(_("'' names no file; give a weather file, or 'demo'"))
        several = set(path) & set("+*?[") or is_folder(path)
        if not several or is_file(path):
            return [path]
        from emcforecast.weather.several import name_files

        return [*name_files(path, lambda word: word == DEMO or _is_address(word))]
    if isinstance(path, Path):
        return _parts(str(path)) if is_folder(path) else [path]
    if not path:
        raise WeatherError(_("no file is named; give a weather file, or 'demo'"))
    return [name for item in path for name in _parts(item)]


def _name_of(parts: Sequence[str | Path]) -> str:
    names = [str(part) if _is_word(part) else Path(part).name for part in parts]
    return " and ".join(names) if len(names) < 3 else f"{names[0]} to {names[-1]}"


def _is_word(part: str | Path) -> bool:
    return isinstance(part, str) and (part == DEMO or _is_address(part))


def _read_part(part: str | Path, hints: Hints, progress: Progress | None) -> xr.Dataset:
    if isinstance(part, str) and part == DEMO:
        return demonstration()
    if isinstance(part, str) and _is_address(part):
        from emcforecast.weather.fetch import fetch_address

        return fetch_address(part, progress=progress, **vars(hints))
    return _with_forecast_marked(_read_one(Path(part), hints), hints)


def _with_forecast_marked(series: xr.Dataset, hints: Hints) -> xr.Dataset:
    """Mark hours after now, which no file can hold but as a forecast."""
    from emcforecast.weather.mend.merge import (
        FORECAST_FROM,
        mark_forecast,
        note_far_future,
    )

    if hints.forecast_from is not None:
        return mark_forecast(series, np.datetime64(hints.forecast_from, "h"))
    if FORECAST_FROM in series.attrs:
        return series
    marked = mark_forecast(series)
    return marked if FORECAST_FROM in marked.attrs else note_far_future(marked)


def read_logger(path: str | Path, **hints: object) -> xr.Dataset:
    """Read a temperature-humidity logger, gaps left as gaps.

    Arguments are those of `read_weather`. Hourly, of kind "logger", NaN where nothing
    was logged.
    """
    hints = {"kind": "logger", **hints}
    return read_weather(path, gaps="keep", progress=None, **hints)


def _read_one(path: Path, hints: Hints) -> xr.Dataset:
    from emcforecast.weather.formats import netcdf

    try:
        with open_plain(path, WeatherError) as file:
            is_netcdf = netcdf.is_netcdf(file.read(8), path.name)
        if is_netcdf:
            # Read where it lies: it may be too big for memory.
            with _naming(path.name), whole(_("the {format}", format="NetCDF file")):
                return netcdf.read_netcdf_path(path, hints)
        data = contents(path, WeatherError)
    except FileNotFoundError as error:
        # A word alone is perhaps a place's name.
        is_word = not path.suffix and path.name == str(path)
        place = path.name if is_word else "46.1,7.2"
        raise WeatherError(
            _(
                "{path}: no such file; give a weather file, demo, or an "
                "archive and place, such as open-meteo:{place}",
                path=path,
                place=place,
            )
        ) from error
    except IsADirectoryError as error:
        raise WeatherError(
            _("{path}: a folder; give one weather file in it", path=path)
        ) from error
    except OSError as error:
        raise WeatherError(unopened(path, error)) from error
    return read_bytes(data, path.name, hints)


def _is_address(text: str) -> bool:
    """Return whether it is "archive:place"; archives are not loaded for a file."""
    if ":" not in text or is_file(text) or is_folder(text):
        return False
    from emcforecast.weather.fetch import is_archive_address

    return is_archive_address(text)


@contextmanager
def _naming(name: str) -> Iterator[None]:
    """Put the file's name before the reason of a refusal."""
    try:
        yield
    except (WeatherError, ArchiveError) as error:
        raise type(error)(f"{name}: {error}") from error


def read_bytes(data: bytes, name: str, hints: Hints) -> xr.Dataset:
    """Read the content of a weather file.

    The content may be packed; `name` is what to call it in messages. Gaps are still
    gaps. Raises `WeatherError` when it cannot be used.
    """
    with _naming(name):
        return _read_packed(data, name, name, hints)


DEEPEST = 3
"""A zip in a zip in a zip is as far as weather is packed."""


def _read_packed(
    data: bytes, name: str, shown: str, hints: Hints, depth: int = 0
) -> xr.Dataset:
    """Read content packed or not; `shown` is what its source is to be called."""
    data = unpack(data)
    if not data[:HEAD].strip():
        raise WeatherError(_("the file is empty; give a weather file"))
    found = recognise(data[:HEAD], name)
    if found is None and data.startswith(ZIP):
        return _read_zip(data, shown, hints, depth)
    if found is None:
        what = describe_unknown(data)
        unlike = N_(
            "not a weather format that is known; give CSV, EPW, TMY3, PVGIS, NetCDF, "
            "or the saved reply of an archive"
        )
        like = N_(
            "not a weather format that is known: {what}; give CSV, EPW, TMY3, PVGIS, "
            "NetCDF, or the saved reply of an archive"
        )
        raise WeatherError(_(like if what else unlike, what=what))
    with whole(_("the {format}", format=found.name)):
        series = found.read(data, hints)
    if found.is_unnamed:
        series.attrs["source"] = f"{series.attrs['source']} {shown}"
    return series


def recognise(head: bytes, name: str) -> Format | None:
    """Return the first format that recognises the beginning of a file."""
    return next((fmt for fmt in all_formats() if fmt.sniff(head, name)), None)


def all_formats() -> tuple[Format, ...]:
    """Return every known format, the most particular first."""
    from emcforecast.weather.archives.registry import FORMATS as REPLIES
    from emcforecast.weather.formats import csv, netcdf, typical

    return (*typical.FORMATS, *REPLIES, netcdf.FORMAT, csv.FORMAT)


def _read_zip(data: bytes, shown: str, hints: Hints, depth: int) -> xr.Dataset:
    """Read the one weather file within a zip."""
    if depth == DEEPEST:
        raise WeatherError(_("zips in zips without end; give the weather file itself"))
    held = zip_members(data)
    members = dict(sorted(held.items(), key=lambda item: -len(item[1])))
    if hints.sheet is not None:
        if hints.sheet not in members:
            raise WeatherError(
                _(
                    "no '{sheet}' inside; it holds {members}",
                    sheet=hints.sheet,
                    members=", ".join(members)[:200],
                )
            )
        members = {hints.sheet: members[hints.sheet]}
    read: dict[str, xr.Dataset] = {}
    reasons: list[WeatherError | ArchiveError] = []
    for member, content in members.items():
        try:
            with _naming(member):
                read[member] = _read_packed(content, member, shown, hints, depth + 1)
        except (WeatherError, ArchiveError) as error:
            reasons.append(error)
    if len(read) > 1:
        raise WeatherError(
            _(
                "{count} weather files inside ({read}); choose one with "
                "--sheet, or unpack years of one place into a folder and "
                "give that",
                count=len(read),
                read=", ".join(read)[:160],
            )
        )
    if not read:
        raise reasons[0] if reasons else WeatherError(_("the zip is empty"))
    (member, series), *_rest = read.items()
    others = [other for other in members if other != member]
    if not others:
        return series
    beside = repair(
        RepairKind.FILES_BESIDE, others=", ".join(others)[:60], member=member
    )
    return add_repairs(series, beside)


FIRST_HOUR = np.datetime64("2007-01-01T00", "ns")

_FILE = "demonstration.npz"
# what one stored step stands for
_SCALE = {
    "air_temperature": 0.1,
    "relative_humidity": 0.1,
    "precipitation": 0.1,
    "wind_speed": 0.1,
    "shortwave": 1.0,
}


def demonstration() -> xr.Dataset:
    """Return twelve years of hourly weather of the demonstration place.

    Kind ``"demonstration"``: 2007 to 2018 in UTC, leap days included, temperature (°C),
    relative humidity (%), precipitation (mm an hour), wind at 10 m (m/s) and sun
    (W/m²). Resolution 0.1, the sun's 1.

    Notes
    -----
    Made by ``data/demonstration/generate.py`` from a seed; no station has measured
    it. How it compares with measured years of central Europe is described in
    ``docs/demonstration.md``. Stored as first differences in 16-bit integers.

    Examples
    --------
    >>> ds = demonstration()
    >>> ds.sizes["time"], ds.attrs["kind"]
    (105192, 'demonstration')
    """
    with np.load(table_path(_FILE)) as packed:
        variables = {
            name: np.cumsum(packed[name], dtype=np.int16) * scale
            for name, scale in _SCALE.items()
        }
    hours = len(variables["air_temperature"])
    return make_series(
        FIRST_HOUR + np.arange(hours) * np.timedelta64(1, "h"),
        variables,
        step="hour",
        kind="demonstration",
        source="Kalvenau, an invented valley; made weather, not measured",
        licence="CC0-1.0",
        attribution="Invented weather, made from a seed for demonstration",
        latitude=46.1,
        longitude=15.2,
        elevation=300.0,
        utc_offset=1.0,
    )
