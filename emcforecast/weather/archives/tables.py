"""Text of a reply to a table, its times and its numbers."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.payload import decode
from emcforecast.weather.times.years import in_nanoseconds

Floats = npt.NDArray[np.float64]
Stamps = npt.NDArray[np.datetime64]


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
) -> pd.DataFrame:
    """Read a delimited reply.

    Parameters
    ----------
    payload : bytes
        The reply, unpacked.
    sep : str
        What stands between values.
    skip : int
        Lines before the header.
    names : sequence of str, optional
        Column names when the reply has no header.
    columns : iterable of str, optional
        Only these columns are wanted, in any case of letters.
    text : iterable of str
        Columns that stay text.
    marks : iterable of str
        Columns of few different words, kept as categories.
    missing : iterable of str
        What stands for a missing value, besides nothing.

    Returns
    -------
    pandas.DataFrame
        Columns with spaces stripped from their names; ``attrs["broken"]`` counts
        lines with too many values, which are left out.

    Raises
    ------
    ArchiveError
        When the reply is no such table.
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
        with warnings.catch_warnings(record=True) as heard:
            warnings.simplefilter("always", pd.errors.ParserWarning)
            frame = pd.read_csv(
                source,
                sep=sep,
                skiprows=skip,
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
            f"the reply is not the expected table ({reason}); fetch it again"
        ) from error
    frame.columns = frame.columns.str.strip()
    frame.attrs["broken"] = sum(str(item.message).count("Skipping") for item in heard)
    return frame


def times(column: pd.Series[str], form: str = "ISO8601") -> Stamps:
    """Read times, unreadable ones as NaT; an offset in the text is undone.

    Parameters
    ----------
    column : pandas.Series of str
        Times as written.
    form : str
        How they are written.

    Returns
    -------
    ndarray of datetime64[ns]
        The times.

    Examples
    --------
    >>> times(pd.Series(["2019-01-01T02:00+01:00", "x"])).astype("datetime64[h]")
    array(['2019-01-01T01',           'NaT'], dtype='datetime64[h]')
    """
    found = pd.to_datetime(column, errors="coerce", format=form, utc=True)
    return in_nanoseconds(found.dt.tz_localize(None).to_numpy())


def numbers(frame: pd.DataFrame, name: str) -> Floats | None:
    """Return a column as numbers, unreadable ones missing; None when absent.

    Parameters
    ----------
    frame : pandas.DataFrame
        A table.
    name : str
        Name of the column.

    Returns
    -------
    ndarray of float, or None
        The values.
    """
    if name not in frame:
        return None
    values = pd.to_numeric(frame[name], errors="coerce")
    return np.asarray(values, dtype=np.float64)
