"""The raw series of an archive's reply, and how its reports become hours.

An instantaneous report stands for the hour that holds it: 10:53 belongs to 10:00. A
total or mean of the hour before belongs to the hour that holds most of it: stamped
10:00 or 9:53 it fell from 9:00 on. Reports between the routine ones repeat the running
total, so the greatest amount of an hour is taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.record import Origin
from emcforecast.weather.formats.parsed import humidity_from
from emcforecast.weather.hints import Hints
from emcforecast.weather.mend.hours_from_means import hourly_from_daily
from emcforecast.weather.mend.months import monthly_series
from emcforecast.weather.mend.plausible import leaps_said
from emcforecast.weather.mend.quality import hourly_grid, without_impossible
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import (
    Repair,
    RepairKind,
    add_counts,
    add_repairs,
    counted,
    repair,
    repairs_of,
    repairs_to_text,
)
from emcforecast.weather.series import VARIABLES, make_series
from emcforecast.weather.times.calendar import in_nanoseconds
from emcforecast.weather.times.clocks import standard_offset_at

#: What a raw series may hold, with units; daily ones also hold the extremes.
UNITS = {
    "air_temperature": "degC",
    "air_temperature_min": "degC",
    "air_temperature_max": "degC",
    "relative_humidity": "%",
    "precipitation": "mm",
    "wind_speed": "m s-1",
    "shortwave": "W m-2",
}
#: Measures of humidity, and the pressure that some of them need.
HUMIDITY_MEASURES = ("relative_humidity", "dew_point", "specific_humidity", "pressure")
RAIN_BEFORE = ("precipitation",)


def series_of_reports(
    origin: Origin,
    time: TimeArray,
    values: Mapping[str, FloatArray | None],
    repairs: list[Repair],
    about: Mapping[str, float | str | None],
    *,
    step: str = "hour",
    kind: str = "",
    preceding: Iterable[str] = RAIN_BEFORE,
) -> xr.Dataset:
    """Build the raw series, its humidity from the best that each report has.

    `time`: UTC, shape (n,), in any order, NaT where unreadable. `values`: variables of
    `UNITS` and any of `HUMIDITY_MEASURES` (°C, %, kg/kg, Pa), shape (n,), None for what
    the reply lacks. `about`: latitude, longitude, elevation, utc_offset, station, place
    (its name), None left out. `kind`: what this reply is, when not what the archive
    mostly sends. `preceding`: variables that are totals or means of the hour before
    their time.

    Values may still be missing or impossible. Raises `ArchiveError` when there are no
    rows, no temperature or no humidity.
    """
    done = list(repairs)
    held = {name: column for name, column in values.items() if column is not None}
    held, more = _with_humidity(held, step)
    done += more
    if time.size == 0:
        raise ArchiveError(
            _(
                "the {archive} reply holds no rows: nothing was measured "
                "there and then; ask for another station or span",
                archive=origin.archive,
            )
        )
    _require(held, origin.archive)
    held = {
        name: column
        for name, column in held.items()
        if name in ("air_temperature", "relative_humidity")
        or bool(np.isfinite(column).any())
    }
    stamps = in_nanoseconds(time)
    known = ~np.isnat(stamps)
    lost = int(stamps.size - np.count_nonzero(known))
    if lost == stamps.size:
        raise ArchiveError(
            _(
                "no time of the {archive} reply can be read; fetch it again",
                archive=origin.archive,
            )
        )
    done += counted(RepairKind.UNREADABLE_TIMES, lost)
    if lost:
        stamps = stamps[known]
        held = {name: column[known] for name, column in held.items()}
    if bool((np.diff(stamps) < np.timedelta64(0, "ns")).any()):
        order = np.argsort(stamps, kind="stable")
        stamps = stamps[order]
        held = {name: column[order] for name, column in held.items()}
    attrs: dict[str, Any] = {
        "archive": origin.archive,
        "step": step,
        "kind": kind or origin.kind,
        "source": origin.source,
        "licence": origin.licence,
        "attribution": origin.attribution,
        "repairs": repairs_to_text(done),
        "preceding": [name for name in preceding if name in held],
        **{
            name: (value if isinstance(value, str) else float(value))
            for name, value in about.items()
            if value is not None and value != "" and value == value
        },
    }
    return xr.Dataset(
        {
            name: (
                "time",
                column.astype(np.float64, copy=False),
                {"units": UNITS[name]},
            )
            for name, column in held.items()
        },
        coords={"time": stamps},
        attrs=attrs,
    )


def _with_humidity(
    held: dict[str, FloatArray], step: str
) -> tuple[dict[str, FloatArray], list[Repair]]:
    """Put humidity from the best that each report has, and a mean of the extremes."""
    repairs: list[Repair] = []
    measures = {name: held.pop(name) for name in HUMIDITY_MEASURES if name in held}
    low, high = (held.get(f"air_temperature_{end}") for end in ("min", "max"))
    if "air_temperature" not in held and low is not None and high is not None:
        held["air_temperature"] = (low + high) / 2.0
        repairs.append(repair(RepairKind.MEAN_OF_EXTREMES, step=step))
    if "air_temperature" in held:
        humid, more = humidity_from(held["air_temperature"], measures)
        repairs += more
        if humid is not None:
            held["relative_humidity"] = humid
    elif "relative_humidity" in measures:
        held["relative_humidity"] = measures["relative_humidity"]
    return held, repairs


def _require(held: Mapping[str, FloatArray], archive: str) -> None:
    names = ", ".join(map(quantity_name, held)) or _("nothing usable")
    has_temperature, has_humidity = (
        "air_temperature" in held,
        "relative_humidity" in held,
    )
    extremes = {"air_temperature_min", "air_temperature_max"} & set(held)
    if not has_temperature and not has_humidity and not extremes:
        raise ArchiveError(
            _(
                "the {archive} reply has neither temperature nor humidity "
                "({names}); both are needed: ask for them too",
                archive=archive,
                names=names,
            )
        )
    if not has_temperature and has_humidity:
        raise ArchiveError(
            _(
                "the {archive} reply has no air temperature ({names}); ask for it too",
                archive=archive,
                names=names,
            )
        )
    if not has_humidity:
        raise ArchiveError(
            _(
                "the {archive} reply has no humidity ({names}); ask for "
                "relative humidity or dew point too",
                archive=archive,
                names=names,
            )
        )
    for name, what in (
        ("air_temperature", "temperatures"),
        ("relative_humidity", "humidities"),
    ):
        if not bool(np.isfinite(held[name]).any()):
            raise ArchiveError(
                _(
                    "all {size} {what} of the {archive} reply are missing; ask "
                    "for another station or span",
                    size=held[name].size,
                    what=what,
                    archive=archive,
                )
            )


def join(parts: Sequence[xr.Dataset]) -> xr.Dataset:
    """Put the raw series of several replies into one."""
    if len(parts) == 1:
        return parts[0]
    ordered = sorted(parts, key=lambda part: part["time"].to_numpy()[0])
    names = list(dict.fromkeys(str(n) for part in ordered for n in part.data_vars))
    time = np.concatenate([part["time"].to_numpy() for part in ordered])
    order = np.argsort(time, kind="stable")
    columns = {
        name: np.concatenate(
            [
                part[name].to_numpy()
                if name in part
                else np.full(part.sizes["time"], np.nan)
                for part in ordered
            ]
        )[order]
        for name in names
    }
    attrs = dict(ordered[-1].attrs)
    attrs["repairs"] = repairs_to_text(add_counts(map(repairs_of, ordered)))
    attrs["preceding"] = sorted(
        {n for part in ordered for n in part.attrs["preceding"]}
    )
    return xr.Dataset(
        {
            name: ("time", column, {"units": UNITS[name]})
            for name, column in columns.items()
        },
        coords={"time": time[order]},
        attrs=attrs,
    )


def place_of(hints: Hints, **found: float | None) -> dict[str, float | None]:
    """Take the place from the reply, and from the person what it does not say.

    `found`: latitude, longitude (degrees), elevation (m) as found; None or NaN if not.
    """
    place: dict[str, float | None] = {}
    for name in ("latitude", "longitude", "elevation"):
        value = found.get(name)
        unknown = value is None or value != value
        place[name] = getattr(hints, name) if unknown else value
    longitude = place["longitude"]
    if longitude is not None and longitude > 180.0:
        place["longitude"] = longitude - 360.0
    return place


def standard_offset(
    hints: Hints, place: Mapping[str, float | None], archive: str, country: str
) -> tuple[float, Repair]:
    """Find the local standard time of a reply whose clock does not say it.

    Returns hours ahead of UTC, and how that was found; `country`, "US", "CA" or "",
    says whose zones apply.
    """
    if hints.utc_offset is not None:
        offset = hints.utc_offset
        return offset, repair(RepairKind.STANDARD_TIME_GIVEN, offset=offset)
    longitude = place.get("longitude")
    if longitude is None or longitude != longitude:
        raise ArchiveError(
            _(
                "the {archive} reply is in local standard time and does not "
                "say where: give --utc-offset (hours, such as -5)",
                archive=archive,
            )
        )
    latitude = place.get("latitude")
    north = float("nan") if latitude is None else latitude
    offset = standard_offset_at(north, longitude, country)
    return offset, repair(RepairKind.STANDARD_TIME_OF_PLACE, offset=offset)


HOUR = np.timedelta64(1, "h")
#: Running totals start at the last routine report, up to ten minutes before the hour.
EARLY = np.timedelta64(10, "m")
#: What the rebuilding of days calls their extremes.
EXTREMES = {
    "air_temperature_max": "daily_maximum",
    "air_temperature_min": "daily_minimum",
}
#: Attributes of a raw series that make_series takes.
TERMS = (
    *("kind", "source", "licence", "attribution", "retrieved"),
    *("latitude", "longitude", "elevation", "utc_offset", "station", "place"),
)


def share_out(
    stamps: TimeArray,
    rain: FloatArray,
    totals: FloatArray,
    hours: int,
    repairs: list[Repair],
) -> FloatArray:
    """Share rain given only for several hours among those that have a report.

    `stamps`: UTC, sorted; `rain`: mm of the hour before each, `totals`: mm of the
    `hours` before each, NaN where not given; all of shape (n,). Returns the rain (mm)
    of the hour before each report. A total is used only where none of its reports gives
    the rain of its own hour; reports of one hour give the same.
    """
    shared = rain.copy()
    hour = (stamps - EARLY).astype("datetime64[h]")
    first = np.searchsorted(stamps, stamps - np.timedelta64(hours, "h"), side="right")
    used = 0
    for last in np.flatnonzero(np.isfinite(totals)):
        span = slice(int(first[last]), int(last) + 1)
        if not np.isfinite(shared[span]).any():
            shared[span] = totals[last] / np.unique(hour[span]).size
            used += int(totals[last] > 0)
    repairs += counted(RepairKind.RAIN_SHARED, used, hours=hours)
    return shared


def series_of(raw: xr.Dataset, hints: Hints) -> xr.Dataset:
    """Turn a raw series into a weather series, missing hours left missing."""
    attrs = {name: raw.attrs[name] for name in TERMS if name in raw.attrs}
    for name in ("elevation", "utc_offset"):
        given = getattr(hints, name)
        if given is not None:
            attrs[name] = given
    values = {str(name): raw[name].to_numpy() for name in raw.data_vars}
    stamps = raw["time"].to_numpy()
    repairs = list(repairs_of(raw))
    if raw.attrs["step"] == "day":
        named = {EXTREMES.get(name, name): column for name, column in values.items()}
        return hourly_from_daily(stamps, named, repairs=repairs, **attrs)
    if raw.attrs["step"] == "month" or raw.attrs["kind"] == "normals":
        values = {name: values[name] for name in VARIABLES if name in values}
        if raw.attrs["step"] == "month":
            return monthly_series(stamps, values, repairs=repairs, **attrs)
        clean, found = without_impossible(values)
        return make_series(
            stamps, clean, step="hour", repairs=[*repairs, *found], **attrs
        )
    before = set(raw.attrs.get("preceding", ()))
    now = {name: column for name, column in values.items() if name not in before}
    series = hourly_grid(stamps, now, repairs=repairs, **attrs)
    series = add_repairs(series, *leaps_said(series))
    late, found = without_impossible(
        {name: column for name, column in values.items() if name in before}
    )
    axis = series["time"].to_numpy()
    for name, column in late.items():
        units, long_name = VARIABLES[name]
        placed = _hour_before(stamps, column, axis, greatest=name == "precipitation")
        early = column[(stamps - EARLY).astype("datetime64[h]") < axis[0]]
        if name == "precipitation" and bool((early > 0).any()):
            most = float(np.nanmax(early))
            found.append(repair(RepairKind.RAIN_BEFORE_START, most=most))
        series[name] = ("time", placed, {"units": units, "long_name": long_name})
    return add_repairs(series, *found)


def _hour_before(
    stamps: TimeArray, column: FloatArray, axis: TimeArray, *, greatest: bool
) -> FloatArray:
    """Put what was gathered over the hour before each stamp on that hour."""
    known = np.isfinite(column) & ~np.isnat(stamps)
    place = ((stamps[known] - EARLY).astype("datetime64[h]") - axis[0]) / HOUR
    inside = (place >= 0) & (place < axis.size)
    index = place[inside].astype(np.int64)
    what = column[known][inside]
    count = np.bincount(index, minlength=axis.size)
    if greatest:
        total = np.full(axis.size, -np.inf)
        np.maximum.at(total, index, what)
    else:
        total = np.bincount(index, weights=what, minlength=axis.size)
        total = total / np.maximum(count, 1)
    return np.asarray(np.where(count > 0, total, np.nan), dtype=np.float64)
