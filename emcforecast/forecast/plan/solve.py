"""The planner: the best route for a question, and how sure each day of moving is."""

from dataclasses import dataclass, replace

import numpy as np

from emcforecast._types import IntArray, Progress
from emcforecast.forecast.plan.choose import TIE, leaders, preferred, surest
from emcforecast.forecast.plan.earliest import EarliestDay, earliest
from emcforecast.forecast.plan.move_date import MoveCurve, move_curve
from emcforecast.forecast.plan.question import Chain, Question, Route
from emcforecast.forecast.plan.search import evaluate, search
from emcforecast.forecast.plan.success import EVENS, HAIR, SURE
from emcforecast.language import _

FEW = 12
"""Runs that the search makes do with."""


@dataclass(frozen=True)
class Solution:
    """What the planner found.

    Parameters
    ----------
    asked : Question
        What was asked, with the places that had to be avoided in the end.
    best : Route
        The route to take.
    routes : tuple of Route
        All that were evaluated with every run.
    curve : MoveCurve or None
        Chance by day of the best route's last move; None where it has none.
    """

    asked: Question
    best: Route
    routes: tuple[Route, ...]
    curve: MoveCurve | None

    def latest(self, level: float) -> int | None:
        """Return the last day of the last move with a chance, days since stacking."""
        return None if self.curve is None else self.curve.latest(level)

    def earliest(
        self, *, even_too: bool = True
    ) -> tuple[EarliestDay | None, EarliestDay | None]:
        """First later day that is 90 % sure, and first with an even chance.

        None where the need date is as sure already, or no day within three years is.
        """
        if self.best.chance >= SURE:
            return None, None
        few = few_runs(self.asked)
        return earliest(self.asked, few, self.best, even_too=even_too)


def solve(asked: Question, progress: Progress | None = None) -> Solution:
    """Find the best route through the places at hand and when to make each move.

    Parameters
    ----------
    asked : Question
        What is asked.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Solution

    Notes
    -----
    Every route is tried with a few runs on a coarse grid, the best ones with all of
    them, and the last move of the best day by day. The surest is taken, or one 3 in
    100 less sure that has fewer moves, is sheltered from the start, or makes its last
    move later. Wood for outdoors is kept out of places too dry for it, unless no route
    through the others has an even chance.
    """
    found = _solve(asked, progress or (lambda fraction, what: None))
    if asked.avoided and found.best.chance < EVENS:
        anywhere = _solve(replace(asked, avoided=()), lambda fraction, what: None)
        if anywhere.best.chance > found.best.chance + TIE:
            return anywhere
    return found


def few_runs(asked: Question) -> IntArray:
    """Choose runs for the search: every year where they do, other draws in each."""
    year = np.unique(asked.ensemble.year, return_inverse=True)[1]
    # Rank within its year, so that the first of every year come before the second.
    order = np.argsort(year, kind="stable")
    counts = np.bincount(year)
    rank = np.empty(year.size, dtype=np.int64)
    rank[order] = np.arange(year.size) - np.repeat(np.cumsum(counts) - counts, counts)
    by_turn = np.lexsort((year, rank))
    if counts.size > FEW:
        spread = np.arange(FEW) * counts.size // FEW
        return np.sort(by_turn[spread])
    return np.sort(by_turn[: min(FEW, year.size)])


def _solve(asked: Question, progress: Progress) -> Solution:
    stays = evaluate(asked, [_stay(asked, k) for k in asked.states])
    if max(route.chance for route in stays) >= 1.0 - TIE - HAIR:
        return Solution(asked, preferred(stays), tuple(stays), None)
    routes = search(asked, few_runs(asked))
    progress(0.5, _("bring-in dates"))
    found = surest(asked, routes)
    moved = [lead for lead in leaders(found) if lead.moves]
    drawn = [move_curve(asked, lead) for lead in moved]
    curves = {_chain(lead): curve for lead, curve in zip(moved, drawn, strict=True)}
    surest_yet = max(route.chance for route in found)
    surest_yet = max([surest_yet, *(float(c.chance.max()) for c in drawn)])
    found += evaluate(
        asked,
        [
            lead.moved_on(*lead.moves[:-1], curve.best(surest_yet))
            for lead, curve in zip(moved, drawn, strict=True)
        ],
    )
    # Wood in the rain goes under its roof as soon as may be, where that costs nothing.
    at_once = [
        route.moved_on(asked.first_move, *route.moves[1:])
        for route in found
        if route.roofed and route.moves[0] > asked.first_move
    ]
    # Many ways differ in the day of their first move alone: each is followed once.
    found += evaluate(asked, list(dict.fromkeys(at_once)))
    best = preferred(found)
    if best.moves and _chain(best) not in curves:
        curves[_chain(best)] = move_curve(asked, best)
    return Solution(asked, best, tuple(found), curves.get(_chain(best)))


def _stay(asked: Question, place: int) -> Route:
    return Route((place,), (), bare=not asked.air.places[place].about.covered)


def _chain(route: Route) -> Chain:
    """Tell routes apart by all but their last move."""
    return route.places, route.moves[:-1]
