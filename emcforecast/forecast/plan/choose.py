"""Which of the routes found is the one to take."""

from collections.abc import Sequence

from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.search import evaluate
from emcforecast.forecast.plan.success import EVENS, HAIR, SURE

RIVALS = 6
"""Routes through other chains of places that are held against the surest chain."""
WITHIN, LITTLE = 0.2, 0.05
"""They are within this of the surest, by the few runs of the search; what is less by
no more than this is little less."""
TRIES = 3
"""Days of moving through a chain that are tried until one is found that may be."""
NOISE = 0.1
"""By so much the few days evaluated so far may have missed a chain's best."""
ASIDE = (-14, 14)
"""Days beside a first move of the coarse grid that are tried; a last move is tried on
every day (`move_curve`)."""
TIE = 0.03
"""So much surer a route does not buy another move, an open stack or an earlier move:
it is noise."""
NEAR_ENOUGH = 0.2
"""Where nothing succeeds, what is within this of the driest counts as good, % MC."""


def surest(asked: Question, routes: Sequence[Route]) -> list[Route]:
    """Evaluate with every run those routes of the search that may be the surest.

    Parameters
    ----------
    asked : Question
        What is asked, of every run.
    routes : sequence of Route
        As evaluated by a few; those without a move by all.

    Returns
    -------
    list of Route
        The best of every chain of places that comes near the surest, and so many
        more of all chains but the one that then leads.
    """
    ordered = sorted(routes, key=lambda route: route.rank, reverse=True)
    near = [r for r in ordered if r.chance >= ordered[0].chance - WITHIN]
    stays = [route for route in routes if not route.moves]
    found = list(stays)
    tried: set[Route] = set()
    for _ in range(TRIES):
        # A chain whose last place would not yet take the wood is tried again later.
        known = {route.places for route in found}
        chains: dict[tuple[int, ...], Route] = {}
        for route in near:
            if route.places not in known and route not in tried:
                chains.setdefault(route.places, route)
        tried.update(chains.values())
        found += evaluate(asked, list(chains.values()))
    lead = max(found, key=lambda route: route.rank)
    if lead.chance < 1.0:
        done = {lead.places, *(route.places for route in stays)}
        rest = [r for r in near if r.places not in done and r not in tried]
        found += evaluate(asked, rest[:RIVALS])
    return found + evaluate(asked, _beside(found, asked.first_move))


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
    for chain in sorted({r.places for r in routes} - {lead.places}):
        top = max((r for r in routes if r.places == chain), key=lambda r: r.rank)
        as_sure = top.evaluated(lead.chance, lead.excess)
        if top.chance >= lead.chance - NOISE and as_sure.rank[:4] > lead.rank[:4]:
            best.append(top)
    return best


def as_sure(top: float) -> float:
    """Return the least chance that counts as that of the surest route.

    `TIE` below it, but what is 90 % sure or has an even chance is not given up for a
    plainer route.

    Examples
    --------
    >>> as_sure(1.0), as_sure(0.91), as_sure(0.5)
    (0.97, 0.9, 0.5)
    """
    promised = [level for level in (SURE, EVENS) if top >= level - HAIR]
    return max([top - TIE, *promised])


def preferred(routes: Sequence[Route]) -> Route:
    """Choose the route to take: the surest, or a plainer one that is as good.

    Parameters
    ----------
    routes : sequence of Route
        Evaluated with every run.

    Returns
    -------
    Route
        Of those `as_sure` as the surest (where nothing is surer than `TIE`: within
        `NEAR_ENOUGH` of the driest) one that does not leave the wood uncovered until
        it goes indoors, with the fewest moves, then sheltered from
        the start or soonest brought under a roof, then with the latest last move, or
        where success is less than even the surest.
    """
    lead = max(routes, key=lambda route: route.rank)
    good = [route for route in routes if route.chance >= as_sure(lead.chance) - HAIR]
    if lead.chance <= TIE:
        least = min(route.excess for route in routes)
        good = [route for route in routes if route.excess <= least + NEAR_ENOUGH]

    def merit(route: Route) -> tuple[object, ...]:
        sure = route.chance, -round(route.excess, 1)
        last = route.moves[-1:]
        left_in_the_rain = route.bare and route.moves and not route.roofed
        return (
            not left_in_the_rain,
            -len(route.moves),
            not route.bare,
            -route.moves[0] if route.roofed else 0,
            *((last, *sure) if lead.chance >= EVENS else (*sure, last)),
        )

    return max(good, key=merit)


def _beside(routes: Sequence[Route], start: int) -> list[Route]:
    """Propose routes beside the best of every chain that is little less sure."""
    lead = max(routes, key=lambda route: route.rank)
    beside: set[Route] = set()
    for chain in {r.places for r in routes if r.moves}:
        top = max((r for r in routes if r.places == chain), key=lambda r: r.rank)
        if top.chance < lead.chance - LITTLE:
            continue
        *early, last = top.moves
        for first in (early[0] + k for k in ASIDE) if early else ():
            if start <= first < last:
                beside.add(top.moved_on(first, last))
    return sorted(beside, key=lambda route: (route.places, route.moves))
