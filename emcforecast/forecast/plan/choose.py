"""Which of the routes found is the one to take."""

from collections.abc import Sequence

from emcforecast.forecast.plan.evaluate import judged
from emcforecast.forecast.plan.runs import Cast
from emcforecast.forecast.plan.search import Route
from emcforecast.forecast.plan.success import EVENS, HAIR
from emcforecast.forecast.targets import Target

RIVALS = 6
"""Routes by other chains of places that are judged against the surest chain."""
WITHIN, LITTLE = 0.2, 0.05
"""They lie within this of the surest, by the few runs of the search; what is less by
no more than this is little less."""
NOISE = 0.1
"""By so much the few days judged so far may have missed a chain's best."""
ASIDE = (-14, 14)
"""Days beside a move of the coarse grid that are tried."""
TIE = 0.03
"""So much surer a route does not buy another move, an open stack or an earlier move:
it is noise."""
COST = 0.08
"""So much surer a route does not buy green wood that checks in a loft (chosen)."""
NEAR_ENOUGH = 0.2
"""Where nothing succeeds, what is within this of the driest counts as good, % MC."""


def surest(
    runs: Cast, routes: Sequence[Route], from_mc: float | None, days: int, to: Target
) -> list[Route]:
    """Judge with every run those routes of the search that may be the surest.

    Parameters
    ----------
    runs : Cast
        Every run.
    routes : sequence of Route
        As judged by a few; those without a move by all.
    from_mc : float, optional
        Moisture when stacked, % MC.
    days : int
        From the stacking to the need date.
    to : Target
        What the wood must be fit for.

    Returns
    -------
    list of Route
        The best of every chain of places that comes near the surest, and so many
        more of all chains but the one that then leads.
    """
    ordered = sorted(routes, key=lambda route: route.rank, reverse=True)
    near = [r for r in ordered if r.chance >= ordered[0].chance - WITHIN]
    chains: dict[tuple[int, ...], Route] = {}
    for route in near:
        chains.setdefault(route.settings, route)
    stays = [route for route in routes if not route.moves]
    moved = [route for route in chains.values() if route.moves]
    found = stays + judged(runs, moved, from_mc, days, to)
    lead = max(found, key=lambda route: route.rank)
    if lead.chance < 1.0:
        done = {lead.settings, *(route.settings for route in stays)}
        rest = [r for r in near if r.settings not in done and r not in moved]
        found += judged(runs, rest[:RIVALS], from_mc, days, to)
    return found + judged(
        runs, _beside(found, runs.first_move, days), from_mc, days, to
    )


def leaders(routes: Sequence[Route]) -> list[Route]:
    """Choose the chains of places of which one or the other may be the best.

    Returns
    -------
    list of Route
        The best of the chain that leads, and of those a little less sure that would
        be preferred if they were as sure.
    """
    lead = max(routes, key=lambda route: route.rank)
    best = [lead]
    for chain in sorted({r.settings for r in routes} - {lead.settings}):
        top = max((r for r in routes if r.settings == chain), key=lambda r: r.rank)
        as_sure = top.judged(lead.chance, lead.excess)
        if top.chance >= lead.chance - NOISE and as_sure.rank[:5] > lead.rank[:5]:
            best.append(top)
    return best


def preferred(routes: Sequence[Route]) -> Route:
    """Choose the route to take: the surest, or a plainer one that is as good.

    Parameters
    ----------
    routes : sequence of Route
        Judged with every run.

    Returns
    -------
    Route
        Of those within `TIE` of the surest (where nothing is surer than that: within
        `NEAR_ENOUGH` of the driest) one whose green wood begins in the open, even
        where that costs up to `COST`; of these that with the fewest moves, then
        sheltered from the start, then with the latest last move, or where success is
        less than even the surest.
    """
    lead = max(routes, key=lambda route: route.rank)
    good = [route for route in routes if route.chance >= lead.chance - TIE - HAIR]
    if lead.chance <= TIE:
        least = min(route.excess for route in routes)
        good = [route for route in routes if route.excess <= least + NEAR_ENOUGH]

    airy = [route for route in routes if not (route.shut or route.bare)]
    if all(route.shut for route in good) and airy:
        surest_airy = max(airy, key=lambda route: route.rank)
        if surest_airy.chance >= lead.chance - COST - HAIR:
            least = surest_airy.chance - TIE - HAIR
            good = [route for route in airy if route.chance >= least]

    def merit(route: Route) -> tuple[object, ...]:
        sure = route.chance, -round(route.excess, 1)
        last = route.moves[-1:]
        return (
            not route.shut,
            -len(route.moves),
            not route.bare,
            *((last, *sure) if lead.chance >= EVENS else (*sure, last)),
        )

    return max(good, key=merit)


def _beside(routes: Sequence[Route], start: int, days: int) -> list[Route]:
    """Propose routes beside the best of every chain that is little less sure."""
    lead = max(routes, key=lambda route: route.rank)
    beside: set[Route] = set()
    for chain in {r.settings for r in routes if r.moves}:
        top = max((r for r in routes if r.settings == chain), key=lambda r: r.rank)
        if top.chance < lead.chance - LITTLE:
            continue
        *early, last = top.moves
        begin = (start - 1, *early)[-1]
        for day in (last + k for k in ASIDE):
            if begin < day < days:
                beside.add(top.moved(*early, day))
        for first in (early[0] + k for k in ASIDE) if early else ():
            if start <= first < last:
                beside.add(top.moved(first, last))
    return sorted(beside, key=lambda route: (route.settings, route.moves))
