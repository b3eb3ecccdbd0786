"""What the archives' parsers share: tables, JSON, times, numbers and quality marks."""

from __future__ import annotations

import csv
import io
import warnings
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pandas as pd

from emcforecast._types import FloatArray, TimeArray
from emcforecast.conversions import TEMPERATURES, from_unit, plain_unit, split_rate
from emcforecast.errors import ArchiveError
from emcforecast.files import parse_json
from emcforecast.language import N_, _
from emcforecast.weather.formats.content import decode
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, counted
from emcforecast.weather.times.calendar import in_nanoseconds


def document(payload: bytes, archive: str) -> Any:
    """Read a JSON reply."""
    text = decode(payload)
    try:
        return parse_json(text.encode())
    except ValueError as error:
        start = text.lstrip()[:1]
        cut = N_("the {archive} reply is cut short or damaged; fetch it again")
        other = N_("the {archive} reply is not JSON; fetch it again")
        why = cut if start in ("{", "[") else other
        raise ArchiveError(_(why, archive=archive)) from error


def table(
    payload: bytes,
    *,
    sep: str = ",",
    skip: int = 0,
    names: Sequence[str] | None = None,
    columns: Iterable[str] | None = None,
    text: Iterable[str] = (),
    marks: Iterable[str] = (),
    missing: Iterable[str] = (),
    even: bool = False,
) -> pd.DataFrame:
    """Read a delimited reply.

    `skip`: lines before the header; `names`: columns when there is none; `columns`:
    only these are wanted, in any case of letters; `text`: columns that stay text;
    `marks`: columns of few different words, kept as categories; `missing`: what stands
    for a missing value, besides nothing; `even`: every line has a value, or room for
    one, under every name. Spaces are stripped from the names; ``attrs["broken"]``
    counts lines with too many values, or of `even` tables with too few, which are left
    out. Raises `ArchiveError` for other replies.
    """
    wanted = None if columns is None else {name.lower() for name in columns}
    kinds = {name.lower(): "str" for name in text}
    kinds |= {name.lower(): "category" for name in marks}
    source: io.BytesIO | io.StringIO = (
        io.BytesIO(payload) if payload.isascii() else io.StringIO(decode(payload))
    )
    try:
        if names is None:
            mark = source.tell()
            found = pd.read_csv(source, sep=sep, skiprows=skip, nrows=0).columns
            source.seek(mark)
        else:
            found = pd.Index(names)
        first = skip + (names is None)
        shifted = _uneven(payload, sep, len(found), first, even=even)
        passed = [*range(skip), *shifted] if shifted else skip
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", pd.errors.ParserWarning)
            frame = pd.read_csv(
                source,
                sep=sep,
                skiprows=passed,
                header=0 if names is None else None,
                names=list(found),
                usecols=[
                    name
                    for name in found
                    if wanted is None or str(name).strip().lower() in wanted
                ],
                dtype={
                    name: kind
                    for name in found
                    if (kind := kinds.get(str(name).strip().lower()))
                },
                na_values=["", *missing],
                keep_default_na=False,
                skipinitialspace=True,
                low_memory=False,
                index_col=False,
                on_bad_lines="warn",
            )
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError) as error:
        reason = str(error).strip().partition("\n")[0]
        raise ArchiveError(
            _(
                "the reply is not the expected table ({reason}); fetch it again",
                reason=reason,
            )
        ) from error
    frame.columns = frame.columns.str.strip()
    skipped = sum(str(item.message).count("Skipping") for item in caught)
    frame.attrs["broken"] = skipped + len(shifted)
    return frame


def _uneven(
    payload: bytes, sep: str, count: int, first: int, *, even: bool
) -> list[int]:
    """Return the numbers of lines with a value beyond the last name, or too few.

    As after a lost quote or separator: the values behind it stand under the wrong
    names. The reader below would cut them to length, or fill them up. A sign at the end
    of a line holds no value; too few count in tables that are `even`.
    """
    if len(sep) != 1:
        return []
    sign = sep.encode()
    found = []
    for number, line in enumerate(payload.split(b"\n")[first:], first):
        signs = line.count(sign)
        # Plain lines, and those with every value in quotes, are counted at once.
        quoted = line.count(b'"' + sign + b'"')
        marks = line.count(b'"')
        whole = marks > 0 and marks == 2 * quoted + 2 and line.strip()[-1:] == b'"'
        cells = signs + 1 if not marks else quoted + 1 if whole else 0
        if cells == count or not (even or signs >= count) or not line.strip():
            continue
        text = line.decode("latin-1").replace("\r", " ")
        try:
            row = next(csv.reader([text], delimiter=sep, strict=True))
        except csv.Error:  # a lost sign, or longer than any value
            found.append(number)
            continue
        if any(cell.strip() for cell in row[count:]) or (even and len(row) < count):
            found.append(number)
    return found


def times(column: pd.Series[str], form: str = "ISO8601") -> TimeArray:
    """Read times, unreadable ones as NaT; an offset in the text is undone.

    Examples
    --------
    >>> times(pd.Series(["2019-01-01T02:00+01:00", "x"])).astype("datetime64[h]")
    array(['2019-01-01T01',           'NaT'], dtype='datetime64[h]')
    """
    # Numbers, as of a damaged column, would be counted from 1970.
    text = column.astype(str) if pd.api.types.is_numeric_dtype(column) else column
    found = pd.to_datetime(text, errors="coerce", format=form, utc=True)
    return in_nanoseconds(found.dt.tz_localize(None).to_numpy())


