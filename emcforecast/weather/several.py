"""Several files of one place -> one weather series: years, halves, or a filler."""

from __future__ import annotations

import glob
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.files import contents, is_file, is_folder, unopened
from emcforecast.language import _
from emcforecast.weather.formats.content import looks_like_text, unpack, whole
from emcforecast.weather.formats.csv import parse_csv
from emcforecast.weather.formats.netcdf import is_netcdf, parse_netcdf
from emcforecast.weather.formats.netcdf_axes import distance_km
from emcforecast.weather.formats.parsed import Parsed, series_of_parsed
from emcforecast.weather.hints import HEAD, Hints
from emcforecast.weather.mend.merge import join_forecast, merge_weather
from emcforecast.weather.mend.quality import gather, hourly_grid
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import (
    Repair,
    RepairKind,
    add_counts,
    repair,
    repairs_of,
)
from emcforecast.weather.series import ONE_YEAR_KINDS, VARIABLES

HOUR = np.timedelta64(1, "h")
FARTHEST_KM = 50.0
"""Files of places farther apart are not of one place."""
MANY = 1000
"""More files than this in a folder are hardly weather of one place."""
APART = 4
"""Temperature, humidity and what else may come apart: no more files than this."""
SHOWN = 4
"""How many names are written out."""
Read = Callable[[str | Path], xr.Dataset]


def read_apart(paths: Sequence[Path], hints: Hints) -> xr.Dataset:
    """Read files that hold temperature and humidity apart."""
    parts = []
    for path in paths:
        try:
            packed = contents(path, WeatherError)
        except OSError as error:
            raise WeatherError(unopened(path, error)) from error
        try:
            data = unpack(packed)
            with whole(_("the file")):
                parts.append(_parsed(data, path.name, hints))
        except WeatherError as error:
            raise WeatherError(f"{path.name}: {error}") from error
    names = " and ".join(path.name for path in paths)
    return series_of_parsed(joined(parts), hints, f"files {names}")


def _parsed(data: bytes, name: str, hints: Hints) -> Parsed:
    if is_netcdf(data[:HEAD], name):
        return parse_netcdf(data, hints, partial=True)
    if looks_like_text(data[:HEAD]):
        return parse_csv(data, hints, partial=True)
    raise WeatherError(_("neither CSV nor NetCDF, so it cannot be joined"))


def joined(parts: Sequence[Parsed]) -> Parsed:
    """Join what several tables hold on common times."""
    steps = {part.step for part in parts}
    if len(steps) != 1:
        raise WeatherError(
            _(
                "the files have different steps ({known}); give files of one step",
                known=", ".join(sorted(steps)),
            )
        )
    step = steps.pop()
    for name in ("air_temperature", "relative_humidity", "dew_point"):
        if sum(name in part.quantities for part in parts) > 1:
            raise WeatherError(
                _(
                    "more than one of the files holds {name}; give one with "
                    "temperature and one with humidity",
                    name=quantity_name(name),
                )
            )
    unit = "h" if step == "hour" else "D"
    begin = min(part.time.min() for part in parts).astype(f"datetime64[{unit}]")
    end = max(part.time.max() for part in parts).astype(f"datetime64[{unit}]")
    size = int((end - begin).astype(np.int64)) + 1
    axis = begin + np.arange(size)
    values: dict[str, FloatArray] = {}
    repairs: list[Repair] = []
    place: dict[str, float] = {}
    columns: dict[str, str] = {}
    for part in parts:
        at = (part.time.astype(f"datetime64[{unit}]") - begin).astype(np.int64)
        for name, given in part.quantities.items():
            how = "sum" if name == "precipitation" else "mean"
            values.setdefault(name, gather(at, given, size, how))
        repairs += [item for item in part.repairs if item not in repairs]
        place = {**part.place, **place}
        columns = {**part.columns, **columns}
    some = np.zeros(size, dtype=bool)
    for given in values.values():
        some |= np.isfinite(given)
    repairs.append(repair(RepairKind.FILES_JOINED, len(parts)))
    return Parsed(
        axis[some].astype("datetime64[ns]"),
        {name: given[some] for name, given in values.items()},
        step,
        place,
        repairs,
        columns,
    )


def name_files(text: str, known: Callable[[str], bool]) -> list[str]:
    """Return what a person's words for weather name: one thing or several.

    Examples
    --------
    >>> name_files("no such file.csv", lambda word: word == "demo")
    ['no such file.csv']
    """
    path = Path(text)
    if known(text) or is_file(path):
        return [text]
    if is_folder(path):
        inside = sorted(
            str(item)
            for item in path.iterdir()
            if item.is_file() and not item.name.startswith(".")
        )
        if not inside:
            raise WeatherError(
                _("{text}: the folder holds no file; name another", text=text)
            )
        if len(inside) > MANY:
            raise WeatherError(
                _(
                    "{text}: the folder holds {count} files; name those of one "
                    'place, such as "folder/*.csv"',
                    text=text,
                    count=len(inside),
                )
            )
        return inside
    if any(sign in text for sign in "*?["):
        found = sorted(name for name in glob.glob(text) if is_file(name))  # noqa: PTH207
        if not found:
            raise WeatherError(
                _("{text}: no file is so named; name another pattern", text=text)
            )
        return found
    parts = [part.strip() for part in text.split("+")]
    there = [part for part in parts if known(part) or _names_files(part)]
    if len(parts) < 2 or not there:
        return [text]
    if len(there) < len(parts):
        gone = next(part for part in parts if part not in there)
        if not gone:
            raise WeatherError(
                _("{text}: a + joins two names; one of them is missing", text=text)
            )
        raise WeatherError(_("{gone}: no such file, of those joined by +", gone=gone))
    return [name for part in parts for name in name_files(part, known)]


