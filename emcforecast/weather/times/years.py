"""The years a weather record may speak of, and times held to them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

from emcforecast._types import TimeArray
from emcforecast.errors import WeatherError

FIRST_YEAR, LAST_YEAR = 1700, 2200
"""Years that a weather record may speak of."""


def refuse_year(year: int) -> None:
    """Refuse a year that no weather record can be of.

    Parameters
    ----------
    year : int
        Calendar year.

    Raises
    ------
    WeatherError
        When it is not from `FIRST_YEAR` to `LAST_YEAR`.
    """
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise WeatherError(
            f"a time lies in the year {year}; weather is read from {FIRST_YEAR} to "
            f"{LAST_YEAR}: correct the clock or the file"
        )


def refuse_early(years: Iterable[str]) -> None:
    """Refuse a year such as 0001, written out so that its century is plain.

    Parameters
    ----------
    years : iterable of str
        Numbers that may be years, as they stand in the file.

    Raises
    ------
    WeatherError
        When one has three or four digits and a zero before them.
    """
    for text in dict.fromkeys(years):
        if re.fullmatch(r"\s*0\d{2,3}\s*", text):
            refuse_year(int(text))


def in_nanoseconds(time: npt.NDArray[Any]) -> TimeArray:
    """Return times in nanoseconds, which hold only 1678 to 2262 and wrap beyond.

    Parameters
    ----------
    time : ndarray of datetime64, shape (n,)
        In any unit; NaT stays NaT.

    Returns
    -------
    ndarray of datetime64[ns], shape (n,)
        The same instants.

    Raises
    ------
    WeatherError
        When one is not from `FIRST_YEAR` to `LAST_YEAR`.

    Examples
    --------
    >>> in_nanoseconds(np.array(["2024-02-29"], "datetime64[D]"))[0].item() > 0
    True
    >>> in_nanoseconds(np.array(["2500-01-01"], "datetime64[D]"))
    Traceback (most recent call last):
    emcforecast.errors.WeatherError: a time lies in the year 2500; weather is read \
from 1700 to 2200: correct the clock or the file
    """
    known = time[~np.isnat(time)]
    if known.size:
        for instant in (known.min(), known.max()):
            refuse_year(int(instant.astype("datetime64[Y]").astype(np.int64)) + 1970)
    return np.asarray(time.astype("datetime64[ns]"))
