"""Which traces the dangers of a stack are judged in."""

from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from emcforecast.forecast import risk_weeks as dangers
from emcforecast.wood.risks.week import Cause, RiskWeek


@pytest.mark.parametrize("years", [1, 3, 12, 13, 15, 20, 30, 40])
def test_slow_and_quick_members_are_judged_alike(years):
    """Ranks of a fair sample are spread evenly: each of n once, so its mean is ½.

    Every year has 60 members whose moisture is their number: the drawn ones must
    divide the whole range evenly, whatever the count of years (counting, no source).
    """
    members = 60
    level = np.tile(np.arange(float(members)), years)
    traces = SimpleNamespace(
        mean=np.ones((400, 1)) * level,
        year=np.repeat(np.arange(2000, 2000 + years), members),
    )
    chosen = dangers._sample(traces)
    assert set(traces.year[chosen]) == set(traces.year)
    count = len(chosen)
    ranks = np.sort(level[chosen])
    even = (np.arange(count) + 0.5) / count * members
    assert np.abs(ranks - even).max() <= 1.0


def test_the_worst_weeks_are_told_apart_from_the_spell():
    """A spell of five weeks with two severe ones tells both periods (by hand)."""
    levels = ("low", "moderate", "severe", "severe", "moderate", "moderate", "low")
    first = date(2025, 5, 5)
    weeks = tuple(
        RiskWeek(first + timedelta(weeks=k), "mould", level, Cause.GROWTH, float(k))
        for k, level in enumerate(levels)
    )
    (spell,) = dangers.spells(weeks)
    assert spell.level == "severe"
    assert (spell.start, spell.end) == (
        np.datetime64("2025-05-12"),
        np.datetime64("2025-06-16"),
    )
    assert (spell.worst_start, spell.worst_end) == (
        np.datetime64("2025-05-19"),
        np.datetime64("2025-06-02"),
    )
