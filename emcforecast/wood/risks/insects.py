"""Insects, by season, temperature and moisture of the wood."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.wood.risks.week import Level, RiskWeek, weeks
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

KILLED_BY = "56 °C in the core for 30 minutes kills them; hot enough is not certified"
"""Wood Handbook, FPL-GTR-190, ch. 14 (read)."""


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
    species : Species

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
    level, why, advice = _judge(warm, mc, shell, species)
    return RiskWeek(day, "insects", level, why, advice, warm)


def _judge(
    warm: float, mc: float, shell: float, species: Species
) -> tuple[Level, str, str]:
    if warm < SHARE_OF_WEEK:
        return "low", "too cold for beetles to fly", ""
    if mc > GREEN_ABOVE:
        if shell < DRYING_BELOW:
            return "low", f"the outside, down to {shell:.0f} %, puts beetles off", ""
        return (
            "moderate",
            f"warm, and green at {mc:.0f} %: bark and ambrosia beetles bore into "
            f"sapwood",
            "take the bark off and dry it fast: they leave drying wood alone",
        )
    if species.kind == "softwood":
        return "low", f"at {mc:.0f} % few beetles start in drying softwood", ""
    low, high = POWDERPOST
    if not low <= mc <= high:
        return "low", f"at {mc:.0f} % powderpost beetles do not breed", ""
    if species.group not in LARGE_PORED:
        return (
            "low",
            f"{species.spoken} has pores too fine for most powderpost beetles",
            "",
        )
    return (
        "moderate",
        f"warm, and {mc:.0f} % suits powderpost beetles in the sapwood",
        f"keep old wood and dust away and look for pinholes; {KILLED_BY}",
    )
