"""End checks, honeycomb and collapse: green wood in air drier or hotter than it stands.

What green wood stands is read off the first step of the published kiln schedules: the
driest and hottest air in which its makers start sound lumber.
"""

from datetime import date

from emcforecast._types import FloatArray, TimeArray
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.wood.risks.checking import (
    CHECKS_EASILY,
    CHECKS_HARDLY,
    GREEN_ABOVE,
    safe_rate,
)
from emcforecast.wood.risks.week import (
    Cause,
    Level,
    Measured,
    RiskWeek,
    level_of,
    step_hours,
    weeks,
)
from emcforecast.wood.species import Species

ENDS_STAND = (17.5, 14.0, 12.0)
"""EMC, %, of the first air of the published 4/4 schedules for woods that check easily,
middling and hardly (white oak 43 °C and 2.2 K wet-bulb depression; cherry and ash 54 °C
and 3.9 K; tupelo 71 °C and 5.6 K). Dry Kiln Operator's Manual, from memory."""

END_LIMITS = (0.0, 4.0, 8.0)
"""% EMC by which the air is drier than that: moderate, high, severe (an assumption)."""

HEAT_STOOD = (43.0, 54.0, 66.0)
THICK_HEAT_STOOD = (43.0, 49.0, 54.0)
"""First temperatures of the same schedules at 4/4 and at 8/4, °C (from memory)."""

THICK_MM = 45.0
"""Nominal thickness from which the schedules for 8/4 count, mm."""

HOT_HOURS = (1.0, 10.0, 30.0)
"""Hours of a week above them: moderate, high, severe (an assumption)."""

WET_ABOVE = 50.0
"""% MC: surface checks that begin above it may run deep and close (a trade magazine's
column on drying, read), and cells still full of water may collapse."""

COLLAPSES_ABOVE = 49.0
EUCALYPT_COLLAPSES_ABOVE = 30.0
"""°C above which wet wood of the woods below collapses, eucalypts sooner (memory)."""

MAY_COLLAPSE = (
    "aspen, quaking",
    "baldcypress",
    "cedar, incense",
    "cedar, western redcedar",
    "cottonwood, eastern",
    "oak, southern red",
    "redwood, old-growth",
    "redwood, young-growth",
    "sweetgum",
    "walnut, black",
    "willow, black",
)
"""Woods that the Dry Kiln Operator's Manual names for collapse (from memory)."""


def defects_by_week(
    time: TimeArray,
    temperature: FloatArray,
    humidity: FloatArray,
    core: FloatArray,
    species: Species,
    thickness: float | str | Thickness,
    surface_checks: tuple[RiskWeek, ...],
    *,
    sealed_ends: bool = False,
) -> tuple[RiskWeek, ...]:
    """Judge end checks, honeycomb and collapse week by week.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    temperature, humidity : array, shape (n,)
        Of the air at the wood, °C and %.
    core : array, shape (n,)
        Moisture content in the middle of the board, %.
    surface_checks : tuple of RiskWeek
        Of the same weeks, by `checking_by_week`.
    sealed_ends : bool
        Whether the end grain was coated when the wood was sawn.

    Returns
    -------
    tuple of RiskWeek
        By risk, each in order of time. ``measure`` is the EMC of the week's air for end
        checks, % MC; for the others the hours too hot.
    """
    size = parse_thickness(thickness)
    rank = _rank(species)
    thick = (size.nominal_mm or size.actual_mm) >= THICK_MM
    stood = (THICK_HEAT_STOOD if thick else HEAT_STOOD)[rank]
    severe = {w.week for w in surface_checks if w.level == "severe"}
    hours = step_hours(time)
    ends, honeycomb, collapse = [], [], []
    week = weeks(time)
    emc = equilibrium_moisture_content(week.mean(temperature), week.mean(humidity))
    most = week.greatest(core).tolist()
    limit = _collapses_above(species)
    too_hot, cells_burst = (
        hours * week.total(((temperature > heat) & (core > wet)).astype(float))
        for heat, wet in ((stood, GREEN_ABOVE), (limit, WET_ABOVE))
    )
    for k, (day, air, wettest) in enumerate(
        zip(week.days, emc.tolist(), most, strict=True)
    ):
        ends.append(_end_checks(day, air, wettest, rank, sealed_ends))
        deep = day in severe and wettest > WET_ABOVE
        honeycomb.append(_honeycomb(day, float(too_hot[k]), wettest, stood, deep))
        collapse.append(_collapse(day, float(cells_burst[k]), wettest, limit, species))
    return (*ends, *honeycomb, *collapse)


def _rank(species: Species) -> int:
    """0 for woods that check easily, 1 for the middle, 2 for those that hardly do."""
    rate = safe_rate(species, "4/4").rate
    return (rate >= CHECKS_EASILY) + (rate >= CHECKS_HARDLY)


def _end_checks(
    day: date, air: float, wettest: float, rank: int, sealed: bool
) -> RiskWeek:
    measured = Measured(core_mc=wettest, air_emc_pct=air)
    level: Level = "low"
    if sealed:
        cause = Cause.SEALED_ENDS
    elif wettest <= GREEN_ABOVE:
        cause = Cause.NOT_GREEN
    else:
        level = level_of(ENDS_STAND[rank] - air, END_LIMITS)
        cause = Cause.MILD_AIR if level == "low" else Cause.ENDS_IN_DRY_AIR
    return RiskWeek(day, "end checks", level, cause, air, measured)


def _honeycomb(
    day: date, hot: float, wettest: float, stood: float, deep: bool
) -> RiskWeek:
    measured = Measured(core_mc=wettest, heat_limit_c=stood)
    level: Level = "low"
    if wettest <= GREEN_ABOVE:
        cause = Cause.NOT_GREEN
    else:
        level = level_of(hot, HOT_HOURS)
        cause = Cause.MILD_AIR if level == "low" else Cause.TOO_HOT
        if deep and level in ("low", "moderate"):
            level, cause = "high", Cause.DEEP_CHECKS
    return RiskWeek(day, "honeycomb", level, cause, hot, measured)


def _is_eucalypt(species: Species) -> bool:
    return species.scientific.startswith(("Eucalyptus", "Corymbia"))


def _collapses_above(species: Species) -> float:
    """°C above which wet wood of the species collapses, if it is known to."""
    return EUCALYPT_COLLAPSES_ABOVE if _is_eucalypt(species) else COLLAPSES_ABOVE


def _collapse(
    day: date, hot: float, wettest: float, limit: float, species: Species
) -> RiskWeek:
    measured = Measured(core_mc=wettest, heat_limit_c=limit, species=species.spoken)
    level: Level = "low"
    if not _is_eucalypt(species) and species.name not in MAY_COLLAPSE:
        cause = Cause.HARDLY_COLLAPSES
    elif wettest <= WET_ABOVE:
        cause = Cause.NOT_GREEN
    else:
        level = level_of(hot, HOT_HOURS)
        cause = Cause.MILD_AIR if level == "low" else Cause.TOO_HOT
    return RiskWeek(day, "collapse", level, cause, hot, measured)
