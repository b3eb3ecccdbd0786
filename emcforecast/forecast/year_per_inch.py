"""The old rule "a year per inch", held against the forecast."""

from dataclasses import dataclass

import numpy as np

from emcforecast.thickness import Thickness
from emcforecast.units import MM_PER_INCH

YEAR_DAYS = 365.2425
FAR, SOME = 2.5, 1.4
"""Ratios of the rule's time to the forecast's from which it is far off, or off."""


@dataclass(frozen=True)
class Rule:
    """What the rule says, and how that compares.

    Parameters
    ----------
    date : datetime64[D]
        The rule's date.
    verdict : str
        "far too slow", "too slow", "about right", "too fast", "far too fast" or
        "no guide" where the forecast has no date to hold against it.
    against : str
        What it was held against: "15 %", "coming to rest" or "20 %".
    days_over : int or None
        The rule's date less the forecast's, days.
    """

    date: np.datetime64
    verdict: str
    against: str
    days_over: int | None


def inches(size: Thickness) -> float:
    """Return the thickness the rule counts, in.

    Parameters
    ----------
    size : Thickness
        The nominal inches count where there are any.

    Examples
    --------
    >>> from emcforecast.thickness import parse_thickness
    >>> inches(parse_thickness("8/4"))
    2.0
    """
    return (size.nominal_mm or size.actual_mm) / MM_PER_INCH


def year_per_inch(
    begun: np.datetime64,
    size: Thickness,
    dates: "dict[str, np.datetime64 | None]",
) -> Rule:
    """Hold the rule against the first of some dates that the forecast has.

    Parameters
    ----------
    begun : datetime64[D]
        Stacking date, of green wood.
    size : Thickness
        Of the boards.
    dates : dict of str to datetime64[D] or None
        The forecast's middle dates, the most telling first.

    Returns
    -------
    Rule

    References
    ----------
    "One year per inch of thickness": rule of thumb, common practice, no source.

    Examples
    --------
    >>> from emcforecast.thickness import parse_thickness
    >>> begun, ready = np.datetime64("2025-05-01"), np.datetime64("2025-06-20")
    >>> year_per_inch(begun, parse_thickness("4/4"), {"15 %": ready}).verdict
    'far too slow'
    """
    days = round(YEAR_DAYS * inches(size))
    said = begun + np.timedelta64(days, "D")
    for against, date in dates.items():
        if date is not None and date > begun:
            needed = int((date - begun).astype(np.int64))
            return Rule(said, verdict(days / needed), against, days - needed)
    return Rule(said, "no guide", next(iter(dates)), None)


def verdict(ratio: float) -> str:
    """Name the ratio of the rule's time to the forecast's.

    Examples
    --------
    >>> [verdict(r) for r in (5.0, 1.5, 1.0, 0.5, 0.2)]
    ['far too slow', 'too slow', 'about right', 'too fast', 'far too fast']
    """
    if ratio >= FAR:
        return "far too slow"
    if ratio >= SOME:
        return "too slow"
    if ratio > 1.0 / SOME:
        return "about right"
    return "too fast" if ratio > 1.0 / FAR else "far too fast"
