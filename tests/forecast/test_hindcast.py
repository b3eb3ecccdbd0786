"""Scores against closed forms, and hindcasts on observed weather."""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from emcforecast.cli.group import cli
from emcforecast.ensemble.percentiles import predictive, quantiles
from emcforecast.errors import WeatherError
from emcforecast.forecast.hindcast import hindcast
from emcforecast.forecast.hindcast_scores import crps, skill
from emcforecast.weather.read import demonstration, read_weather
from emcforecast.weather.series import make_series

OBSERVED = Path(__file__).parents[2] / "data" / "observed"


@cache
def observed(name):
    return read_weather(OBSERVED / f"{name}.csv.gz")


class TestScores:
    @pytest.mark.parametrize("truth", [-2.0, 0.0, 0.7, 3.0])
    def test_crps_of_a_normal_ensemble_is_the_closed_form(self, truth):
        """sd [z (2Φ(z) - 1) + 2φ(z) - 1/√π], Gneiting and Raftery (2007), from memory.

        400 middles of equal slices of the normal: their score differs by the step's
        coarseness, below 0.002.
        """
        ensemble = stats.norm.ppf((np.arange(400) + 0.5) / 400)
        z = truth
        closed = z * (2 * stats.norm.cdf(z) - 1) + 2 * stats.norm.pdf(z)
        assert crps(ensemble, z) == pytest.approx(closed - np.pi**-0.5, abs=0.002)

    @given(
        st.lists(st.floats(-50, 50), min_size=1, max_size=12), st.floats(-60.0, 60.0)
    )
    def test_crps_is_the_integral_of_the_squared_step(self, values, truth):
        """∫ (F(x) - 1[x >= y])² dx, done exactly between the steps."""
        x = np.sort([*values, truth])
        steps = np.diff(x)
        middle = 0.5 * (x[:-1] + x[1:])
        below = (np.array(values)[None, :] <= middle[:, None]).mean(axis=1)
        exact = float(np.sum((below - (middle >= truth)) ** 2 * steps))
        assert crps(values, truth) == pytest.approx(exact, abs=1e-9)

    def test_crps_agrees_with_energy_distance(self):
        """scipy: energy distance² to a point mass is 2 CRPS."""
        values = np.random.default_rng(2).normal(size=30)
        energy = stats.energy_distance(values, [0.4])
        assert crps(values, 0.4) == pytest.approx(0.5 * energy**2, rel=1e-9)

    def test_skill(self):
        assert skill(1.0, 4.0) == 0.75
        assert np.isnan(skill(1.0, 0.0))

    @pytest.mark.parametrize("count", [4, 9, 12, 30])
    def test_predictive_range_of_few_years_holds_what_it_promises(self, count):
        """A new value of any continuous law falls in with probability 0.8, or what n
        values can give, (n-1)/(n+1); found by drawing."""
        rng = np.random.default_rng(count)
        years, weight = np.arange(count), np.full(count, 1.0 / count)
        inside = []
        for _ in range(4000):
            *seen, new = rng.exponential(size=count + 1)
            values = np.array(seen)
            low, high = quantiles(
                values, weight, predictive(values, weight, years, [0.1, 0.9])
            )
            inside.append(low <= new <= high)
        wanted = min(0.8, (count - 1) / (count + 1))
        assert np.mean(inside) == pytest.approx(wanted, abs=0.025)

    def test_scipy_agrees_on_a_smooth_ensemble(self):
        values = np.linspace(0.0, 1.0, 2001)
        exact, _ = integrate.quad(lambda x: (x - (x >= 0.3)) ** 2, 0, 1, points=[0.3])
        assert crps(values, 0.3) == pytest.approx(exact, abs=1e-3)


