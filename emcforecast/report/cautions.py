"""The one rule set of cautions: which apply to places, wood and actions, and its words.

Common practice, no source; local codes and licensed practice decide.
"""

from collections.abc import Iterable

from emcforecast.cautions import Caution
from emcforecast.language import N_, _
from emcforecast.storage.kinds import KINDS
from emcforecast.wood.risks.week import Cause, RiskWeek

WORDS: dict[Caution, str] = {
    Caution.METER: N_("A forecast does not replace a meter."),
    Caution.WEIGHT: N_("Stacks are heavy: ask a licensed engineer what a floor bears."),
    Caution.LEANING: N_("If a stack leans, keep people away from it."),
    Caution.TARP: N_(
        "A tarp to the ground makes mould: cover the top, leave the sides open."
    ),
    Caution.MOULD: N_("Mould and wood dust harm lungs: wear a fitted respirator."),
    Caution.HEATER: N_(
        "Heaters and dehumidifiers: clear space around, straight into a wall socket, "
        "never unattended; ask an electrician."
    ),
    Caution.HEAT_TREATMENT: N_(
        "Hot enough is not certified: plant-health rules and your authority decide on "
        "moving wood."
    ),
    Caution.STRUCTURAL: N_(
        "Moisture content is not a grade: structural use needs grading and your local "
        "building official."
    ),
    Caution.LOGGER: N_(
        "A logger is right to 2 or 3 % RH at best; a salt test shows its offset."
    ),
}
TIMBER_MM = 75.0
"""Boards so thick may be meant to bear loads."""


def cautions_for(
    kinds: Iterable[str] = (),
    *,
    stacked: bool = False,
    thickness_mm: float = 0.0,
    dust: bool = False,
    risks: Iterable[RiskWeek] = (),
    also: Iterable[Caution] = (),
) -> tuple[Caution, ...]:
    """Decide which cautions apply, whatever the owner calls the places.

    Parameters
    ----------
    kinds : iterable of str
        Storage kinds of the places where wood is or is advised to go.
    stacked : bool
        Whether a stack is put there, not only the place looked at.
    thickness_mm : float
        Of the boards, mm.
    dust : bool
        Whether boards are cut.
    risks : iterable of RiskWeek
        Those the answer gives advice on.
    also : iterable of Caution
        What the command itself calls for.

    Returns
    -------
    tuple of Caution
        Each once, in the order of the topics.
    """
    wanted = set(also)
    for kind in map(KINDS.__getitem__, kinds):
        wanted |= kind.cautions
        if stacked:
            wanted |= kind.stack_cautions
    if dust:
        wanted.add(Caution.MOULD)
    if thickness_mm >= TIMBER_MM:
        wanted.add(Caution.STRUCTURAL)
    for week in risks:
        if week.risk == "mould" and week.level in ("high", "severe"):
            wanted.add(Caution.MOULD)
        if week.cause is Cause.POWDERPOST:  # its advice names heat
            wanted.add(Caution.HEAT_TREATMENT)
    return tuple(caution for caution in Caution if caution in wanted)


def caution_words(cautions: Iterable[Caution]) -> tuple[str, ...]:
    """Say cautions, one sentence each."""
    return tuple(_(WORDS[caution]) for caution in cautions)
