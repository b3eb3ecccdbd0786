"""How readings lie in time: strays, several of one time, several of one hour."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from emcforecast._types import FloatArray, TimeArray
from emcforecast.weather.mend.words import plain_count

#: How far two readings of one time may lie apart before it is said.
APART = {
    "air_temperature": (2.0, "temperature", "K"),
    "relative_humidity": (10.0, "relative humidity", "%"),
}


def without_strays(stamps: TimeArray) -> slice:
    """Return the part without a few readings years away at either end.

    Parameters
    ----------
    stamps : ndarray of datetime64, shape (n,)
        Sorted.

    Returns
    -------
    slice
        The rows to keep.
    """
    few = max(3, stamps.size // 1000)
    if stamps.size < 10 * few:
        return slice(0, stamps.size)
    far = np.flatnonzero(np.diff(stamps) > np.timedelta64(366, "D")) + 1
    begin = max((int(at) for at in far if at <= few), default=0)
    end = min((int(at) for at in far if at >= stamps.size - few), default=stamps.size)
    return slice(begin, end)


def spacing_notes(
    stamps: TimeArray, place: npt.NDArray[np.int64], clean: Mapping[str, FloatArray]
) -> list[str]:
    """Say which readings share a time or an hour.

    Parameters
    ----------
    stamps : ndarray of datetime64, shape (n,)
        Sorted.
    place : ndarray of int, shape (n,)
        The hour of each, counted from the first.
    clean : mapping of str to ndarray, shape (n,)
        Values in series units.

    Returns
    -------
    list of str
        What is averaged, and where that hides a disagreement.
    """
    notes = []
    again = np.flatnonzero(np.diff(stamps) == np.timedelta64(0, "ns")) + 1
    twice = int(again.size)
    if twice:
        notes.append(
            f"{plain_count(twice, 'reading')} with a time already seen; "
            "averaged with the first"
        )
        notes += disagreement(clean, again)
    distinct, counts = np.unique(place, return_counts=True)
    several = int(np.count_nonzero(counts > 1))
    if several > max(twice, 0.02 * distinct.size):
        notes.append(
            f"{plain_count(stamps.size, 'reading')} averaged "
            f"into {plain_count(distinct.size, 'hour')}"
        )
    return notes


def disagreement(
    variables: Mapping[str, FloatArray], again: npt.NDArray[np.intp]
) -> list[str]:
    """Say how far readings of one time lie apart, when that is too far.

    Parameters
    ----------
    variables : mapping of str to ndarray, shape (n,)
        Sorted by time, in series units.
    again : ndarray of int
        Rows whose time is that of the row before.

    Returns
    -------
    list of str
        A sentence, or none.
    """
    for name, (most, words, unit) in APART.items():
        if name not in variables:
            continue
        apart = np.abs(variables[name][again] - variables[name][again - 1])
        apart = apart[np.isfinite(apart)]
        many = int(np.count_nonzero(apart > most))
        if many:
            verb = "disagrees" if many == 1 else "disagree"
            return [
                f"look at the file: {plain_count(many, 'reading')} of a time already "
                f"seen {verb} on {words}, by up to {apart.max():.1f} {unit}: are two "
                "places or loggers in it?"
            ]
    return []
