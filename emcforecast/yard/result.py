"""The state of a yard: every stack today, when it is how dry, what is next."""

from dataclasses import dataclass
from datetime import date

from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.percentiles import Range, Reached
from emcforecast.forecast.targets import Target
from emcforecast.storage.settings import Setting
from emcforecast.wood.risks.week import RiskWeek
from emcforecast.wood.weight import board_density
from emcforecast.yard.actions import Action, Advice
from emcforecast.yard.model import Stack, Yard
from emcforecast.yard.outlook import MoisturePath
from emcforecast.yard.questioned import Judged
from emcforecast.yard.reading_effect import ReadingEffect
from emcforecast.yard.recent_years import RecentAnswer


@dataclass(frozen=True)
class StackState:
    """One stack today.

    Parameters
    ----------
    stack : Stack
    setting : str
        Where it is, as the yard names it.
    storage : Setting
        The kind behind it.
    target : Target or None
    mean, shell, core : Range
        Moisture now, % of oven-dry mass.
    reaches : tuple of Reached
        30, 20 and the target.
    advice : Advice
    effect : ReadingEffect
        What its readings did to the forecast.
    risks : tuple of RiskWeek
        Of the coming week, high and worse.
    recent : RecentAnswer or None
        What recent years alone say, where that differs.
    actions : tuple of Action
        All there is to do, the next first.
    path : MoisturePath or None
        Its moisture by day, where a picture is to be drawn.
    """

    stack: Stack
    setting: str
    storage: Setting
    target: Target | None
    mean: Range
    shell: Range
    core: Range
    reaches: tuple[Reached, ...]
    advice: Advice
    effect: ReadingEffect
    risks: tuple[RiskWeek, ...]
    recent: RecentAnswer | None
    actions: tuple[Action, ...]
    path: MoisturePath | None = None

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
    air : StorageAir
        The air of every place.
    unread_columns : tuple of str
        Columns of the readings log that mean nothing to this program.
    """

    yard: Yard
    today: date
    stacks: tuple[StackState, ...]
    judged: Judged
    air: StorageAir
    unread_columns: tuple[str, ...]
