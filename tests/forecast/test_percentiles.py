"""Quantiles against numpy's and scipy's, and the count of independent runs by hand."""

import numpy as np
import pytest

from emcforecast.ensemble.percentiles import (
    bands,
    counted_quantile,
    over_years,
    over_years_of_many,
    predictive,
    quantiles,
)

RANDOM = np.random.default_rng(5)
LEVELS = (0.1, 0.25, 0.5, 0.9)


def test_equal_weights_are_hazens_quantiles() -> None:
    # Linear between the middles of equal weights is Hazen's rule, numpy's "hazen".
    paths = RANDOM.normal(15.0, 4.0, (6, 13))
    even = np.full(13, 1.0 / 13.0)
    expected = np.quantile(paths, LEVELS, axis=1, method="hazen")
    np.testing.assert_allclose(bands(paths, even, LEVELS), expected)
    for day in range(6):
        np.testing.assert_allclose(
            quantiles(paths[day], even, LEVELS), expected[:, day]
        )


def test_ends_of_the_scale_are_the_outermost_runs() -> None:
    paths = RANDOM.normal(15.0, 4.0, (3, 5))
    even = np.full(5, 0.2)
    low, high = bands(paths, even, (0.01, 0.99))
    np.testing.assert_allclose(low, paths.min(axis=1))
    np.testing.assert_allclose(high, paths.max(axis=1))


def test_weights_by_hand() -> None:
    # Middles of the weights 0.2, 0.5, 0.3 in order: 0.1, 0.45, 0.85.
    values, weight = np.array([30.0, 10.0, 20.0]), np.array([0.3, 0.2, 0.5])
    by_hand = 20.0 + 10.0 * (0.65 - 0.45) / 0.4
    assert quantiles(values, weight, [0.65]) == pytest.approx((by_hand,))
    found = bands(np.vstack([values, values]), weight, [0.65])
    np.testing.assert_allclose(found, by_hand)


def test_runs_that_never_arrive_count_at_the_top() -> None:
    values = np.array([3.0, np.inf, 1.0, np.inf])
    weight = np.array([0.3, 0.2, 0.4, 0.1])
    # 0.7 arrive: up to there it is a day, beyond it never.
    assert quantiles(values, weight, [0.69, 0.7, 0.71])[1:] == (3.0, np.inf)
    assert np.isfinite(quantiles(values, weight, [0.69])[0])
    assert quantiles(np.full(3, np.inf), np.full(3, 1 / 3), [0.1]) == (np.inf,)
    assert counted_quantile(values, 0.9) is None
    assert counted_quantile(values, 0.5) == 3.0
    assert counted_quantile(values, 0.25) == 1.0


def test_years_are_numpys_quantiles() -> None:
    values = RANDOM.normal(12.0, 2.0, (11, 4))
    values[2, 1] = values[7, 1] = np.nan
    values[1:, 2] = np.nan
    values[:, 3] = np.nan
    many = over_years_of_many(values)
    expected = np.full((3, 4), np.nan)
    expected[:, :2] = np.nanquantile(values[:, :2], (0.1, 0.5, 0.9), axis=0)
    expected[1, 2] = values[0, 2]
    np.testing.assert_allclose(many, expected)
    one = over_years(values[:, 1])
    assert (one.p10, one.p50, one.p90) == pytest.approx(tuple(expected[:, 1]))
    assert (one.least, one.most) == (np.nanmin(values[:, 1]), np.nanmax(values[:, 1]))
    assert over_years(values[:, 2]).p10 is None
    assert np.isnan(over_years(values[:, 3]).p50)


def levels_of(n: float, *levels: float) -> tuple[float, ...]:
    """A new value falls below the k-th of n with probability k/(n + 1)."""
    return tuple(min(max((q * (n + 1.0) - 0.5) / n, 0.0), 1.0) for q in levels)


def test_how_many_values_runs_are_worth_by_hand() -> None:
    values, even = np.array([1.0, 2.0, 3.0, 4.0]), np.full(4, 0.25)
    q = (0.4, 0.6, 0.7)
    # Ranks off their mean: ∓1.5, ∓0.5; variance 1.25. Years' means ∓1: 0.8 of it lies
    # between them, so 1/n = 0.8/2 + 0.2/4.
    found = predictive(values, even, np.array([0, 0, 1, 1]), q)
    assert found == pytest.approx(levels_of(1.0 / 0.45, *q))
    # Each its own year: all between, n = 4. One year: nothing is known of years.
    assert predictive(values, even, np.arange(4), q) == pytest.approx(
        levels_of(4.0, *q)
    )
    one_year = predictive(values, even, np.zeros(4, dtype=int), q)
    assert one_year == pytest.approx(levels_of(4.0, *q))
    # Stores' means ∓0.5 hold the other 0.2: 1/n = 0.8/2 + 0.2/2.
    stores = np.array([0, 1, 0, 1])
    found = predictive(values, even, np.array([0, 0, 1, 1]), q, stores)
    assert found == pytest.approx(levels_of(2.0, *q))
    # All alike: 1/Σw² = 1/(0.25 + 2 × 0.0625) = 2.667.
    weight = np.array([0.5, 0.25, 0.25])
    found = predictive(np.full(3, np.inf), weight, np.arange(3), q)
    assert found[0] < found[1]
    flat = predictive(values[:1], np.ones(1), np.zeros(1, dtype=int), q)
    assert flat == pytest.approx(levels_of(1.0, *q))


def test_unequal_weights_by_hand() -> None:
    # Weights 0.5, 0.3, 0.2 at ranks 0, 1, 2: mean 0.7, variance 0.61. Years {0} and
    # {1, 2}: means -0.7 and 0.7, 0.49 between them; share 0.49/0.61 = 0.803. Each year
    # weighs a half; 1/Σw² = 1/0.38.
    weight = np.array([0.5, 0.3, 0.2])
    share = 0.49 / 0.61
    n = 1.0 / (share * 0.5 + (1.0 - share) * 0.38)
    found = predictive(np.array([1.0, 2.0, 3.0]), weight, np.array([5, 6, 6]), (0.6,))
    assert found == pytest.approx(levels_of(n, 0.6))
