"""Readings move the forecast: the members that agree with them count for more."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.ensemble.air import AirBank
from emcforecast.ensemble.draws import draw
from emcforecast.ensemble.evidence import Evidence, expected, log_likelihood
from emcforecast.ensemble.outliers import Doubt, questioned
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import (
    Stack,
    Traces,
    fan_out,
    follow,
    known_to,
)
from emcforecast.ensemble.weights import resample, weigh

CANDIDATES = 384
"""Draws of the levers that readings choose among; a single one, among half."""
CANDIDATES_A_YEAR = 96
"""The same where the past weather is not known, for every weather year."""
KEPT, LEAST_TRACES = 48, 128
"""Draws that go on, and more of them where they meet few years."""


@dataclass(frozen=True)
class Learned:
    """A forecast before and after readings.

    Parameters
    ----------
    before, after : Traces
        Without the readings, and weighed by them; both go on from where they end.
    used : tuple of Evidence
        Readings that count, by day.
    doubts : tuple of Doubt
        Readings that do not, and why.
    effective : float
        Effective number of draws after weighing.
    trust : float
        1, or the share of their weight that the readings were left with because they
        would have singled out too few draws.
    above : float or None
        The last reading less the forecast of that day that knew only those before it,
        % MC; None without one, or when it only said "wet".
    """

    before: Traces = field(repr=False)
    after: Traces = field(repr=False)
    used: tuple[Evidence, ...]
    doubts: tuple[Doubt, ...]
    effective: float
    trust: float
    above: float | None

    def moved(self, mc: float) -> int | None:
        """Days by which the middle date of a moisture content moved; later is above 0.

        Parameters
        ----------
        mc : float
            % of oven-dry mass.

        Returns
        -------
        int or None
            None where either forecast has no middle date.
        """
        dates = [
            quantiles(t.first_below(mc), t.weight, [0.5])[0]
            for t in (self.before, self.after)
        ]
        return round(dates[1] - dates[0]) if np.isfinite(dates).all() else None

    def sentence(self, mc: float) -> str:
        """Say what the last reading was and how far the readings moved the forecast."""
        if not self.used:
            return "no reading was used; the forecast stays"
        moved = moved_words(
            self.moved(mc), "it is not reached by half of them, so no date moves"
        )
        return f"{self.words()}{moved}"

    def words(self) -> str:
        """Say how the last reading lay, up to what all of them together did."""
        count, above = len(self.used), self.above
        ones = "one" if count == 2 else "ones"
        led = "the forecast" if count == 1 else f"what the earlier {ones} led to expect"
        if above is None:
            said = "your reading says wet, above 30, no number"
        elif abs(above) < 0.05:
            said = f"your reading was as {'forecast' if count == 1 else 'expected'}"
        else:
            side = "above" if above > 0.0 else "below"
            said = f"your reading was {abs(above):.1f} {side} {led}"
        if count == 1:
            return f"{said}; "
        return f"{said}; {'both' if count == 2 else f'all {count}'} together: "


def moved_words(days: int | None, otherwise: str) -> str:
    """Say how far a date moved.

    Parameters
    ----------
    days : int or None
        Later is above 0.
    otherwise : str
        What to say where there is no date.

    Examples
    --------
    >>> moved_words(-9, "")
    'the forecast moved 9 days earlier'
    """
    if days is None:
        return otherwise
    if days == 0:
        return "the forecast stays"
    span = "a day" if abs(days) == 1 else f"{abs(days)} days"
    return f"the forecast moved {span} {'later' if days > 0 else 'earlier'}"


def learn(
    bank: AirBank,
    stack: Stack,
    readings: Sequence[Evidence],
    days: int,
    *,
    today: np.datetime64 | None = None,
    years: Sequence[int] | None = None,
    past: Sequence[int] | None = None,
    before: Traces | None = None,
    seed: int = 0,
) -> Learned:
    """Weigh the forecast of a stack by its readings, and go on.

    Parameters
    ----------
    bank : AirBank
        The air.
    stack : Stack
        What lies where.
    readings : sequence of Evidence
        Corrected, in any order.
    days : int
        Length of the forecast from the first day, beyond the last reading.
    today : datetime64[D], optional
        The actual weather is used up to here; as far as it goes when left out.
    years : sequence of int, optional
        Weather years to use; all when left out.
    past : sequence of int, optional
        Weather years that stand for a past that is not known; `years` when left out.
    before : Traces, optional
        The forecast without readings, where it is at hand already; not needed where
        the past weather is unknown, for there the same traces serve for both.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    Learned

    Raises
    ------
    InputError
        When a reading was taken before the stack was made.

    Notes
    -----
    Where the actual weather is known up to the readings, many draws of the levers
    run through it and are weighed by the likelihood of the readings; some are then
    picked in proportion to their weight (systematic resampling) and run through every
    weather year. Where it is not known, the draws are weighed together with the years
    up to the last reading; what is picked goes on through every year alike.
    A reading that lies too far from what the forecast and the other readings say
    together is questioned and not used (`emcforecast.ensemble.outliers`).
    """
    ordered = sorted(readings, key=lambda r: r.day)
    actual_to = known_to(bank, stack.begun, today)
    known = bool(ordered) and actual_to >= ordered[-1].day
    if before is None and (known or not ordered):
        before = follow(bank, stack, days, today=today, years=years, seed=seed)
    if before is not None and not ordered:
        count = float(before.members.count)
        return Learned(before, before, (), (), count, 1.0, None)
    last = max(int((ordered[-1].day - stack.begun).astype(np.int64)), 1)
    many = CANDIDATES if actual_to > stack.begun else CANDIDATES_A_YEAR
    many = many // 2 if len(ordered) == 1 else many
    # One year is enough where all share the actual weather.
    tried = follow(
        bank,
        stack,
        last,
        members=draw(many, bank.airs, seed),
        today=ordered[-1].day if known else today,
        years=before.years[:1] if before is not None and known else past or years,
        seed=seed,
    )
    table = np.array([expected(tried, reading) for reading in ordered])
    used, doubts = questioned(table, ordered)
    likely = [log_likelihood(table[k], ordered[k]) for k in used]
    weight, effective, trust = weigh(
        np.sum([np.zeros(table.shape[1]), *likely], axis=0)
    )
    if before is not None and known:
        after = _go_on(bank, stack, tried, weight, days, today, years, seed)
    else:
        before, after = _fan_out(tried, weight, days, today, years)
    return Learned(
        before,
        after,
        tuple(ordered[k] for k in used),
        tuple(doubts),
        effective,
        trust,
        _above(table, ordered, used),
    )


def _go_on(
    bank: AirBank,
    stack: Stack,
    tried: Traces,
    weight: FloatArray,
    days: int,
    today: np.datetime64 | None,
    years: Sequence[int] | None,
    seed: int,
) -> Traces:
    """Run the picked draws through every weather year."""
    # Neighbours in pace beside one another: the sample then covers the range evenly.
    order = np.argsort(tried.mean[-1], kind="stable")
    picked, share = resample(weight[order], _count(tried, years))
    traces = follow(
        bank,
        stack,
        days,
        members=tried.members.take(tried.member[order[picked]]),
        today=today,
        years=years,
        seed=seed,
    )
    return traces.weighed(share[traces.member])


def _count(tried: Traces, years: Sequence[int] | None) -> int:
    """Return how many draws go on."""
    met = tried.end.bank.ring.years if years is None else len(years)
    return max(KEPT, -(-LEAST_TRACES // max(met, 1)))


def _fan_out(
    tried: Traces,
    weight: FloatArray,
    days: int,
    today: np.datetime64 | None,
    years: Sequence[int] | None,
) -> tuple[Traces, Traces]:
    """Run picked draws of past and levers on, weighed without and with the readings.

    The same traces serve for both, so that only the readings move the dates: they are
    picked by the mean of both weights and stand for either (importance sampling).
    """
    both = 0.5 * (weight + tried.weight)
    order = np.argsort(tried.mean[-1], kind="stable")
    picked, share = resample(both[order], _count(tried, years))
    index = order[picked]
    longer = fan_out(tried, index, days, today=today, years=years)
    each = longer.weight.size // index.size
    before, after = (
        longer.weighed(np.repeat(w[index] * share / both[index], each))
        for w in (tried.weight, weight)
    )
    return before, after


def _above(
    table: FloatArray, readings: Sequence[Evidence], used: list[int]
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
