"""Dates, chances, places and stays of a plan in a few words."""

from datetime import date

from emcforecast.dates import spoken
from emcforecast.forecast.plan.result import Drawback, Leg, Plan
from emcforecast.forecast.plan.success import EVENS
from emcforecast.language import N_, _
from emcforecast.report.names import (
    Form,
    place_title,
    target_numbers,
)
from emcforecast.report.words import in_hundred

PROBABLE, IMPROBABLE = 0.75, 0.25
CERTAIN, HARDLY = 0.95, 0.05
NEAR_IN_TIME = 7
"""Days by which two dates must differ to be said apart."""


def day_words(day: date | None, missing: str = N_("not reached")) -> str:
    """Return a date as people say it: "12 October 2026"."""
    return _(missing) if day is None else spoken(day)


BEYOND = N_("not within the time looked at")


def chance_words(chance: float) -> str:
    """Return a chance in words and in hundreds.

    Examples
    --------
    >>> chance_words(0.88)
    'probably, 88 in 100'
    """
    steps = (
        (CERTAIN, N_("almost surely, {share}")),
        (PROBABLE, N_("probably, {share}")),
        (EVENS, N_("an even chance or better, {share}")),
    )
    words = next((words for least, words in steps if chance >= least), "")
    words = words or (
        N_("almost surely not, {share}")
        if chance <= HARDLY
        else N_("probably not, {share}")
        if chance <= IMPROBABLE
        else N_("uncertain, {share}")
    )
    return _(words, share=in_hundred(chance))


def place_of(found: Plan, name: str, form: Form = "place") -> str:
    """Name one of the places of a plan by its kind."""
    kinds = {setting.name: setting.kind for setting in found.air.places}
    return place_title(kinds[name], form)


def drawback_words(found: Plan, name: str) -> str | None:
    """Say what speaks against leaving the wood in one place, or None."""
    drawback = found.drawbacks.get(name)
    if drawback is None:
        return None
    if drawback is Drawback.RAIN_UNKNOWN:
        return _("as if no rain fell: the weather has none")
    return _(
        "green wood straight into the {place} checks and moulds",
        place=place_of(found, name, "into the place"),
    )


def leg_words(found: Plan, leg: Leg) -> str:
    """Say what a stay of a route leads to."""
    if leg.moisture_at_end is None:
        return _("to the target, {moisture}", moisture=target_numbers(found.target))
    return _("then about {mc:.0f} % on average", mc=leg.moisture_at_end)
