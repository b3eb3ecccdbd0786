"""What could spoil the wood on a route, and the gentler route where it is severe."""

from collections.abc import Callable, Sequence
from typing import TypeAlias

import numpy as np

from emcforecast.forecast.plan.question import Route
from emcforecast.forecast.plan.success import EVENS
from emcforecast.forecast.risk_weeks import Danger, spells
from emcforecast.wood.risks.week import Risk, RiskWeek

GRAVE: tuple[Risk, ...] = (
    "surface checks",
    "honeycomb",
    "collapse",
    "stain",
    "mould",
    "decay",
)
"""Risks that decide between routes; ends can be sealed on every one."""
RIVALS = 3
"""Other chains of places that are looked at."""
DEARER = 0.1
"""So much less sure a gentler route may be; an even chance always will do."""

Weigh: TypeAlias = Callable[[Route], tuple[RiskWeek, ...]]
"""The weekly risks of a route."""


def severe_dangers(
    weeks: Sequence[RiskWeek], since: np.datetime64
) -> tuple[Danger, ...]:
    """Return the spells of grave risks that are severe, from a day on, one a risk.

    Parameters
    ----------
    weeks : sequence of RiskWeek
        By risk, in order of time.
    since : datetime64[D]
        What is over by then is no choice any more.
    """
    grave = tuple(week for week in weeks if week.risk in GRAVE)
    found: dict[Risk, Danger] = {}
    for danger in spells(grave, "severe"):
        if danger.end > since:
            found.setdefault(danger.risk, danger)
    return tuple(found[risk] for risk in GRAVE if risk in found)


def gentler_route(
    best: Route,
    dangers: tuple[Danger, ...],
    routes: Sequence[Route],
    weigh: Weigh,
    since: np.datetime64,
) -> tuple[Route, tuple[Danger, ...]] | None:
    """Find the surest route through other places with fewer severe risks.

    Parameters
    ----------
    best : Route
        The one to take by moisture alone.
    dangers : tuple of Danger
        Its severe risks.
    routes : sequence of Route
        All that were evaluated with every run.
    weigh : callable
        The weekly risks of a route.
    since : datetime64[D]
        As of `severe_dangers`.

    Returns
    -------
    (Route, tuple of Danger) or None
        With what is severe on it too; None where none is gentler.
    """
    least = min(EVENS, best.chance - DEARER)
    chains: dict[tuple[int, ...], Route] = {}
    for route in sorted(routes, key=lambda route: route.rank, reverse=True):
        if route.places != best.places and route.chance >= least:
            chains.setdefault(route.places, route)
    found = []
    for route in list(chains.values())[:RIVALS]:
        left = severe_dangers(weigh(route), since)
        if len(left) < len(dangers):
            found.append((route, left))
        if not left:
            break
    return min(found, key=lambda one: len(one[1]), default=None)
