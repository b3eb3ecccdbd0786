"""The cautions of an answer: one rule set for every command, and their words."""

from collections.abc import Iterable
from enum import Enum

from emcforecast.cautions import Caution
from emcforecast.storage.kinds import KINDS
from emcforecast.wood.risks.week import Cause, RiskWeek

TIMBER_MM = 75.0
"""Thickness from which wood is likely meant to bear loads (common practice)."""


class About(Enum):
    """What an answer has people do, or is about."""

    FORECAST = "go by a forecast"
    STACK = "stack boards in the places"
    WEIGH = "load a floor"
    CUT = "saw or plane half-dry wood"
    JUDGE = "judge wood by a reading"
    LOG = "go by a logger"


CAUTIONS_ABOUT: dict[About, tuple[Caution, ...]] = {
    About.FORECAST: (Caution.METER,),
    About.STACK: (),
    About.WEIGH: (Caution.FLOOR_LOAD, Caution.LEANING),
    About.CUT: (Caution.MOULD,),
    About.JUDGE: (Caution.STRUCTURAL,),
    About.LOG: (Caution.LOGGER,),
}

WORDS: dict[Caution, str] = {
    Caution.METER: "A forecast does not replace a meter.",
    Caution.FLOOR_LOAD: "This is weight, not capacity; ask a licensed engineer.",
    Caution.LEANING: "If a stack leans, keep people away from it.",
    Caution.TARP: (
        "A tarp to the ground makes mould: cover the top, leave the sides open."
    ),
    Caution.MOULD: "Mould and wood dust harm lungs: wear a fitted respirator.",
    Caution.HEATER: (
        "Heaters and dehumidifiers: clear space around, straight into a wall socket, "
        "never unattended; ask an electrician."
    ),
    Caution.HEAT_TREATMENT: (
        "Hot enough is not certified: plant-health rules and your authority decide on "
        "moving wood."
    ),
    Caution.STRUCTURAL: (
        "Moisture content is not a grade: structural use needs grading and your local "
        "building official."
    ),
    Caution.LOGGER: (
        "A logger is right to 2 or 3 % RH at best; a salt test shows its offset."
    ),
}


def find_cautions(
    *about: About,
    kinds: Iterable[str] = (),
    thickness_mm: float = 0.0,
    risks: Iterable[RiskWeek] = (),
) -> tuple[Caution, ...]:
    """Return the cautions that apply, each once, in the order of `Caution`.

    Parameters
    ----------
    *about : About
        What the answer is about or has people do.
    kinds : iterable of str
        Storage kinds of the places used, whatever their owner calls them.
    thickness_mm : float
        Of the boards, mm; the thickest.
    risks : iterable of RiskWeek
        Those the answer gives advice on.

    Examples
    --------
    >>> [c.name for c in find_cautions(About.FORECAST, kinds=["loft", "workshop"])]
    ['METER', 'FLOOR_LOAD', 'HEATER']
    """
    found = {caution for one in about for caution in CAUTIONS_ABOUT[one]}
    for kind in kinds:
        found.update(KINDS[kind].cautions)
        if About.STACK in about:
            found.update(KINDS[kind].stack_cautions)
    if thickness_mm >= TIMBER_MM:
        found.add(Caution.STRUCTURAL)
    for week in risks:
        if week.risk == "mould" and week.level in ("high", "severe"):
            found.add(Caution.MOULD)
        if week.cause is Cause.POWDERPOST:  # its advice names heat
            found.add(Caution.HEAT_TREATMENT)
    return tuple(caution for caution in Caution if caution in found)


def caution_words(cautions: Iterable[Caution]) -> tuple[str, ...]:
    """Say each caution in a sentence."""
    return tuple(WORDS[caution] for caution in cautions)