def times_of_parts(
    year: FloatArray,
    month: FloatArray,
    day: FloatArray,
    hour: FloatArray,
    minute: FloatArray | float = 0.0,
) -> TimeArray:
    """Put times together from numbers, NaT where one lacks or the month is over 12.

    Examples
    --------
    >>> part = np.array
    >>> times_of_parts(part([2019.0]), part([2.0]), part([3.0]), part([4.0]))[0].item()
    1549166400000000000
    """
    known = np.isfinite(year + month + day + hour) & (month <= 12)
    months = np.where(known, (year - 1970) * 12 + month - 1, 0).astype(np.int64)
    rest = ((day - 1) * 24 + hour) * 60 + np.nan_to_num(minute)
    minutes = np.where(known, rest, 0).astype(np.int64)
    stamps = months.astype("datetime64[M]").astype("datetime64[m]") + minutes
    stamps[~known] = np.array("NaT", dtype=stamps.dtype)
    return in_nanoseconds(stamps)


def numbers(frame: pd.DataFrame, name: str) -> FloatArray | None:
    """Return a column as numbers, unreadable ones missing; None when absent."""
    if name not in frame:
        return None
    values = pd.to_numeric(frame[name], errors="coerce")
    return np.asarray(values, dtype=np.float64)


def counted_table(payload: bytes, repairs: list[Repair], **how: Any) -> pd.DataFrame:
    """Read a delimited reply of even lines, counting those that are broken."""
    frame = table(payload, even=True, **how)
    repairs += counted(RepairKind.BROKEN_LINES, frame.attrs["broken"])
    return frame


def without_marked(
    values: FloatArray,
    bad: Any,
    column: str,
    repairs: list[Repair],
    kind: RepairKind = RepairKind.MARKED_BAD,
) -> FloatArray:
    """Set missing what the archive's own marks call bad, and count it.

    `column` is what the archive calls the quantity, `kind` what its marks say of it.

    Examples
    --------
    >>> found: list[Repair] = []
    >>> bad = np.array([False, True])
    >>> without_marked(np.array([1.0, 2.0]), bad, "wind", found), found[0].count
    (array([ 1., nan]), 1)
    """
    gone = np.asarray(bad, dtype=bool) & np.isfinite(values)
    repairs += counted(kind, int(gone.sum()), column=column)
    return np.where(gone, np.nan, values)


def count_traces(trace: Any, repairs: list[Repair]) -> None:
    """Count the traces of rain, too little to measure, that are taken as none."""
    repairs += counted(RepairKind.RAIN_TRACES, int(np.count_nonzero(trace)))


def first_text(frame: pd.DataFrame, name: str | None) -> str:
    """Return the first text of a column; "" when the column is absent or empty."""
    known = frame[name].dropna() if name in frame else pd.Series(dtype=str)
    return str(known.iloc[0]).strip() if len(known) else ""


def last_number(frame: pd.DataFrame, name: str | None) -> float | None:
    """Return the last number of a column: a station is where it was last."""
    column = None if name is None else numbers(frame, name)
    if column is None:
        return None
    known = column[np.isfinite(column)]
    return float(known[-1]) if known.size and known[-1] > -999 else None


_KNOWN = {
    **dict.fromkeys(
        ("air_temperature", "air_temperature_min", "air_temperature_max", "dew_point"),
        TEMPERATURES,
    ),
    "relative_humidity": ("%", "1"),
    "precipitation": ("mm", "in", "m"),
    "wind_speed": ("m/s", "km/h", "mph", "kn"),
    "shortwave": ("w/m2", "wh/m2", "kwh/m2", "j/m2", "mj/m2"),
    "pressure": ("pa", "hpa", "kpa"),
    "specific_humidity": ("kg/kg", "g/kg"),
}
#: Hours of an energy that does not say for how long it is: archives give MJ for a day.
_HOURS = {"mj/m2": 24.0}


def scaled(column: FloatArray, unit: str, name: str, archive: str) -> FloatArray:
    """Convert a column to series units: °C, %, mm, m/s, W/m², Pa or kg/kg.

    Examples
    --------
    >>> import numpy as np
    >>> float(scaled(np.array([212.0]), "°F", "air_temperature", "x")[0].round(9))
    100.0
    >>> float(scaled(np.array([8.64]), "MJ/m^2/day", "shortwave", "x")[0].round(9))
    100.0
    """
    spelt, hours = plain_unit(unit), None
    if name == "shortwave":
        spelt, hours = split_rate(unit)
    if spelt not in _KNOWN[name]:
        raise ArchiveError(
            _(
                "the {archive} reply gives {name} in {unit!r}; known: {known}",
                archive=archive,
                name=quantity_name(name),
                unit=unit,
                known=", ".join(_KNOWN[name]),
            )
        )
    if name == "shortwave":
        return from_unit(column, spelt) / (hours or _HOURS.get(spelt, 1.0))
    return from_unit(column, spelt)
