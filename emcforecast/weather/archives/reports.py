"""From the columns of a reply to its raw series: what the archives' parsers share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.weather.archives.hours import Floats, Notes
from emcforecast.weather.archives.raw import make_raw
from emcforecast.weather.archives.tables import Stamps, numbers, table
from emcforecast.weather.humidity import humidity_from

#: What tells how damp the air is, and the pressure that some of it needs.
DAMPNESS = ("relative_humidity", "dew_point", "specific_humidity", "pressure")
RAIN_BEFORE = ("precipitation",)


@dataclass(frozen=True)
class Origin:
    """What every series of one archive says of itself.

    Attributes
    ----------
    archive : str
        Whose reply it is, for the errors.
    source, licence, attribution : str
        As in the weather series.
    kind : str
        What its weather is.
    """

    archive: str
    source: str
    licence: str
    attribution: str
    kind: str = "observed"


def series_of_reports(
    origin: Origin,
    stamps: Stamps,
    values: Mapping[str, Floats | None],
    notes: Notes,
    about: Mapping[str, float | str | None],
    *,
    step: str = "hour",
    kind: str = "",
    preceding: Iterable[str] = RAIN_BEFORE,
) -> xr.Dataset:
    """Build the raw series, its humidity from the best that each report has.

    Parameters
    ----------
    origin : Origin
        The archive.
    stamps : ndarray of datetime64, shape (n,)
        Times of the reports, UTC, in any order.
    values : mapping of str to ndarray of shape (n,), or None
        Variables of `raw.UNITS`, and any of `DAMPNESS` (°C, %, kg/kg, Pa); None for
        what the reply lacks.
    notes : Notes
        What was done on the way; told what the humidity was worked out from.
    about : mapping
        As in `make_raw`.
    step : {"hour", "day", "month"}
        Length of an interval.
    kind : str
        What this reply is, when not what the archive mostly sends.
    preceding : iterable of str
        Variables that are totals or means of the hour before their time.

    Returns
    -------
    xarray.Dataset
        As of `make_raw`.

    Raises
    ------
    ArchiveError
        As of `make_raw`.
    """
    held = {name: column for name, column in values.items() if column is not None}
    damp = {name: held.pop(name) for name in DAMPNESS if name in held}
    low, high = (held.get(f"air_temperature_{end}") for end in ("min", "max"))
    if "air_temperature" not in held and low is not None and high is not None:
        held["air_temperature"] = (low + high) / 2.0
        notes.lines.append("daily mean taken as the middle of lowest and highest")
    if "air_temperature" in held:
        humid, lines = humidity_from(held["air_temperature"], damp)
        notes.lines += lines
        if humid is not None:
            held["relative_humidity"] = humid
    elif "relative_humidity" in damp:
        held["relative_humidity"] = damp["relative_humidity"]
    return make_raw(
        stamps,
        held,
        archive=origin.archive,
        step=step,
        kind=kind or origin.kind,
        source=origin.source,
        licence=origin.licence,
        attribution=origin.attribution,
        notes=notes.lines,
        preceding=preceding,
        about=about,
    )


def counted_table(payload: bytes, notes: Notes, **how: Any) -> pd.DataFrame:
    """Read a delimited reply, counting the lines that are broken.

    Parameters
    ----------
    payload : bytes
        The reply, unpacked.
    notes : Notes
        Told of broken lines.
    **how
        As in `tables.table`.

    Returns
    -------
    pandas.DataFrame
        The table.
    """
    frame = table(payload, **how)
    notes.count(frame.attrs["broken"], "broken line", "left out")
    return frame


def without_marked(
    values: Floats, bad: Any, what: str, notes: Notes, why: str = ""
) -> Floats:
    """Set missing what the archive's own marks call bad, and count it.

    Parameters
    ----------
    values : ndarray, shape (n,)
        In any unit, NaN where missing.
    bad : ndarray of bool, shape (n,)
        Which are marked.
    what : str
        The quantity, in words.
    notes : Notes
        Told how many.
    why : str
        What the marks say of them, with what became of them.

    Returns
    -------
    ndarray, shape (n,)
        The values left.

    Examples
    --------
    >>> notes = Notes()
    >>> bad = np.array([False, True])
    >>> without_marked(np.array([1.0, 2.0]), bad, "wind", notes), notes.lines
    (array([ 1., nan]), ['1 wind value marked suspect or wrong, left out'])
    """
    gone = np.asarray(bad, dtype=bool) & np.isfinite(values)
    notes.count(
        int(gone.sum()), f"{what} value", why or "marked suspect or wrong, left out"
    )
    return np.where(gone, np.nan, values)


def count_traces(trace: Any, notes: Notes) -> None:
    """Say how many traces of rain, too little to measure, were counted as none.

    Parameters
    ----------
    trace : ndarray of bool, shape (n,)
        Which reports tell of one.
    notes : Notes
        Told how many.
    """
    count = int(np.count_nonzero(trace))
    notes.count(count, "trace of rain", "counted as none", "traces of rain")


def first_text(frame: pd.DataFrame, name: str | None) -> str:
    """Return the first text of a column; "" when the column is absent or empty.

    Parameters
    ----------
    frame : pandas.DataFrame
        A table.
    name : str or None
        Name of the column.

    Returns
    -------
    str
        Without spaces around it.
    """
    known = frame[name].dropna() if name in frame else pd.Series(dtype=str)
    return str(known.iloc[0]).strip() if len(known) else ""


def last_number(frame: pd.DataFrame, name: str | None) -> float | None:
    """Return the last number of a column: a station is where it was last.

    Parameters
    ----------
    frame : pandas.DataFrame
        A table.
    name : str or None
        Name of the column.

    Returns
    -------
    float or None
        None when the column is absent, empty, or holds -999 or less.
    """
    column = None if name is None else numbers(frame, name)
    if column is None:
        return None
    known = column[np.isfinite(column)]
    return float(known[-1]) if known.size and known[-1] > -999 else None
