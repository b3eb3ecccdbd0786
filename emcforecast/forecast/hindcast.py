"""How good such forecasts would have been: every year forecast from all the others."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, Progress
from emcforecast.ensemble.air import StorageAir, storage_air
from emcforecast.ensemble.boards import boards_of, start_content, start_state
from emcforecast.ensemble.calendar import DAY_HOURS, YEAR_DAYS
from emcforecast.ensemble.draws import draw
from emcforecast.ensemble.equilibrium import settling_days
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.percentiles import predictive, quantiles
from emcforecast.ensemble.route import Leg, Stack
from emcforecast.ensemble.trajectories import Trajectories, first_below
from emcforecast.errors import WeatherError
from emcforecast.forecast.hindcast_scores import LEADS, Case, Hindcast, crps, scored
from emcforecast.forecast.year_per_inch import inches
from emcforecast.language import _, p_
from emcforecast.storage.setting_text import SettingsLike, as_settings
from emcforecast.storage.settings import Setting
from emcforecast.weather.accept import WeatherLike, weather_series
from emcforecast.wood.board import Board
from emcforecast.wood.species import Species

if TYPE_CHECKING:
    pass


STARTS = ("02-01", "04-01", "06-01", "08-01", "10-01", "12-01")
WOODS = (("European larch", 27), ("European ash", 27), ("European oak", 54))
TARGET = 15.0
HORIZON = 365
"""Days within which a date counts; then it is "not within a year" for all."""
TRUTHS = 2
"""Stacks of each case whose own levers are drawn afresh."""


def hindcast(
    weather: WeatherLike,
    woods: Sequence[tuple[str | Species, float | str]] = WOODS,
    settings: SettingsLike = ("outdoor", "shed", "indoor"),
    *,
    starts: Sequence[str] = STARTS,
    target: float = TARGET,
    seed: int = 0,
    progress: Progress | None = None,
) -> Hindcast:
    """Forecast each year's stacks from the other years, and score the forecasts.

    Parameters
    ----------
    weather : Dataset or DataFrame
        Weather, as `emcforecast.weather_series` takes it, of at least two years.
    woods : sequence of (species, thickness)
        Stacks, green when stacked.
    settings : sequence, or anything else `as_settings` takes
        Where they lie.
    starts : sequence of str
        Stacking dates, "month-day".
    target : float
        Moisture content whose date is scored, % of oven-dry mass.
    seed : int
        The same seed gives the same draws.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Hindcast

    Raises
    ------
    WeatherError
        When the record holds fewer than two whole years.

    Notes
    -----
    The truth is a stack whose levers (the wood's pace, its sorption and green
    moisture, the place) are drawn afresh, in the left-out year: so both kinds of
    spread are tested, the weather's and that of what nobody knows, but not the model
    itself, which made the truth too. No forecast sees the days it is scored on: runs
    of the other years cover the same season of those years only.
    """
    weather = weather_series(weather)
    chosen = as_settings(settings)
    say = progress or (lambda fraction, what: None)
    cases: list[Case] = []
    years: tuple[int, ...] = ()
    for number, setting in enumerate(chosen):
        say(
            number / len(chosen),
            _("boards in the {place}", place=p_("in the place", setting.about.title)),
        )
        forecast = storage_air(weather, [setting], seed=seed)
        if not forecast.many_years:
            raise WeatherError(
                _(
                    "a hindcast leaves out one year at a time and needs two "
                    "whole years at least; this weather holds one, or an "
                    "artificial one: fetch more years"
                )
            )
        fresh = storage_air(weather, [setting], seed=seed + 1000)
        years = tuple(
            int(y) for y in forecast.years.starts(np.datetime64("2001-07-01"))[1]
        )
        for place, start in enumerate(starts):
            for wood, (species, thickness) in enumerate(woods):
                board = Board(species, thickness)
                key = seed + 7 * (place + len(starts) * (wood + len(woods) * number))
                cases += _stacks(forecast, fresh, board, setting, start, target, key)
    say(1.0, _("scored"))
    return scored(cases, chosen, starts, years, target)


def _stacks(
    air: StorageAir,
    fresh: StorageAir,
    board: Board,
    setting: Setting,
    start: str,
    target: float,
    seed: int,
) -> list[Case]:
    """Forecast one stack in every year and score it."""
    begun = np.datetime64(f"2001-{start}", "D")
    stack = Stack(board, (Leg(0, begun),))
    runs = follow(air, stack, HORIZON, today=begun, seed=seed)
    rows, names = air.years.starts(begun)
    dry = _dry_boards(air, board, rows)
    paths = _truths(fresh, board, rows, seed + 1)
    cases: list[Case] = []
    for k, (row, year) in enumerate(zip(rows, names, strict=True)):
        known = (fresh.years.hours - int(row)) // DAY_HOURS
        others = runs.year != year
        climatology = dry[:, np.arange(rows.size) != k]
        for path in paths[:, k].T:
            cases += _moistures(
                runs, climatology, others, path, known, setting.name, start
            )
            if known >= HORIZON:
                cases += _dates(runs, others, path, target, setting.name, start)
    return cases


def _dry_boards(air: StorageAir, board: Board, rows: NDArray[np.int64]) -> FloatArray:
    """Return the running moisture of boards at rest, by day and year, % MC."""
    members = draw(1, 1)
    boards = boards_of(board, members).take(np.zeros(rows.size, dtype=np.int64))
    before = settling_days(board)
    run = air.run(
        boards,
        start_state(boards, air.mean_emc(0)),
        start_row=(rows - DAY_HOURS * before) % air.years.hours,
        place=0,
        days=before + HORIZON,
    )
    return run.mean[before:]


def _truths(
    air: StorageAir, board: Board, rows: NDArray[np.int64], seed: int
) -> FloatArray:
    """Stacks with levers of their own, % MC, shape (days, years, truths)."""
    members = draw(TRUTHS * rows.size, air.draws, seed)
    boards = boards_of(board, members)
    run = air.run(
        boards,
        start_state(boards, start_content(board, members)),
        start_row=np.repeat(rows, TRUTHS),
        place=0,
        days=HORIZON,
    )
    return run.mean.reshape(HORIZON + 1, rows.size, TRUTHS)


def _moistures(
    runs: Trajectories,
    dry: FloatArray,
    others: NDArray[np.bool_],
    path: FloatArray,
    known: int,
    setting: str,
    start: str,
) -> list[Case]:
    months = runs.dates.astype("datetime64[M]")
    cases = []
    for lead in LEADS:
        if lead > known or not np.isfinite(path[lead]):
            continue
        ensemble, year = _known(runs.mean[lead], runs.year, others)
        month = np.flatnonzero(months == months[lead])
        climatology = _finite(dry[month])
        if not ensemble.size or not climatology.size:
            continue
        cases.append(
            Case(
                f"{lead} days ahead",
                setting,
                start,
                float(path[lead]),
                _covered(ensemble, year, path[lead]),
                float(np.median(ensemble)),
                crps(ensemble, path[lead]),
                crps(climatology, path[lead]),
            )
        )
    return cases


def _dates(
    runs: Trajectories,
    others: NDArray[np.bool_],
    path: FloatArray,
    target: float,
    setting: str,
    start: str,
) -> list[Case]:
    if not np.isfinite(path).all():
        return []
    cases = []
    rule = YEAR_DAYS * inches(runs.stack.board.size)
    for mc in dict.fromkeys((20.0, target)):
        truth = min(float(first_below(path[:, None], mc)[0]), float(HORIZON))
        days, year = _known(runs.first_below(mc), runs.year, others, runs.mean)
        ensemble = np.minimum(days, HORIZON)
        if not ensemble.size:
            continue
        if truth >= HORIZON and (ensemble >= HORIZON).all():
            continue  # never, and nothing else was foretold: no date to be judged
        cases.append(
            Case(
                f"days to {mc:g} %",
                setting,
                start,
                truth,
                _covered(ensemble, year, truth),
                float(np.median(ensemble)),
                crps(ensemble, truth),
                abs(rule - truth),
            )
        )
    return cases


def _known(
    values: FloatArray,
    year: NDArray[np.int64],
    others: NDArray[np.bool_],
    mean: FloatArray | None = None,
) -> tuple[FloatArray, NDArray[np.int64]]:
    """Return the values of other years whose weather has no gap, and their years."""
    whole = np.isfinite(values) if mean is None else np.isfinite(mean).all(axis=0)
    keep = others & whole
    return values[keep], year[keep]


def _covered(ensemble: FloatArray, year: NDArray[np.int64], truth: float) -> bool:
    """Tell whether a truth lies in the range that `dry` would have told."""
    weight = np.full(ensemble.size, 1.0 / ensemble.size)
    wanted = predictive(ensemble, weight, year, [0.1, 0.9])
    low, high = quantiles(ensemble, weight, wanted)
    return low <= truth <= high


def _finite(values: FloatArray) -> FloatArray:
    flat = values.ravel()
    return flat[np.isfinite(flat)]
