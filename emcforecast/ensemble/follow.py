"""A stack followed from its first day through every weather year."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.boards import (
    boards_of,
    start_content,
    start_state,
)
from emcforecast.ensemble.calendar import Day
from emcforecast.ensemble.draws import Members, draw
from emcforecast.ensemble.route import Stack
from emcforecast.ensemble.run_boards import Moisture
from emcforecast.ensemble.runs import (
    Ensemble,
    WeatherPaths,
    forecast_from_day,
    run_route,
    starts_of,
)
from emcforecast.ensemble.trajectories import Trajectories

RUNS = 64
"""Runs wanted, weather years times draws in each: two blocks of the board kernel."""
LEAST_DRAWS_A_YEAR = 2


def follow(
    air: StorageAir,
    stack: Stack,
    days: int,
    *,
    members: Members | None = None,
    years: Sequence[int] | None = None,
    pairing: Literal["deal", "cross"] = "deal",
    today: Day | None = None,
    draws_a_year: int | None = None,
    seed: int = 0,
) -> Trajectories:
    """Follow a stack from its first day through every weather year.

    Parameters
    ----------
    air : StorageAir
        The air of every place on its route.
    stack : Stack
        What stands where, from when.
    days : int
        How long from the first day; longer where the actual weather goes on.
    members : Members, optional
        Draws of what is not known; enough for `RUNS` runs when left out.
    years : sequence of int, optional
        Weather years to use; all when left out.
    pairing : {"deal", "cross"}
        Deal the draws out to the years in turn, or let every draw meet every year.
    today : datetime64[D], optional
        Actual weather is used up to here where the record holds it. When left out,
        as far as the record goes.
    draws_a_year : int, optional
        Draws for each weather year, where `members` is left out.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    Trajectories

    Notes
    -----
    A run that comes to the end of the record goes on with its beginning, at the same
    date of the year. From one year, real or typical, all runs have the same weather:
    what spread remains is that of the draws alone.
    """
    known = air.known_days(stack.begun, today)
    rows, names = starts_of(air, stack.begun + np.timedelta64(known, "D"), years)
    if members is None:
        each = draws_a_year or max(LEAST_DRAWS_A_YEAR, RUNS // names.size)
        members = draw(each * names.size, air.draws, seed)
    if pairing == "cross":
        member = np.repeat(np.arange(members.count), names.size)
        number = np.tile(np.arange(names.size), members.count)
    else:
        member = np.arange(members.count)
        number = member % names.size
    weather = WeatherPaths(
        (known,), (rows[number],), forecast_from_day(air, stack.begun, known, today)
    )
    if known:
        begin = np.full(member.size, air.years.row_of(stack.begun), dtype=np.int64)
        weather = WeatherPaths((0, known), (begin, rows[number]), weather.forecast_from)
    chosen = members.take(member)
    boards = boards_of(stack.board, chosen)
    ensemble = Ensemble(air, chosen, boards, weather, names[number], member)
    content = start_content(stack.board, chosen, stack.start_mc, stack.start_spread)
    state = start_state(boards, content)
    days, day, past = max(days, known), 0, None
    first = np.unique(member, return_index=True)[1]
    if known and first.size < member.size:
        # Runs of one draw are alike as long as they share the actual weather.
        few, shared = run_route(stack, ensemble.take(first), state[:, first], 0, known)
        past = Moisture(
            shared.mean[:, member],
            shared.shell[:, member],
            shared.core[:, member],
            shared.state[:, member],
        )
        ensemble = replace(ensemble, boards=few.boards.take(member))
        state, day = past.state, known
    ensemble, path = run_route(stack, ensemble, state, day, days)
    path = path if past is None else past.then(path)
    return Trajectories(
        stack,
        ensemble,
        path.mean,
        path.shell,
        path.core,
        path.state,
        np.full(member.size, 1.0 / member.size),
        stack.begun + np.timedelta64(known, "D"),
        tuple(names.tolist()),
    )


def known_to(air: StorageAir, begun: Day, today: Day | None) -> Day:
    """Return the day up to which the actual weather of a stack is used.

    Parameters
    ----------
    air : StorageAir
        The air.
    begun : datetime64[D]
        The stack's first day.
    today : datetime64[D] or None
        As for `follow`.
    """
    known: Day = begun + np.timedelta64(air.known_days(begun, today), "D")
    return known
