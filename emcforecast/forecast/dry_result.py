"""The answer of `dry`: dates, equilibrium, risks, runs."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from emcforecast.ensemble.equilibrium import (
    Equilibrium,
)
from emcforecast.ensemble.percentiles import Reached, as_date, bands, quantiles
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.ensemble.update import Update
from emcforecast.forecast.best_reading import Settling
from emcforecast.forecast.risk_weeks import Danger
from emcforecast.forecast.tabular import Tabular, Variable, of_wood
from emcforecast.forecast.year_per_inch import Rule
from emcforecast.storage.drivers import Fallback
from emcforecast.storage.settings import Setting
from emcforecast.wood.board import Board
from emcforecast.wood.risks.week import RiskWeek

if TYPE_CHECKING:
    pass


@dataclass(frozen=True)
class Recent:
    """What recent years alone say.

    Parameters
    ----------
    years : tuple of int
        Which.
    floor : float
        Least moisture of a year at rest, middle, % of oven-dry mass.
    target : Reached
        The target.
    """

    years: tuple[int, ...]
    floor: float
    target: Reached


@dataclass(frozen=True, repr=False)
class Dry(Tabular):
    """The answer of `dry`.

    Parameters
    ----------
    board : Board
        The boards that govern: the slowest of the stack.
    route : tuple of (Setting, datetime64[D])
        Where it lies from when.
    start_mc : float
        Moisture content at the start, middle, % of oven-dry mass.
    steps : tuple of Reached
        30 % and 20 %.
    target : Reached
        The moisture content asked for.
    floor : float
        Least moisture of a year that dry boards reach in the last setting, middle.
    equilibrium : Equilibrium
        More about dry boards there.
    no_gain_after : datetime64[D] or None
        From here on the stack only follows the seasons; None where it does not come
        to rest within the forecast.
    rule : Rule or None
        A year per inch; None for wood that did not start green.
    risks : tuple of RiskWeek
        Every risk by week, as a quarter of the runs have it.
    dangers : tuple of Danger
        The spells worth telling of.
    settling : Settling or None
        Where the date cannot be told, the reading that would settle it most.
    recent : Recent or None
        Where recent years differ from the whole record.
    others : tuple of (Board, Reached)
        The quicker boards of the stack, and when they reach the target.
    runs : Trajectories
        Every year and member by day.
    years : tuple of int
        The weather years.
    many_years : bool
        Whether the range is one of years, too.
    fallbacks : tuple of Fallback
        What the weather lacked and what stood in for it.
    update : Update or None
        What the readings said, where there are any.
    """

    board: Board
    route: tuple[tuple[Setting, np.datetime64], ...]
    start_mc: float
    steps: tuple[Reached, ...]
    target: Reached
    floor: float
    equilibrium: Equilibrium
    no_gain_after: np.datetime64 | None
    rule: Rule | None
    risks: tuple[RiskWeek, ...]
    dangers: tuple[Danger, ...]
    settling: Settling | None
    recent: Recent | None
    others: tuple[tuple[Board, Reached], ...]
    runs: Trajectories = field(repr=False)
    years: tuple[int, ...]
    many_years: bool
    fallbacks: tuple[Fallback, ...]
    update: Update | None = None

    @property
    def begun(self) -> np.datetime64:
        """The stacking date."""
        return self.runs.begun

    @property
    def until(self) -> np.datetime64:
        """The last day looked at."""
        return np.datetime64(self.runs.dates[-1])

    def _coordinates(self) -> dict[str, Any]:
        days = self.runs.dates.astype("datetime64[ns]")
        return {"time": ("time", days, {"standard_name": "time"})}

    def _attributes(self) -> dict[str, Any]:
        dates = {
            f"{name}_{level}": None if day is None else str(day)
            for name, step in self._named_steps()
            for level, day in (("p10", step.p10), ("p50", step.p50), ("p90", step.p90))
        }
        return {
            **self.runs.ensemble.air.origin,
            "species": str(self.board.species),
            "thickness_mm": self.board.thickness_mm,
            "route": "; ".join(f"{day} {place.text()}" for place, day in self.route),
            "target_mc": self.target.mc,
            **dates,
        }

    def _variables(self) -> dict[str, Variable]:
        runs, point = self.runs, {"cell_methods": "time: point"}
        mean = bands(runs.mean, runs.weight)
        found: dict[str, Variable] = {
            f"mean_{level}": ("time", row, of_wood(f"whole board, {level}") | point)
            for level, row in zip(("p10", "p50", "p90"), mean, strict=True)
        }
        for name, path in (
            ("shell", runs.shell), ("core", runs.core),
            ("dry_boards", self.equilibrium.path),
        ):  # fmt: skip
            middle = bands(path, runs.weight, [0.5])[0]
            title = f"{name.replace('_', ' ')}, middle"
            found[f"{name}_p50"] = "time", middle, of_wood(title) | point
        return found

    def _named_steps(self) -> list[tuple[str, Reached]]:
        steps = [(f"below_{step.mc:g}", step) for step in self.steps]
        return [*steps, ("target", self.target)]

    def _summary(self) -> tuple[str, Sequence[tuple[str, str]]]:
        place = self.route[-1][0]
        head = f"{self.board.thickness_mm:g} mm {self.board.species}, {place.text()}"
        steps = {step.mc: step for _, step in self._named_steps()}
        rows = [
            (f"{mc:g} %", f"{step.p50 or 'never'} ({step.p10 or 'never'} to "
             f"{step.p90 or 'never'})")
            for mc, step in steps.items()
        ]  # fmt: skip
        return f"{head}, from {self.begun}", rows


def reached(runs: Trajectories, mc: float) -> Reached:
    """Read off the runs when a moisture content is reached.

    Parameters
    ----------
    runs : Trajectories
        Of one stack.
    mc : float
        % of oven-dry mass.

    Returns
    -------
    Reached
        Dates allow for how few years there are (`Trajectories.range_of`). Shell and
        core are the middle of the runs that get there, on their day.
    """
    days = runs.first_below(mc)
    there = np.flatnonzero(np.isfinite(days))
    p10, p50, p90 = runs.range_of(days)
    shell = core = None
    if there.size:
        row = np.ceil(days[there]).astype(np.int64)
        share = runs.weight[there] / runs.weight[there].sum()
        shell = quantiles(runs.shell[row, there], share, [0.5])[0]
        core = quantiles(runs.core[row, there], share, [0.5])[0]
    begun = runs.begun
    return Reached(
        mc,
        as_date(begun, p10),
        as_date(begun, p50),
        as_date(begun, p90),
        float(runs.weight[there].sum()),
        shell,
        core,
    )
