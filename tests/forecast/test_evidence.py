"""Readings as evidence, and weights of runs, by hand and by scipy's normal law."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from emcforecast.ensemble.evidence import Reading, expected, log_likelihood
from emcforecast.ensemble.weights import (
    representatives,
    resample,
    set_aside_outliers,
    weigh,
)
from emcforecast.errors import InputError

DAY = np.datetime64("2025-06-03")


@pytest.mark.parametrize("millimetres", [6.0, 12.0, 27.0, 54.0])
def test_a_depth_of_a_parabola(millimetres: float) -> None:
    # u = a - b x² from centre to face. Means: over the outer 2 mm (of thin boards a
    # sixth of the thickness) a - b (1 - s + s²/3), over the inner third a - b/27.
    a, b, s = 30.0, 12.0, min(2.0 / (0.5 * millimetres), 1.0 / 3.0)
    shell, core = a - b * (1.0 - s + s * s / 3.0), a - b / 27.0
    days = np.zeros((3, 1))
    days[2] = 1.0
    runs = SimpleNamespace(
        begun=np.datetime64("2025-06-01"),
        days=2,
        dates=[np.datetime64("2025-06-01") + np.timedelta64(k, "D") for k in range(3)],
        mean=(a - b / 3.0) * days,
        shell=shell * days,
        core=core * days,
        ensemble=SimpleNamespace(
            boards=SimpleNamespace(thickness=np.array([millimetres / 1000.0]))
        ),
    )
    for depth in (0.0, 0.1, 0.25, 0.5):
        found = expected(runs, Reading(DAY, 20.0, depth))  # type: ignore[arg-type]
        assert found == pytest.approx([a - b * (1.0 - 2.0 * depth) ** 2])
    for part, by_hand in (("mean", a - b / 3.0), ("shell", shell), ("core", core)):
        found = expected(runs, Reading(DAY, 20.0, part))  # type: ignore[arg-type]
        assert found == pytest.approx([by_hand])
    for away in (-3, 1):
        with pytest.raises(InputError, match="outside"):
            expected(runs, Reading(DAY + np.timedelta64(away, "D"), 20.0))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("mc", "sd", "there", "by_hand"),
    # One board speaks for its stack within 1 %; a reading below 20 % is good to 1 %,
    # above to 2 %: -½ d²/(1 + sd²).
    [
        (15.0, None, 18.0, -2.25),
        (19.9, None, 17.9, -1.0),
        (20.0, None, 25.0, -2.5),
        (24.0, None, 26.0, -0.4),
        (30.0, None, 25.0, -2.5),
        (15.0, 0.5, 16.0, -0.4),
        (35.0, 3.0, 45.0, -5.0),
    ],
)
def test_a_number_is_normal_about_what_it_should_be(
    mc: float, sd: float | None, there: float, by_hand: float
) -> None:
    found = log_likelihood(np.array([there, mc]), Reading(DAY, mc, sd=sd))
    assert found == pytest.approx([by_hand, 0.0])


@pytest.mark.parametrize("mc", [None, 30.1, 60.0])
def test_wet_is_the_chance_of_more_than_thirty(mc: float | None) -> None:
    # Above 30 % a meter only says so, within 2 %; hardly possible counts e^-50.
    there = np.array([5.0, 22.0, 28.0, 30.0, 33.0, 80.0])
    expected_log = np.maximum(norm.logcdf((there - 30.0) / 2.0), -50.0)
    found = log_likelihood(there, Reading(DAY, mc))
    np.testing.assert_allclose(found, expected_log, atol=1e-9)


def test_impossible_depths_are_refused() -> None:
    for depth in (0.0, 0.5):
        assert Reading(DAY, 12.0, depth).part == depth
    for depth in (-0.01, 0.51):
        with pytest.raises(InputError, match="thicknesses"):
            Reading(DAY, 12.0, depth)


def test_readings_are_trusted_less_until_enough_draws_remain() -> None:
    log_likely = -0.5 * np.linspace(0.0, 9.0, 200) ** 2

    def effective(power: float) -> float:
        weight = np.exp(power * log_likely)
        return float(weight.sum() ** 2 / np.square(weight).sum())

    weight, left, trust = weigh(log_likely, fewest=10.0)
    assert (left, trust) == (pytest.approx(effective(1.0)), 1.0)
    weight, left, trust = weigh(log_likely, fewest=60.0)
    by_scipy = brentq(lambda power: effective(power) - 60.0, 0.0, 1.0)
    assert trust == pytest.approx(by_scipy, abs=1e-8)
    assert left == pytest.approx(60.0, abs=1e-5)
    assert weight.sum() == pytest.approx(1.0)
    np.testing.assert_allclose(
        np.log(weight[0] / weight[1:]), trust * (log_likely[0] - log_likely[1:])
    )
    # Likelihoods are known up to a constant, however unlikely all of it is.
    np.testing.assert_allclose(weigh(log_likely - 900.0, fewest=60.0)[0], weight)
    # By default sixteen; of a few draws never more than half of them.
    assert weigh(10.0 * log_likely)[1] == pytest.approx(16.0, abs=1e-5)
    few = weigh(np.array([0.0, -3.0, -4.0, -5.0]), fewest=16.0)
    assert few[1] == pytest.approx(2.0, abs=1e-5)


def test_a_systematic_sample_by_hand() -> None:
    # Points 0.1, 0.3, 0.5, 0.7, 0.9 on sums of 0.35, 0.6, 1.
    weight = np.array([0.35, 0.25, 0.4])
    assert resample(weight, 5).tolist() == [0, 0, 1, 2, 2]
    # A sum a hair below one by rounding names no draw beyond the last.
    assert resample(np.array([0.5, 0.3]), 2).tolist() == [0, 1]


def test_representatives_keep_their_share() -> None:
    assert representatives(np.full(5, 0.2)).tolist() == list(range(5))
    assert representatives(np.full(64, 1 / 64)).tolist() == list(range(64))
    assert representatives(np.full(65, 1 / 65)).size == 64
    heavy = np.array([0.75, *np.full(100, 0.0025)])
    picked = representatives(heavy)
    assert picked.size == 64
    assert np.count_nonzero(picked == 0) == 48
    assert representatives(np.array([0.5, 0.25, 0.25]), 8).size == 8


def test_a_reading_far_outside_is_set_aside() -> None:
    # 401 runs from 12 to 16 %: the outermost, at levels 0.005 and 0.995, by Hazen's
    # rule. Two and a half standard deviations of √(1 + 1) beyond are too far.
    there = np.linspace(12.0, 16.0, 401)
    low, high = np.quantile(there, (0.005, 0.995), method="hazen")
    far = 2.5 * np.sqrt(2.0)
    for mc, kept in (
        (high + far - 0.02, True),
        (high + far + 0.02, False),
        (low - far + 0.02, True),
        (low - far - 0.02, False),
    ):
        used, aside = set_aside_outliers(there[None], [Reading(DAY, float(mc))])
        assert (used == [0], not aside) == (kept, kept)
        if not kept:
            assert (aside[0].low, aside[0].high) == pytest.approx(
                (low - far, high + far)
            )


def test_wet_is_set_aside_where_it_is_hardly_possible() -> None:
    # "Above 30" is questioned where the runs give it less than one chance in fifty.
    for mean_chance, kept in ((0.021, True), (0.019, False)):
        at = 30.0 + 2.0 * float(norm.ppf(mean_chance))
        used, aside = set_aside_outliers(np.full((1, 50), at), [Reading(DAY, None)])
        assert (used == [0], not aside) == (kept, kept)


def test_others_speak_first_and_the_farthest_goes_first() -> None:
    # Runs at 10 or at 20 %; two readings of 10 leave no room for one of 20.
    table = np.tile(np.repeat([10.0, 20.0], 200), (3, 1))
    table += np.tile(np.linspace(-0.5, 0.5, 400), (3, 1))
    readings = [Reading(DAY, mc) for mc in (10.0, 10.2, 26.0)]
    used, aside = set_aside_outliers(table, readings)
    assert used == [0, 1]
    assert [one.reading.mc for one in aside] == [26.0]
