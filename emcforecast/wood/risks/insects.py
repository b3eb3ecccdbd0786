"""Insects, by season, temperature and moisture of the wood."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.wood.risks.week import Cause, Level, Measured, RiskWeek, weeks
from emcforecast.wood.species import Species

FLIES_ABOVE = 15.5
"""Beetles are active from about 60 °F, °C (trade advice, read second-hand)."""

GREEN_ABOVE = 35.0
"""Ambrosia and bark beetles want green wood, % MC (from memory)."""

DRYING_BELOW = 28.0
"""Below this the outside is no longer green, % MC: an assumption."""

POWDERPOST = (8.0, 30.0)
"""Lyctid beetles breed in hardwood sapwood between these, % MC (from memory)."""

LARGE_PORED = ("oak", "ash", "hickory", "pecan (pecan hickory)", "walnut", "elm")
"""Lyctid beetles lay their eggs in large pores."""

SHARE_OF_WEEK = 0.25
"""A week counts as flying weather from this share of warm hours: an assumption."""


def insects_by_week(
    time: TimeArray,
    temperature: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
    species: Species,
) -> tuple[RiskWeek, ...]:
    """Judge insect attack week by week.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    temperature : array, shape (n,)
        Of the air at the wood, °C.
    mean, shell : array, shape (n,)
        Moisture content of the board and its outer layer, %.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the share of the week's hours warm enough to fly.
    """
    return tuple(
        _week(
            day,
            float(np.mean(temperature[part] > FLIES_ABOVE)),
            float(np.mean(mean[part])),
            float(np.mean(shell[part])),
            species,
        )
        for day, part in weeks(time)
    )


def _week(
    day: date, warm: float, mc: float, shell: float, species: Species
) -> RiskWeek:
    cause = _cause(warm, mc, shell, species)
    attacked = cause in (Cause.GREEN_SAPWOOD, Cause.POWDERPOST)
    measured = Measured(mean_mc=mc, shell_mc=shell, species=species.spoken)
    level: Level = "moderate" if attacked else "low"
    return RiskWeek(day, "insects", level, cause, warm, measured)


def _cause(warm: float, mc: float, shell: float, species: Species) -> Cause:
    if warm < SHARE_OF_WEEK:
        return Cause.TOO_COLD
    if mc > GREEN_ABOVE:
        return Cause.DRY_SHELL if shell < DRYING_BELOW else Cause.GREEN_SAPWOOD
    if species.kind == "softwood":
        return Cause.DRYING_SOFTWOOD
    low, high = POWDERPOST
    if not low <= mc <= high:
        return Cause.OUTSIDE_BREEDING_RANGE
    return Cause.POWDERPOST if species.group in LARGE_PORED else Cause.FINE_PORES
