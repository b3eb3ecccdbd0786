"""What to do next with a stack, as values."""

from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from typing import Literal

from emcforecast.forecast.plan.result import Dates
from emcforecast.wood.risks.week import RiskWeek
from emcforecast.yard.corrected import Corrected

ActionKind = Literal[
    "weigh",
    "reading",
    "move",
    "bring-in",
    "ready",
    "wait",
    "risk",
    "stack",
    "describe",
    "late",
]
"""A short lasting word for each kind of action."""

NEVER = Dates(None, None, None)


class Reason(Enum):
    """What an action is about."""

    NOT_STACKED_YET = "not stacked yet"
    READY_NOW = "ready now"
    MAY_BE_READY = "may be ready"
    USE_UNKNOWN = "use unknown"
    PLANNED_MOVE = "planned move"
    BEYOND_HORIZON = "need date beyond the horizon"
    LAST_MOVE = "the move that makes it ready"
    MOVE_ON_THE_WAY = "a move on the way"
    READY_LATER = "ready later"
    READY_HERE = "ready where it is"
    READY_EARLIER_ONLY = "ready earlier, then takes moisture up again"
    NEED_DATE_PAST = "the need date has come"
    NOT_BY_NEED = "not ready by the need date"
    PLAN_FALLS_SHORT = "not ready by the moves that are planned"
    NOWHERE = "ready in none of the places"
    RISK = "risk of the week"
    DISAGREEMENT = "reading and forecast disagree"
    READING_NOT_USED = "a reading is not used"


@dataclass(frozen=True)
class Action:
    """One thing to do.

    Parameters
    ----------
    kind : ActionKind
    day : date
        The day to do it, or by which.
    reason : Reason
        What it is about.
    place : str
        The yard's name of the place to go to, or "".
    by : date or None
        Last day of the move that is 90 % sure; None where no day is.
    even_by : date or None
        Last day of the move with an even chance.
    chance : float or None
        Of being ready on the need date (or on `day`), doing so.
    staying : float or None
        Of being ready on the need date where it is.
    dates : Dates
        When it is ready: early, likely, late.
    lowest_mc : float or None
        How dry it gets where it is, middle, % of oven-dry mass.
    difference_mc : float or None
        Forecast less reading, without sign, % of oven-dry mass.
    how : str
        For a second reading: "weigh", "boards", "oven" or "pins".
    boards : tuple of str
        Sample boards to weigh.
    risk : RiskWeek or None
    reading : Corrected or None
        The reading that is not used.
    remind_days : int
        Days ahead for the calendar's reminder.
    """

    kind: ActionKind
    day: date
    reason: Reason
    place: str = ""
    by: date | None = None
    even_by: date | None = None
    chance: float | None = None
    staying: float | None = None
    dates: Dates = field(default=NEVER)
    lowest_mc: float | None = None
    difference_mc: float | None = None
    how: str = ""
    boards: tuple[str, ...] = ()
    risk: RiskWeek | None = None
    reading: Corrected | None = None
    remind_days: int = 0

    @property
    def in_calendar(self) -> bool:
        """Whether it is something to put on a day."""
        return self.kind not in ("risk", "wait", "describe", "late")

    @property
    def unhurried(self) -> bool:
        """Whether nobody has to do it this week, whatever its day."""
        return self.kind in ("wait", "describe", "stack") or self.reason in (
            Reason.READY_HERE,
            Reason.READY_LATER,
        )


@dataclass(frozen=True)
class BringIn:
    """The last move of a stack's route, as `plan` gives it.

    Parameters
    ----------
    setting : str
        Where to, as the yard names it.
    day : date
        When, by the route that is advised.
    by, even_by : date or None
        Last day with 90 % certainty and with an even chance.
    chance : float
        Of being ready on the need date, by the route.
    ready : Dates
        When it is ready, moving on `by`, or else on `day`.
    """

    setting: str
    day: date
    by: date | None
    even_by: date | None
    chance: float
    ready: Dates


@dataclass(frozen=True)
class Advice:
    """What to do with a stack.

    Parameters
    ----------
    actions : tuple of Action
        The most pressing first; at least one.
    stay_chance : float or None
        Probability of being ready on the need date where it is; at any time where no
        date is set.
    bring_in : BringIn or None
        The move that makes it ready, where it needs one.
    no_gain_after : date or None
        From here on waiting where it is gains nothing.
    ready : Dates
        When it is ready where it is: at or below the target and even.
    ready_earlier : float
        Share of the runs of the best route that are ready before the need date only.
    """

    actions: tuple[Action, ...]
    stay_chance: float | None = None
    bring_in: BringIn | None = None
    no_gain_after: date | None = None
    ready: Dates = NEVER
    ready_earlier: float = 0.0
