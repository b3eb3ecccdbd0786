"""What the planner is asked, and the routes that it answers with."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.calendar import Day
from emcforecast.ensemble.draws import SORPTION_SPREAD, WIDEST
from emcforecast.ensemble.run_boards import Moisture
from emcforecast.ensemble.runs import Ensemble
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.errors import InputError
from emcforecast.forecast.plan.success import bounded_below
from emcforecast.forecast.targets import Target
from emcforecast.language import _
from emcforecast.storage.kinds import KINDS, SETTINGS
from emcforecast.wood.board import Board

MARK = 28
"""Days between the kept states of runs that stay where they are."""
SPELL_DAYS, THIN_DAYS, THIN_MM = 20, 5, 15.0
"""Days of air that a board follows, and of a thin one (mm)."""


@dataclass(frozen=True)
class Route:
    """Places by number, the days of the moves, and how well it does.

    Parameters
    ----------
    places : tuple of int
        In order.
    moves : tuple of int
        Days since the stacking, one fewer than places.
    chance : float
        Share of the runs that are ready on the need date.
    excess : float
        Points too wet on the need date, middle of the runs, % MC.
    bare : bool
        Whether it begins uncovered.
    roofed : bool
        Whether its first move then brings it under a roof that takes damp wood.
    """

    places: tuple[int, ...]
    moves: tuple[int, ...]
    chance: float = 0.0
    excess: float = 0.0
    bare: bool = False
    roofed: bool = False

    @property
    def rank(self) -> tuple[float, float, int, bool, int]:
        """Better is greater: surer, nearer, fewer moves, sheltered, later."""
        return (
            self.chance,
            -round(self.excess, 1),
            -len(self.moves),
            not self.bare,
            self.moves[-1] if self.moves else 0,
        )

    def moved_on(self, *moves: int) -> "Route":
        """Return the same places with moves on other days, not evaluated."""
        return Route(self.places, moves, bare=self.bare, roofed=self.roofed)

    def evaluated(self, chance: float, excess: float) -> "Route":
        """Return the same route with its chance and its excess."""
        return replace(self, chance=float(chance), excess=float(excess))


Chain: TypeAlias = tuple[tuple[int, ...], tuple[int, ...]]
"""Places, and the days of the moves between them."""


@dataclass(frozen=True)
class Stay:
    """The runs left in one place, from now or from a move on.

    Parameters
    ----------
    path : Moisture
        Daily.
    states : tuple of ndarray
        Of the boards, every `MARK` days.
    """

    path: Moisture
    states: tuple[FloatArray, ...] = field(repr=False)

    def take(self, index: IntArray) -> "Stay":
        """Return some of the runs, by number."""
        states = tuple(state[:, index] for state in self.states)
        return Stay(self.path.take(index), states)


@dataclass(frozen=True)
class Question:
    """A stack as it stands now, the places at hand, what it is for and when.

    Parameters
    ----------
    ensemble : Ensemble
        The runs; all count alike.
    board : Board
        Species and thickness.
    begun : datetime64[D]
        The stacking.
    now : int
        Days since the stacking: nothing is moved before.
    states : mapping of int to ndarray
        State of the boards now, for each place in which they are or may begin.
    moisture : mapping of int to ndarray, shape (runs,)
        Their mean moisture now, % MC.
    places : tuple of int
        Places at hand.
    need : int
        Days from the stacking to the need date.
    target : Target
        What the wood must be fit for.
    avoided : tuple of int
        Places that no route leads into: they would dry the wood too far.
    """

    ensemble: Ensemble = field(repr=False)
    board: Board
    begun: Day
    now: int
    states: Mapping[int, FloatArray] = field(repr=False)
    moisture: Mapping[int, FloatArray] = field(repr=False)
    places: tuple[int, ...]
    need: int
    target: Target
    avoided: tuple[int, ...] = ()
    _stays: dict[Chain, Stay] = field(default_factory=dict, repr=False, compare=False)

    @property
    def air(self) -> StorageAir:
        """Air of the places."""
        return self.ensemble.air

    @property
    def runs(self) -> int:
        """How many."""
        return self.ensemble.count

    @property
    def first_move(self) -> int:
        """First day since the stacking on which anything may be moved."""
        return max(self.now, 1)

    def onward(self, visited: Sequence[int]) -> list[int]:
        """Return the places to which a stack may go on: never to an airier kind."""
        rank = _rank(self.air, visited[-1])
        return [
            k
            for k in self.places
            if k not in visited and k not in self.avoided and _rank(self.air, k) >= rank
        ]

    def hopeless(self, place: int) -> bool:
        """Whether wood too wet for the target cannot come down to it in a place."""
        wettest = min(float(np.median(mc)) for mc in self.moisture.values())
        thin = self.board.thickness_mm < THIN_MM
        driest = self.air.driest_spell_emc(place, THIN_DAYS if thin else SPELL_DAYS)
        lowest = 100.0 * driest * (1.0 - WIDEST * SORPTION_SPREAD)
        return wettest > self.target.high and lowest > self.target.high

    def some(self, index: IntArray) -> "Question":
        """Return the question for a few of the runs."""
        return replace(
            self,
            ensemble=self.ensemble.take(index),
            states={k: state[:, index] for k, state in self.states.items()},
            moisture={k: mc[index] for k, mc in self.moisture.items()},
            _stays={chain: stay.take(index) for chain, stay in self._stays.items()},
        )

    def stay(self, places: Sequence[int], moves: Sequence[int], until: int) -> Moisture:
        """Leave every run in the last of several places up to a day.

        Parameters
        ----------
        places, moves : sequence of int
            As of a `Route`.
        until : int
            Days since the stacking.

        Returns
        -------
        Moisture
            Daily from now, or from the last move. Followed once, however often it is
            asked for.
        """
        place, begun = places[-1], moves[-1] if moves else self.now
        chain = tuple(places), tuple(moves)
        known = self._stays.get(chain)
        if known is None:
            state = self.states[place] if not moves else self.arrive(places, moves)
            known = Stay(self.ensemble.stay(state, begun, begun, place), (state,))
        path, states = known.path, list(known.states)
        days = until - begun
        while path.mean.shape[0] <= days:
            day = begun + MARK * (len(states) - 1)
            part = self.ensemble.stay(states[-1], day, day + MARK, place)
            path = path.then(part)
            states.append(part.state)
        self._stays[chain] = Stay(path, tuple(states))
        marks, rest = divmod(days, MARK)
        state = states[marks]
        if rest:
            state = self.ensemble.stay(state, until - rest, until, place).state
        rows = slice(days + 1)
        return Moisture(path.mean[rows], path.shell[rows], path.core[rows], state)

    def arrive(self, places: Sequence[int], moves: Sequence[int]) -> FloatArray:
        """State of the runs on coming into the last of several places."""
        return self.stay(places[:-1], moves[:-1], moves[-1]).state


def ask(
    stacks: Mapping[int, Trajectories],
    places: Sequence[int],
    need: int,
    target: Target,
    index: IntArray | None = None,
) -> Question:
    """Ask for the best route of a stack that has been followed to now.

    Parameters
    ----------
    stacks : mapping of int to Trajectories
        The stack as it stands now, by the place it is in: one where that is known, else
        one for each place it may have begun in, all of the same runs.
    places : sequence of int
        Places at hand.
    need : int
        Days from the stacking to the need date.
    target : Target
        What the wood must be fit for.
    index : ndarray of int, optional
        Runs that stand for all, where readings have weighted them.

    Raises
    ------
    InputError
        Where the wood may begin nowhere.
    """
    if not stacks:
        raise InputError(
            _(
                "none of the places at hand takes green wood; add an airy "
                "one (--have outdoor or shed), or say --from-mc when it is "
                "already drier"
            )
        )
    first = next(iter(stacks.values()))
    every = np.arange(first.ensemble.count) if index is None else index
    here = [*stacks, *(k for k in places if k not in stacks)]
    air = first.ensemble.air
    order = sorted(here, key=lambda k: (_rank(air, k), here.index(k)))
    bounded, too_dry = bounded_below(air, order, target)
    return Question(
        first.ensemble.take(every),
        first.stack.board,
        first.begun,
        first.days,
        {k: stack.state[:, every] for k, stack in stacks.items()},
        {k: stack.mean[-1, every] for k, stack in stacks.items()},
        tuple(order),
        need,
        bounded,
        tuple(k for k in too_dry if k not in stacks),
    )


def _rank(air: StorageAir, place: int) -> int:
    return list(SETTINGS).index(KINDS[air.places[place].kind].setting)
