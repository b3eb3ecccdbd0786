"""Readings move the forecast: the draws that agree with them count for more."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.calendar import Day, days_between
from emcforecast.ensemble.draws import draw
from emcforecast.ensemble.evidence import Reading, expected, log_likelihood
from emcforecast.ensemble.follow import follow, known_to
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.route import Stack
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.ensemble.weights import Outlier, resample, set_aside_outliers, weigh

CANDIDATES = 384
"""Draws that readings choose among; a single one, among half."""
CANDIDATES_A_YEAR = 96
"""The same where the past weather is not known, for every weather year."""
KEPT = 128
"""Runs that go on: two blocks of the board kernel."""


@dataclass(frozen=True)
class Update:
    """A forecast before and after readings.

    Parameters
    ----------
    before, after : Trajectories
        Without the readings, and with them; both go on from where they end.
    used : tuple of Reading
        Readings that count, by day.
    outliers : tuple of Outlier
        Readings that do not.
    effective : float
        Effective number of draws after weighing.
    trust : float
        1, or the share of their weight that the readings were left with because they
        would have singled out too few draws.
    above : float or None
        The last reading less the forecast of that day that knew only those before it,
        % MC; None without one, or when it only said "wet".
    """

    before: Trajectories = field(repr=False)
    after: Trajectories = field(repr=False)
    used: tuple[Reading, ...]
    outliers: tuple[Outlier, ...]
    effective: float
    trust: float
    above: float | None

    def moved_days(self, mc: float) -> int | None:
        """Days by which the middle date of a content (%) moved; later is above 0.

        None where either forecast has no middle date.
        """
        return moved_days(self.before, self.after, mc)


def moved_days(before: Trajectories, after: Trajectories, mc: float) -> int | None:
    """Days by which the middle date of a content (%) moved between two forecasts."""
    dates = [quantiles(t.first_below(mc), t.weight, [0.5])[0] for t in (before, after)]
    return round(dates[1] - dates[0]) if np.isfinite(dates).all() else None


def apply_readings(
    air: StorageAir,
    stack: Stack,
    readings: Sequence[Reading],
    days: int,
    *,
    today: Day | None = None,
    years: Sequence[int] | None = None,
    past: Sequence[int] | None = None,
    before: Trajectories | None = None,
    seed: int = 0,
) -> Update:
    """Weigh the draws of a stack by its readings, and go on with those that agree.

    Parameters
    ----------
    air : StorageAir
        The air.
    stack : Stack
        What stands where.
    readings : sequence of Reading
        Corrected, in any order.
    days : int
        Length of the forecast from the first day, beyond the last reading.
    today : datetime64[D], optional
        The actual weather is used up to here; as far as it goes when left out.
    years : sequence of int, optional
        Weather years to use; all when left out.
    past : sequence of int, optional
        Weather years that stand for a past that is not known; `years` when left out.
    before : Trajectories, optional
        The forecast without readings, where it is at hand already; not needed where
        the past weather is unknown, for there the same runs serve for both.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    Update

    Raises
    ------
    InputError
        When a reading was taken before the stack was made.

    Notes
    -----
    Where the actual weather is known up to the readings, many draws run through it and
    are weighed by the likelihood of the readings; some are then picked in proportion
    to their weight (systematic resampling) and dealt out to the weather years. Where
    it is not known, the draws are weighed together with the years up to the last
    reading; what is picked is dealt out to the years alike. A reading too far from what
    the forecast and the other readings say together is an outlier and not used.
    """
    ordered = sorted(readings, key=lambda r: r.day)
    actual_to = known_to(air, stack.begun, today)
    known = bool(ordered) and actual_to >= ordered[-1].day
    if before is None and (known or not ordered):
        before = follow(air, stack, days, today=today, years=years, seed=seed)
    if before is not None and not ordered:
        count = float(before.ensemble.count)
        return Update(before, before, (), (), count, 1.0, None)
    last = max(days_between(stack.begun, ordered[-1].day), 1)
    many = CANDIDATES if actual_to > stack.begun else CANDIDATES_A_YEAR
    many = many // 2 if len(ordered) == 1 else many
    # One year is enough where all share the actual weather.
    tried = follow(
        air,
        stack,
        last,
        members=draw(many, air.draws, seed),
        pairing="cross",
        today=ordered[-1].day if known else today,
        years=before.years[:1] if before is not None and known else past or years,
        seed=seed,
    )
    table = np.array([expected(tried, reading) for reading in ordered])
    used, outliers = set_aside_outliers(table, ordered)
    likely = [log_likelihood(table[k], ordered[k]) for k in used]
    weight, effective, trust = weigh(
        np.sum([np.zeros(table.shape[1]), *likely], axis=0)
    )
    # Neighbours in pace beside one another: the sample then covers the range evenly.
    order = np.argsort(tried.mean[-1], kind="stable")
    if before is not None and known:
        after = follow(
            air,
            stack,
            days,
            members=tried.ensemble.members.take(order[resample(weight[order], KEPT)]),
            today=today,
            years=years,
        )
        after = after.reweighted(after.weight)
    else:
        before, after = _either(tried, weight, order, days, today, years)
    return Update(
        before,
        after,
        tuple(ordered[k] for k in used),
        tuple(outliers),
        effective,
        trust,
        _above(table, ordered, used),
    )


def _either(
    tried: Trajectories,
    weight: FloatArray,
    order: IntArray,
    days: int,
    today: Day | None,
    years: Sequence[int] | None,
) -> tuple[Trajectories, Trajectories]:
    """Let picked runs go on, weighted without and with the readings.

    The same runs serve for both, so that only the readings move the dates: they are
    picked by the mean of both weights and stand for either (importance sampling).
    """
    both = 0.5 * (weight + tried.weight)
    index = order[resample(both[order], KEPT)]
    longer = tried.deal_years(
        index, np.ones(index.size), days, today=today, years=years
    )
    before, after = (
        longer.reweighted(_by_year(w[index] / both[index], longer.year))
        for w in (tried.weight, weight)
    )
    return before, after


def _by_year(weight: FloatArray, year: IntArray) -> FloatArray:
    """Scale weights so that every weather year counts alike: a past foretells none."""
    number = np.unique(year, return_inverse=True)[1]
    result: FloatArray = weight / np.bincount(number, weights=weight)[number]
    return result


def _above(
    table: FloatArray, readings: Sequence[Reading], used: list[int]
) -> float | None:
    if not used:
        return None
    last = used[-1]
    mc = readings[last].mc
    if mc is None or readings[last].wet:
        return None
    likely = [log_likelihood(table[j], readings[j]) for j in used[:-1]]
    weight, _, _ = weigh(np.sum([np.zeros(table.shape[1]), *likely], axis=0))
    return float(mc - quantiles(table[last], weight, [0.5])[0])
