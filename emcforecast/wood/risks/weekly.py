"""Every risk of a board, week by week, from the air at the wood and its moisture."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.thickness import Thickness
from emcforecast.wood.risks.checking import checking_by_week
from emcforecast.wood.risks.defects import defects_by_week
from emcforecast.wood.risks.mould import mould_by_week
from emcforecast.wood.risks.rewetting import rain_by_week, regain_by_week
from emcforecast.wood.risks.stain import decay_by_week, stain_by_week
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
    week = weeks(time)
    means = [
        week.mean(values).tolist()
        for values in ((temperature > FLIES_ABOVE).astype(float), mean, shell)
    ]
    return tuple(
        _week(day, warm, mc, outside, species)
        for day, warm, mc, outside in zip(week.days, *means, strict=True)
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


def weekly_risks(
    time: TimeArray,
    temperature: FloatArray,
    humidity: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
    *,
    species: Species,
    thickness: float | str | Thickness,
    core: FloatArray | None = None,
    precipitation: FloatArray | None = None,
    sealed_ends: bool = False,
) -> tuple[RiskWeek, ...]:
    """Judge every risk of one board.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
        Even steps of at most a day, hourly for the best answer.
    temperature, humidity : array, shape (n,)
        Of the air at the wood, °C and %.
    mean, shell : array, shape (n,)
        Moisture content of the board and its outer layer, % of ovendry mass.
    core : array, shape (n,), optional
        Moisture content in the middle, %.
    precipitation : array, shape (n,), optional
        Rain that reaches the wood, mm per step; None under a roof.
    sealed_ends : bool
        Whether the end grain was coated when the wood was sawn.

    Returns
    -------
    tuple of RiskWeek
        By risk, each in order of time.

    Raises
    ------
    InputError
        When the arrays differ in length or a value is missing.
    """
    given = {
        "temperature": temperature,
        "humidity": humidity,
        "mean": mean,
        "shell": shell,
        "core": core,
        "precipitation": precipitation,
    }
    for name, values in given.items():
        if values is None:
            continue
        if np.shape(values) != time.shape:
            raise InputError(
                _(
                    "{name} has {count} values for {size} times. Give one for each.",
                    name=name,
                    count=np.size(values),
                    size=time.size,
                )
            )
        if name != "precipitation" and not np.isfinite(values).all():
            raise InputError(
                _(
                    "{name} has missing values. Fill the gaps or cut the series first.",
                    name=name,
                )
            )
    inner = mean if core is None else core
    checks = checking_by_week(
        time,
        mean,
        species,
        thickness,
        temperature=temperature,
        humidity=humidity,
        core=core,
    )
    return (
        *checks,
        *defects_by_week(
            time,
            temperature,
            humidity,
            inner,
            species,
            thickness,
            checks,
            sealed_ends=sealed_ends,
        ),
        *stain_by_week(time, temperature, humidity, mean, shell),
        *mould_by_week(time, temperature, humidity, mean, shell, species, thickness),
        *decay_by_week(time, temperature, mean, shell, core),
        *insects_by_week(time, temperature, mean, shell, species),
        *rain_by_week(time, precipitation, mean, shell, species),
        *regain_by_week(time, mean),
    )
