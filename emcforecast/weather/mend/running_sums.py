"""Amounts that add up over the day -> amounts of the hour."""

from __future__ import annotations

import numpy as np

from emcforecast._types import FloatArray, TimeArray

HOUR = np.timedelta64(1, "h")
FEWEST_DAYS = 3
"""Days that begin anew which show that sums run over the day."""
FEWEST_HOURS = 48
NOISE = 1e-3
"""Fall that packing alone may bring, as a share of the greatest value."""
FALLS = 0.002
"""Share of the other hours that may fall all the same."""


def hours_of_running_sums(
    time: TimeArray, values: FloatArray
) -> tuple[FloatArray, bool]:
    """Take sums that run from midnight apart into hours.

    Parameters
    ----------
    time : ndarray of datetime64, shape (n,)
        Hourly stamps, UTC, each at the end of its hour; some may lack.
    values : ndarray, shape (n,)
        Amounts of the hour, or of the day so far: it does not matter in what unit.

    Returns
    -------
    ndarray, shape (n,)
        Amounts of the hour before each stamp; NaN where the sum of an hour before is
        not known.
    bool
        Whether the values were running sums; they are returned as they are otherwise.

    Notes
    -----
    Sums run from 00 UTC: the value stamped 00 is the whole day before, the one stamped
    01 begins anew. They are told by never falling at any other hour. Amounts of single
    hours fall as often as they rise.

    References
    ----------
    ECMWF, "ERA5-Land: data documentation", accumulations.

    Examples
    --------
    >>> time = np.arange("2020-01-01T01", "2020-01-11T01", dtype="datetime64[h]")
    >>> sums = np.tile(np.arange(1.0, 25.0), 10)
    >>> hours, running = hours_of_running_sums(time, sums)
    >>> running, set(hours.tolist())
    (True, {1.0})
    """
    if values.size < FEWEST_HOURS:
        return values, False
    hourly = np.diff(time) == HOUR
    most = float(np.nanmax(np.abs(values), initial=0.0))
    clock = (time - time.astype("datetime64[D]")) // HOUR
    anew = clock[1:] == 1
    rise = np.diff(values)
    known = np.isfinite(rise) & hourly
    fell = known & (rise < -NOISE * most)
    if (fell & anew).sum() < FEWEST_DAYS or (known & ~anew).sum() < FEWEST_HOURS:
        return values, False
    if (fell & ~anew).sum() > FALLS * (known & ~anew).sum():
        return values, False
    begins = clock == 1
    before = np.concatenate(([np.nan], np.where(hourly, values[:-1], np.nan)))
    return np.where(begins, values, np.maximum(values - before, 0.0)), True