class TestHindcast:
    def test_on_observed_weather_ranges_hold_and_beat_the_month(self):
        """NOAA ISD-Lite, Chicago O'Hare 2015 to 2017 (data/README.md)."""
        found = hindcast(
            observed("chicago_ohare_2015_2017"),
            [("white oak", "4/4"), ("yellow-poplar", "4/4")],
            ["shed"],
            starts=("02-01", "04-01", "06-01", "10-01"),
        )
        assert found.years == (2015, 2016, 2017)
        assert 0.70 <= found.whole.coverage <= 0.90
        assert found.whole.skill > 0.0
        assert all(score.skill > 0.0 for score in found.moisture)
        assert [s.what for s in found.dates] == ["days to 20 %", "days to 15 %"]
        assert found.dates[0].error < found.dates[0].reference

    def test_longer_leads_are_not_scored_past_the_record(self):
        found = hindcast(
            observed("chicago_ohare_2015_2017"),
            [("white oak", "4/4")],
            ["outdoor"],
            starts=("10-01",),
        )
        cases = [score.cases for score in found.moisture]
        # Two truths a year; 120 and 240 days from 1 October 2017 leave the record.
        assert cases == [6, 6, 4, 4]

    def test_one_year_cannot_be_left_out(self):
        year = demonstration().sel(time=slice("2012-01-01", "2012-12-31"))
        with pytest.raises(WeatherError, match="two whole years"):
            hindcast(year)

    def test_the_command_prints_one_document(self, tmp_path):
        picture, table = tmp_path / "h.svg", tmp_path / "h.csv"
        words = (
            "hindcast", OBSERVED / "mount_shasta_2015_2017.csv.gz",
            "--species", "basswood", "--setting", "shed", "--target", 14,
            "--plot", picture, "--csv", table,
        )  # fmt: skip
        result = CliRunner().invoke(cli, [*map(str, words), "--json"])
        assert result.exit_code == 0, result.output
        answer = json.loads(result.stdout)["result"]
        assert {
            "cases",
            "coverage_p10_p90",
            "crps",
            "crps_climatology",
            "skill",
        } <= set(answer)
        assert 0.0 < answer["skill"] < 1.0
        assert picture.read_text(encoding="utf-8").startswith("<?xml")
        assert "by days ahead" in table.read_text(encoding="utf-8")

    def test_the_table_fits_80_columns(self):
        words = (
            "hindcast", OBSERVED / "chicago_ohare_2015_2017.csv.gz",
            "--species", "ash", "--setting", "indoor",
        )  # fmt: skip
        result = CliRunner().invoke(cli, [*map(str, words)])
        assert result.exit_code == 0, result.output
        assert max(len(line) for line in result.stdout.splitlines()) <= 80
        assert "take the numbers loosely" in " ".join(result.stdout.split())


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", ["demo", "chicago_ohare_2015_2017", "mount_shasta_2015_2017"]
)
def test_p10_to_p90_holds_70_to_90_in_100_everywhere(name):
    weather = demonstration() if name == "demo" else observed(name)
    found = hindcast(weather)
    assert 0.70 <= found.whole.coverage <= 0.90
    for score in (*found.moisture, *found.by_setting.values()):
        assert 0.70 <= score.coverage <= 0.90
        assert score.skill > 0.0


@pytest.mark.slow
def test_far_north_from_a_single_other_year():
    """Northway, Alaska 2018 and 2019 (NOAA ISD-Lite).

    Three months lack more than a tenth of their hours, so the reader refuses the file;
    here the gaps are bridged straight, for this check only.
    """
    weather = read_weather(OBSERVED / "northway_2018_2019.csv.gz", gaps="keep")
    for name in weather.data_vars:
        column = weather[name].to_series().interpolate(limit_direction="both")
        weather[name].values[:] = column.to_numpy()
    found = hindcast(weather)
    assert 0.70 <= found.whole.coverage <= 0.90
    assert found.whole.skill > 0.0


def test_a_date_that_never_comes_is_not_scored_as_foretold():
    """A slab 300 mm thick is not at 20 % within the look: there is no date to score."""
    found = hindcast(
        demonstration(), [("white oak", "300mm")], ["shed"], starts=("04-01",)
    )
    assert found.dates == ()
    assert found.moisture


def test_a_forecast_knows_nothing_of_the_year_it_is_scored_on():
    """Three years at 80 % RH and one at 50: Table 4-2 at 68 °F has 16.0 and 9.2. What
    is foretold of the dry one from the damp ones must miss it."""
    time = np.arange(np.datetime64("2018-01-01T00"), np.datetime64("2022-01-01T00"))
    year = time.astype("datetime64[Y]").astype(int) + 1970
    weather = make_series(
        time,
        {
            "air_temperature": np.full(time.size, 20.0),
            "relative_humidity": np.where(year == 2020, 50.0, 80.0),
            "wind_speed": np.full(time.size, 3.0),
            "shortwave": np.zeros(time.size),
            "precipitation": np.zeros(time.size),
        },
        step="hour", kind="observed", source="steady air",
        latitude=45.0, longitude=0.0,
    )  # fmt: skip
    found = hindcast(
        weather,
        [("yellow-poplar", 13)],
        ["outdoor=stack-roof,ground_damp=off"],
        starts=["02-01"],
    )
    score = next(one for one in found.moisture if one.what == "240 days ahead")
    assert score.cases == 8
    # The score of a step is the squared share on the wrong side times the distance,
    # 6.8. The dry year from three damp ones: 1; each damp year from two damp and a dry
    # one: (1/3)². Had a forecast seen its own year: (3/4)² and (1/4)², 1.28 in all.
    by_hand = 6.8 * (2 * 1.0 + 6 * (1 / 3) ** 2) / 8
    assert by_hand == pytest.approx(2.27, abs=0.01)
    assert score.crps == pytest.approx(by_hand, abs=0.3)
    assert score.coverage <= 0.75
