"""What `plan` answers with."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.air import StorageAir
from emcforecast.forecast.recent_years import RecentYears
from emcforecast.forecast.risk_weeks import Danger
from emcforecast.forecast.tabular import Tabular, Variable
from emcforecast.forecast.targets import Target
from emcforecast.storage.drivers import Fallback
from emcforecast.wood.board import Board


class Drawback(Enum):
    """What speaks against leaving wood in a place."""

    RAIN_UNKNOWN = "rain unknown"
    GREEN_IN_CLOSED_PLACE = "green wood in a closed place"


@dataclass(frozen=True)
class Leg:
    """One stay of a route.

    Parameters
    ----------
    setting, kind : str
        The place.
    start : date
    end : date or None
        None for the last.
    moisture_at_end : float or None
        Middle of the runs on leaving, % MC; None for the last.
    """

    setting: str
    kind: str
    start: date
    end: date | None
    moisture_at_end: float | None


@dataclass(frozen=True)
class Dates:
    """Early, likely and late date; None where not reached."""

    p10: date | None
    p50: date | None
    p90: date | None


@dataclass(frozen=True)
class LastMove:
    """The last move made on a day, and what comes of it.

    Parameters
    ----------
    day : date
        Of the move.
    chance : float
        Of being ready when needed.
    acclimate_days : tuple of float or None
        Days from the move to ready: middle and nine in ten.
    ready : Dates
        When first ready.
    """

    day: date
    chance: float
    acclimate_days: tuple[float | None, float | None]
    ready: Dates


@dataclass(frozen=True)
class Earliest:
    """When wood that is not sure to be ready on the need date first can be.

    Parameters
    ----------
    ready : date
        The first later day that has the chance by any move.
    move : date or None
        The last day of the last move that does it; None where nothing is moved.
    chance : float
        Of being ready on that day.
    route : tuple of Leg
        What to do.
    """

    ready: date
    move: date | None
    chance: float
    route: tuple[Leg, ...]


@dataclass(frozen=True)
class Gentler:
    """A route with fewer severe risks than the one that moisture alone chooses.

    Parameters
    ----------
    route : tuple of Leg
    chance : float
        Of being ready on the need date.
    dangers : tuple of Danger
        What is severe on it too.
    """

    route: tuple[Leg, ...]
    chance: float
    dangers: tuple[Danger, ...]


@dataclass(frozen=True, repr=False)
class Plan(Tabular):
    """What `plan` found.

    Parameters
    ----------
    board : Board
    target : Target
    stacked, need : date
    known_to : date or None
        Up to here the weather is the actual one; None where none is.
    places : dict of str to str
        The setting and its kind in words.
    green : bool
        Whether it is stacked wetter than a closed place takes it.
    forced_start : bool
        Whether green wood begins in a closed loft because nothing airier is at hand.
    feasible : dict of str to float
        Chance that each setting alone has the wood ready on the need date.
    drawbacks : dict of str to Drawback
        What speaks against staying there alone, where something does.
    route : tuple of Leg
        The way to take, as `emcforecast.forecast.plan.choose` chooses it.
    probability_by_need : float
        Chance of being ready on the need date by that route.
    bring_in_by, bring_in_even : date or None
        The last date to make the last move with 90 and with 50 % certainty.
    latest : LastMove or None
        What comes of moving on `bring_in_by`.
    little_lost_until : date or None
        The last date of the last move that costs at most 5 in 100.
    acclimate_days : tuple of float or None
        Days from the last move to ready: middle and nine in ten.
    ready : Dates
        When first ready by that route.
    ready_earlier : float
        Share of the runs that are ready before the need date and not on it.
    moisture_by_need, equilibrium_by_need : float
        Middle of the runs on the need date, and of boards that have long been dry in
        the last place, % MC.
    another_year : float
        The same route's chance if last move and need are a year later.
    earliest, earliest_even : Earliest or None
        Where the need date is not 90 % sure, the first later day that is; where it has
        no even chance, the first later day that has. None too where there is no such
        day within three years.
    dangers : tuple of Danger
        The grave risks of the route that are severe, one spell each.
    gentler : Gentler or None
        Where some are, the surest other way with fewer.
    simpler : dict of tuple of str to float
        Chains of fewer moves than the route's, with the best chance of each; none has
        both fewer moves and a better chance than another.
    curve_days, curve : ndarray
        Date of the last move and the chance of being ready when needed.
    recent : RecentYears or None
        What the last years alone say, where they differ from all.
    years : int
        Weather years behind it; 1 where they tell no year-to-year range.
    air : StorageAir
        The air of the places.
    fallbacks : tuple of Fallback
        What the weather lacked and what stood in for it.
    emc : ndarray, shape (years, 365)
        Daily EMC of the last setting, %, from 1 January, for the picture.
    emc_years : tuple of int
        Which calendar years those are.
    """

    board: Board
    target: Target
    stacked: date
    need: date
    known_to: date | None
    places: dict[str, str]
    green: bool
    forced_start: bool
    feasible: dict[str, float]
    drawbacks: dict[str, Drawback]
    route: tuple[Leg, ...]
    probability_by_need: float
    bring_in_by: date | None
    bring_in_even: date | None
    latest: LastMove | None
    little_lost_until: date | None
    acclimate_days: tuple[float | None, float | None]
    ready: Dates
    ready_earlier: float
    moisture_by_need: float
    equilibrium_by_need: float
    another_year: float
    earliest: Earliest | None
    earliest_even: Earliest | None
    dangers: tuple[Danger, ...]
    gentler: Gentler | None
    simpler: dict[tuple[str, ...], float]
    curve_days: NDArray[np.datetime64] = field(repr=False)
    curve: FloatArray = field(repr=False)
    recent: RecentYears | None
    years: int
    air: StorageAir = field(repr=False)
    fallbacks: tuple[Fallback, ...]
    emc: FloatArray = field(repr=False)
    emc_years: tuple[int, ...]

    @property
    def too_dry(self) -> bool:
        """Whether boards left in the last place settle too dry for the target."""
        least = self.target.least
        return least is not None and self.equilibrium_by_need < least

    def _coordinates(self) -> dict[str, Any]:
        days = self.curve_days.astype("datetime64[ns]")
        name = {"standard_name": "time", "long_name": "day of the last move"}
        return {"last_move": ("last_move", days, name)}

    def _attributes(self) -> dict[str, Any]:
        return {
            **self.air.origin,
            "species": str(self.board.species),
            "thickness_mm": self.board.thickness_mm,
            "stacked": str(self.stacked),
            "need": str(self.need),
            "target_mc": self.target.high,
            "route": "; ".join(f"{leg.start} {leg.setting}" for leg in self.route),
            "probability_by_need": self.probability_by_need,
            "bring_in_by": self.bring_in_by and str(self.bring_in_by),
            "bring_in_even_chance": self.bring_in_even and str(self.bring_in_even),
        }

    def _variables(self) -> dict[str, Variable]:
        title = "chance of being ready on the need date"
        return {
            "probability": (
                "last_move",
                self.curve,
                {"units": "1", "long_name": title},
            )
        }

    def _summary(self) -> tuple[str, Sequence[tuple[str, str]]]:
        head = f"{self.board.thickness_mm:g} mm {self.board.species} for "
        head += f"{self.target.label} by {self.need}"
        rows = [("chance", f"{self.probability_by_need:.2f}")]
        rows += [(str(leg.start), f"{leg.setting} ({leg.kind})") for leg in self.route]
        if self.earliest is not None:
            rows.append(("first 90 % sure", str(self.earliest.ready)))
        return head, rows
