"""What is told of a yard: every stack today, when it gets where, what is next."""

from dataclasses import dataclass
from datetime import date

from emcforecast.ensemble.percentiles import Range
from emcforecast.forecast.targets import Target
from emcforecast.storage.settings import Setting
from emcforecast.wood.risks.week import RiskWeek
from emcforecast.wood.weight import board_density
from emcforecast.yard.actions import Action
from emcforecast.yard.advice import Advice
from emcforecast.yard.course import Course
from emcforecast.yard.model import Stack, Yard
from emcforecast.yard.questioned import Judged
from emcforecast.yard.recent import Recent
from emcforecast.yard.updated import Heard


@dataclass(frozen=True)
class Reach:
    """When a stack reaches a moisture content where it lies.

    Parameters
    ----------
    mc : float
        % of oven-dry mass.
    p10, p50, p90 : date or None
        In lucky, middling and cautious weather; None where it is not reached.
    fraction_reached : float
        Share of the runs that get there within the look ahead.
    """

    mc: float
    p10: date | None
    p50: date | None
    p90: date | None
    fraction_reached: float


@dataclass(frozen=True)
class StackState:
    """One stack today.

    Parameters
    ----------
    stack : Stack
    setting : str
        Where it lies, as the yard names it.
    storage : Setting
        The kind behind it.
    target : Target or None
    mean, shell, core : Range
        Moisture now, % of oven-dry mass.
    reaches : tuple of Reach
        30, 20 and the target.
    advice : Advice
    heard : Heard
        What its readings did to the forecast.
    risks : tuple of RiskWeek
        Of the coming week, high and worse.
    recent : Recent or None
        What recent years alone say, where that differs.
    actions : tuple of Action
        All there is to do, the next first.
    course : Course or None
        Its moisture by day, where a picture is to be drawn.
    """

    stack: Stack
    setting: str
    storage: Setting
    target: Target | None
    mean: Range
    shell: Range
    core: Range
    reaches: tuple[Reach, ...]
    advice: Advice
    heard: Heard
    risks: tuple[RiskWeek, ...]
    recent: Recent | None
    actions: tuple[Action, ...]
    course: Course | None = None

    @property
    def weight_kg(self) -> float | None:
        """Weight of its boards now, kg, where the yard file counts them."""
        boards = self.stack.boards
        if boards is None:
            return None
        area = boards.length_mm * boards.width_mm * boards.count / 1e6
        volume = area * self.stack.thickness.actual_mm / 1000.0
        return volume * board_density(self.stack.species, self.mean.p50)

    @property
    def next(self) -> Action:
        """The next thing to do."""
        return self.actions[0]


@dataclass(frozen=True)
class YardState:
    """The whole yard today.

    Parameters
    ----------
    yard : Yard
    today : date
    stacks : tuple of StackState
        The most urgent first.
    judged : Judged
        The readings log.
    warnings : tuple of str
        What weakens the answer.
    """

    yard: Yard
    today: date
    stacks: tuple[StackState, ...]
    judged: Judged
    warnings: tuple[str, ...]
