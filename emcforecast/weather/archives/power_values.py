"""Columns of a NASA POWER reply, in whatever units it states -> its raw series."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, Stamps
from emcforecast.weather.archives.reports import Origin, series_of_reports
from emcforecast.weather.archives.scale import plain, scaled
from emcforecast.weather.series import NOMINAL_YEAR

LICENCE = "free use, acknowledgement asked"
ATTRIBUTION = (
    "Data from the NASA Langley Research Center POWER project "
    "(https://power.larc.nasa.gov/)"
)
ORIGIN = Origin(
    "NASA POWER", "NASA POWER (MERRA-2, CERES)", LICENCE, ATTRIBUTION, "reanalysis"
)
#: Ours, theirs in order of preference, and the unit when the reply states none.
NAMES = {
    "air_temperature": (("T2M", "C"),),
    "air_temperature_min": (("T2M_MIN", "C"),),
    "air_temperature_max": (("T2M_MAX", "C"),),
    "relative_humidity": (("RH2M", "%"),),
    "dew_point": (("T2MDEW", "C"),),
    "specific_humidity": (("QV2M", "g/kg"),),
    "pressure": (("PS", "kPa"),),
    "precipitation": (("PRECTOTCORR", ""), ("PRECTOT", "")),
    "wind_speed": (("WS10M", "m/s"), ("WS2M", "m/s")),
    "shortwave": (("ALLSKY_SFC_SW_DWN", ""),),
}
#: Wind at 10 m over wind at 2 m above short grass: FAO-56 equation 47.
TWO_TO_TEN = float(np.log(67.8 * 10 - 5.42) / 4.87)
MONTHS = (
    *("JAN", "FEB", "MAR", "APR", "MAY", "JUN"),
    *("JUL", "AUG", "SEP", "OCT", "NOV", "DEC"),
)
HOURS_A_DAY = 24.0


@dataclass(frozen=True)
class Columns:
    """What a reply holds, before any unit is changed.

    Attributes
    ----------
    values : mapping of str to ndarray, shape (n,)
        By the archive's own names.
    units : mapping of str to str
        As the reply states them.
    fill : float
        What stands for missing.
    standard : str
        "UTC", "LST" (local solar time) or "".
    place : dict of str to float or None
        latitude, longitude (degrees), elevation (m).
    """

    values: Mapping[str, Floats]
    units: Mapping[str, str]
    fill: float
    standard: str
    place: dict[str, float | None]


def series_of_columns(stamps: Stamps, step: str, found: Columns) -> xr.Dataset:
    """Build the raw series of hours, days or months.

    Parameters
    ----------
    stamps : ndarray of datetime64, shape (n,)
        Start of each interval by the clock of the reply; NaT for annual values.
    step : {"hour", "day", "month"}
        Length of an interval.
    found : Columns
        What the reply holds.

    Returns
    -------
    xarray.Dataset
        The raw series.

    Raises
    ------
    ArchiveError
        For an unknown unit, or no temperature or humidity.
    """
    notes = Notes()
    values = _in_units(found, step, notes)
    if step == "month":
        yearly = np.isnat(stamps)
        stamps = stamps[~yearly]
        values = {name: column[~yearly] for name, column in values.items()}
        _month_totals(values, found.units, stamps)
    if found.standard == "LST" and step == "hour":
        stamps = _solar_to_utc(stamps, found.place, notes)
    elif found.standard == "LST" and step == "day":
        notes.lines.append("days are those of local solar time")
    return series_of_reports(
        ORIGIN, stamps, values, notes, found.place, step=step, preceding=()
    )


def series_of_normals(keys: list[str], found: Columns) -> xr.Dataset:
    """Build the raw series of the twelve normals; annual values are dropped.

    Parameters
    ----------
    keys : list of str
        Names of the months as they come, with or without the year's.
    found : Columns
        What the reply holds.

    Returns
    -------
    xarray.Dataset
        The raw series.

    Raises
    ------
    ArchiveError
        When a month is missing.
    """
    upper = [key.upper() for key in keys]
    order = [upper.index(name) for name in MONTHS if name in upper]
    if len(order) != 12:
        raise ArchiveError("the NASA POWER climatology does not hold twelve months")
    notes = Notes()
    values = {
        name: column[order] for name, column in _in_units(found, "month", notes).items()
    }
    first = np.datetime64(f"{NOMINAL_YEAR}-01", "M")
    stamps = np.asarray((first + np.arange(12)).astype("datetime64[ns]"))
    _month_totals(values, found.units, stamps)
    return series_of_reports(
        *(ORIGIN, stamps, values, notes, found.place),
        step="month",
        kind="normals",
        preceding=(),
    )


def _in_units(found: Columns, step: str, notes: Notes) -> dict[str, Floats]:
    values: dict[str, Floats] = {}
    for ours, theirs in NAMES.items():
        hit = next(((n, unit) for n, unit in theirs if n in found.values), None)
        if hit is None:
            continue
        name, usual = hit
        column = found.values[name]
        column = np.where(column <= found.fill + 0.5, np.nan, column)
        unit = found.units.get(name) or usual
        if ours == "precipitation":
            column = _depth(column, unit, step)
        else:
            column = scaled(column, unit, ours, "NASA POWER")
        if name == "WS2M":
            column = column * TWO_TO_TEN
            notes.lines.append("wind at 2 m carried to 10 m by the logarithmic profile")
        values[ours] = column
    return values


def _depth(column: Floats, unit: str, step: str) -> Floats:
    """Precipitation in mm per step, from a rate or an amount."""
    per_day = plain(unit) in ("mm/day", "mm/d", "mmday-1")
    if not per_day and plain(unit) not in ("mm", "mm/hour", "mm/hr", "mm/h"):
        raise ArchiveError(
            f"NASA POWER gives precipitation in {unit!r}; known: mm/day, mm/hour, mm"
        )
    return column / HOURS_A_DAY if per_day and step == "hour" else column


def _month_totals(
    values: dict[str, Floats], units: Mapping[str, str], stamps: Stamps
) -> None:
    """Turn a month's mean rain a day into its sum."""
    unit = units.get("PRECTOTCORR") or units.get("PRECTOT") or "mm/day"
    if "precipitation" in values and "day" in unit:
        first = stamps.astype("datetime64[M]")
        days = (first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")
        values["precipitation"] = values["precipitation"] * days.astype(np.float64)


def _solar_to_utc(
    stamps: Stamps, place: Mapping[str, float | None], notes: Notes
) -> Stamps:
    longitude = place["longitude"]
    if longitude is None:
        raise ArchiveError(
            "the NASA POWER hours are in local solar time and the place is not told; "
            "give --longitude, or ask for time-standard=UTC"
        )
    offset = int(np.round(longitude / 15.0))
    notes.lines.append(f"local solar time taken as UTC{offset:+d} h from the longitude")
    return np.asarray(stamps - np.timedelta64(offset, "h"))