def _names_files(part: str) -> bool:
    return bool(part) and (
        is_file(part) or is_folder(part) or any(s in part for s in "*?[")
    )


def read_several(
    parts: Sequence[str | Path],
    read: Read,
    hints: Hints,
    progress: Callable[[int, int, str], None] | None = None,
) -> xr.Dataset:
    """Read several files of one place as one weather series.

    Notes
    -----
    Files that hold temperature and humidity apart are joined on their common times.
    Others are laid end to end; what an hour has twice is averaged. Observations are
    then filled and lengthened from reanalysis as in `merge_weather`, and a weather
    forecast follows last.
    """
    found: list[xr.Dataset] = []
    refused: list[WeatherError | ArchiveError] = []
    for done, part in enumerate(parts):
        if progress is not None:
            progress(done, len(parts), Path(part).name)
        try:
            found.append(read(part))
        except (WeatherError, ArchiveError) as error:
            if found or len(parts) > APART:
                raise
            refused.append(error)
    if refused and not found and all(is_file(part) for part in parts):
        return read_apart([Path(part) for part in parts], hints)
    if refused:
        raise refused[0]
    _require_one_place(parts, found)
    kinds: dict[str, list[xr.Dataset]] = {"observed": [], "reanalysis": []}
    ahead = []
    for series in found:
        kind = series.attrs["kind"]
        if kind == "forecast":
            ahead.append(series)
        else:
            kinds["reanalysis" if kind == "reanalysis" else "observed"].append(series)
    records = [concatenate(group) for group in kinds.values() if group]
    if not records:
        return concatenate(ahead)
    record = records[0]
    if len(records) > 1:
        record = merge_weather(record, records[1], extend=True)
    return join_forecast(record, concatenate(ahead)) if ahead else record


def _require_one_place(
    parts: Sequence[str | Path], found: Sequence[xr.Dataset]
) -> None:
    placed: list[tuple[str, float, float]] = []
    for part, series in zip(parts, found, strict=True):
        name, attrs = Path(part).name, series.attrs
        if attrs["kind"] == "demonstration":
            raise WeatherError(
                _(
                    "{name}: the demonstration place is invented; it cannot be "
                    "put together with weather of a real one",
                    name=name,
                )
            )
        if attrs["step"] != "hour" or attrs["kind"] in ONE_YEAR_KINDS:
            raise WeatherError(
                _(
                    "{name}: {kind} by the {step}; only hours and days of real "
                    "years can be put together: give it alone",
                    name=name,
                    kind=attrs["kind"],
                    step=attrs["step"],
                )
            )
        if "latitude" in attrs and "longitude" in attrs:
            placed.append((name, attrs["latitude"], attrs["longitude"]))
    for name, north, east in placed[1:]:
        away = float(distance_km(north, east, placed[0][1], placed[0][2]))
        if away > FARTHEST_KM:
            raise WeatherError(
                _(
                    "{name} and {name2} lie {away:.0f} km apart; put together "
                    "only files of one place (at most {farthest_km:.0f} km)",
                    name=placed[0][0],
                    name2=name,
                    away=away,
                    farthest_km=FARTHEST_KM,
                )
            )


def concatenate(parts: Sequence[xr.Dataset]) -> xr.Dataset:
    """Lay series of one place and kind end to end.

    What several hold of one hour is averaged, temperature and vapour pressure each, and
    of rain the most is taken.
    """
    if len(parts) == 1:
        return parts[0]
    ordered = sorted(parts, key=lambda part: part["time"].to_numpy()[0])
    names = [name for name in VARIABLES if any(name in part for part in ordered)]
    columns = {
        name: np.concatenate(
            [
                part[name].to_numpy()
                if name in part
                else np.full(part.sizes["time"], np.nan)
                for part in ordered
            ]
        )
        for name in names
    }
    time = np.concatenate([part["time"].to_numpy() for part in ordered])
    some = np.any([np.isfinite(column) for column in columns.values()], axis=0)
    attrs: dict[str, Any] = {}
    for part in ordered:
        attrs |= part.attrs
    for name in ("licence", "attribution", "source"):
        texts = dict.fromkeys(part.attrs.get(name, "") for part in ordered)
        attrs[name] = _listed([text for text in texts if text])
    repairs = add_counts(map(repairs_of, ordered))
    attrs.pop("repairs")
    attrs.pop("step")
    attrs.pop("rows", None)
    attrs["kind"] = _common_kind([part.attrs["kind"] for part in ordered], "observed")
    return hourly_grid(
        time[some],
        {name: column[some] for name, column in columns.items()},
        repairs=[*repairs, repair(RepairKind.FILES_CONCATENATED, len(parts))],
        precipitation="max",
        **attrs,
    )


def _listed(texts: Sequence[str]) -> str:
    if len(texts) <= SHOWN:
        return "; ".join(texts)
    return f"{'; '.join(texts[: SHOWN - 1])}; and {len(texts) - SHOWN + 1} more"


def _common_kind(words: Sequence[str], otherwise: str) -> str:
    return words[0] if len(set(words)) == 1 else otherwise
