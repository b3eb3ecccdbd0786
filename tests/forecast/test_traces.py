"""Traces against an independent solver, the calendar, and what must always hold."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from emcforecast.ensemble.air import storage_air
from emcforecast.ensemble.boards import boards_of, start_content, start_state
from emcforecast.ensemble.calendar import as_day, weather_years
from emcforecast.ensemble.draws import as_standard, as_wood, draw
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.percentiles import bands, quantiles
from emcforecast.ensemble.resolution import cell_grading
from emcforecast.ensemble.route import Cut, Leg, Stack, cut_profile
from emcforecast.ensemble.simulate import simulate
from emcforecast.ensemble.trajectories import first_below
from emcforecast.ensemble.weather_ahead import (
    _between,
    humidity_of,
    temperature_of,
    trust,
)
from emcforecast.errors import InputError
from emcforecast.physics.boards import air_table
from emcforecast.physics.diffusion import half_grid
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.report.updates import air_warnings
from emcforecast.storage.air import air_in
from emcforecast.storage.setting_text import parse_setting
from emcforecast.weather.read import demonstration
from emcforecast.weather.series import make_series
from emcforecast.wood.board import Board

D = np.datetime64


@cache
def weather():
    return demonstration()


@cache
def bank(*places):
    return storage_air(weather(), [parse_setting(p) for p in places], draws=4)


def steady(hours, t, rh, first="2015-01-01"):
    time = D(first, "h") + np.arange(hours)
    return make_series(
        time,
        {"air_temperature": np.full(hours, t), "relative_humidity": np.full(hours, rh)},
        step="hour",
        kind="observed",
        source="even air",
        utc_offset=0.0,
    )


class TestCalendar:
    def test_every_year_passes_the_date_at_local_midnight(self):
        years_of = bank("shed").years
        rows, years = years_of.starts(as_day("2025-10-01"))
        stamps = weather()["time"].to_numpy()[years_of.skipped + rows]
        local = stamps.astype("datetime64[h]") + np.timedelta64(1, "h")
        expected = [D(f"{y}-10-01T00") for y in range(2007, 2019)]
        assert years.tolist() == list(range(2007, 2019))
        # The record runs by UTC years, so the first local date comes round again.
        assert local.tolist() == [d.item() for d in expected]

    def test_a_part_of_a_year_is_left_out_at_the_beginning(self):
        times = np.arange("2010-03-05", "2020-08-17", dtype="datetime64[h]")
        years_of = weather_years(times, 0.0)
        assert (years_of.years, str(years_of.first)) == (10, "2010-08-17T00")
        assert str(years_of.end) == "2020-08-17T00"

    def test_29_february_is_1_march_in_other_years(self):
        times = np.arange("2015-01-01", "2018-01-01", dtype="datetime64[h]")
        rows, _ = weather_years(times, 0.0).starts(as_day("2016-02-29"))
        days = times[rows].astype("datetime64[D]")
        assert [str(d) for d in days] == ["2015-03-01", "2016-02-29", "2017-03-01"]

    def test_a_date_outside_the_record_has_no_row(self):
        years_of = bank("shed").years
        assert years_of.row_of(as_day("2019-06-01")) is None
        assert years_of.row_of(as_day("2018-06-01")) is not None

    @pytest.mark.parametrize("bad", ["tomorrow", "2025-13-01", "4/5/2025"])
    def test_what_is_not_a_date_is_refused_with_the_way_to_write_it(self, bad):
        with pytest.raises(InputError, match="2025-04-01"):
            as_day(bad)


class TestFollow:
    def test_one_member_is_the_board_model_itself(self):
        """`simulate` is held against scipy's stiff solver in the board's own tests."""
        alone = storage_air(weather(), [parse_setting("shed")], draws=1)
        board = Board("red oak", "4/4")
        stack = Stack(board, (Leg(0, D("2010-04-01")),), 60.0)
        traces = follow(
            alone,
            stack,
            240,
            members=draw(1, 1),
            pairing="cross",
            today=stack.begun,
            years=[2012],
        )
        air = air_in(weather(), "shed")
        start = D("2012-03-31T23", "ns")
        path = simulate(air.sel(time=slice(start, None)), board, 60.0)["mean"]
        daily = path.to_numpy()[: 241 * 24 : 24]
        # 16 cells here, 24 there: METHOD section 5 gives 0.047 max for 16.
        assert np.abs(traces.mean[:, 0] - daily).max() < 0.06

    def test_the_actual_weather_is_the_same_in_every_trace(self):
        stack = Stack(Board("ash, white"), (Leg(0, D("2018-06-01")),))
        traces = follow(bank("shed"), stack, 400, members=draw(4, 4), pairing="cross")
        until = int((traces.known_to - traces.begun).astype(int))
        assert 210 < until < 216
        for member in range(4):
            mine = traces.mean[:, traces.ensemble.member == member]
            assert np.ptp(mine[: until + 1], axis=1).max() < 1e-9
            assert np.ptp(mine[until + 20]) > 0.05

    def test_going_on_is_the_same_as_going_far_at_once(self):
        stack = Stack(
            Board("white oak", "8/4"),
            (Leg(0, D("2025-04-01")), Leg(1, D("2025-10-01"))),
            cuts=(Cut(D("2025-08-01"), 40.0, "plane"),),
        )
        air = bank("shed", "indoor")
        far = follow(air, stack, 500, members=draw(4, 4), pairing="cross")
        near = follow(air, stack, 100, members=draw(4, 4), pairing="cross")
        assert np.abs(near.extend(500).mean - far.mean).max() < 1e-3
        assert near.days == 100

    def test_a_move_changes_the_air_from_its_day_on(self):
        air = bank("shed", "indoor")
        board = Board("white oak")
        stay = follow(air, Stack(board, (Leg(0, D("2025-04-01")),)), 300)
        route = (Leg(0, D("2025-04-01")), Leg(1, D("2025-12-01")))
        move = follow(air, Stack(board, route), 300)
        day = int((D("2025-12-01") - D("2025-04-01")).astype(int))
        assert np.abs(move.mean[: day + 1] - stay.mean[: day + 1]).max() < 1e-3
        assert (move.mean[-1] < stay.mean[-1] - 1.0).all()

    def test_from_one_year_only_the_levers_spread(self):
        year = weather().sel(time=slice("2012-01-01", "2012-12-31"))
        one = storage_air(year, [parse_setting("shed")], draws=4)
        traces = follow(one, Stack(Board(), (Leg(0, D("2025-04-01")),)), 200)
        assert not one.many_years
        assert set(traces.year.tolist()) == {2012}
        assert np.ptp(traces.mean[100]) > 1.0
        same = follow(
            one, Stack(Board(), (Leg(0, D("2025-04-01")),)), 200, members=draw(1, 1)
        )
        assert same.mean.shape[1] == 1

    def test_in_even_air_every_trace_comes_to_the_published_emc(self):
        """Wood Handbook Table 4-2 (read): 70 °F and 65 % RH is 12.0 % MC."""
        even = storage_air(
            steady(2 * 8760, (70 - 32) / 1.8, 65.0),
            [parse_setting("outdoor=stack-roof,ground_damp=off")],
            draws=2,
        )
        traces = follow(even, Stack(Board("basswood"), (Leg(0, D("2025-01-01")),)), 900)
        assert np.median(traces.mean[-1]) == pytest.approx(12.0, abs=0.1)
        assert np.std(traces.mean[-1]) == pytest.approx(0.03 * 12.0, rel=0.15)

    def test_the_weather_forecast_fades_into_each_year(self):
        """Six damp days ahead wet every trace; after the fade each follows its year."""
        time = D("2015-01-01", "h") + np.arange(3 * 8760 + 24 + 16 * 24)
        t = np.full(time.size, 15.0)
        rh = np.full(time.size, 60.0)
        known = time.size - 16 * 24
        rh[known:] = 95.0
        ds = make_series(
            time, {"air_temperature": t, "relative_humidity": rh}, step="hour",
            kind="observed", source="made", utc_offset=0.0,
        )  # fmt: skip
        ds.attrs["forecast_from"] = str(time[known])
        held = storage_air(ds, [parse_setting("outdoor=stack-roof")], draws=2)
        assert held.forecast is not None
        assert held.forecast.shape[1] == 16 * 24
        stack = Stack(
            Board("basswood"),
            (Leg(0, D(time[known], "D") - np.timedelta64(30, "D")),),
            12.0,
        )
        traces = follow(held, stack, 90, members=draw(4, 2), pairing="cross")
        assert (traces.mean[42] > traces.mean[30] + 0.5).all()
        assert (traces.mean[80] < traces.mean[42] - 0.5).all()
        assert trust(24 * 16)[-1] < 0.01


class TestMembers:
    def test_levers_are_normal_and_do_not_move_together(self):
        """Against the normal distribution's own moments."""
        members = draw(400, 8, seed=3)
        assert members.factor.std() == pytest.approx(1.0, abs=0.03)
        assert np.abs(members.factor).max() <= 2.3
        pairs = np.corrcoef([members.factor, members.sorption, members.start])
        assert np.abs(pairs - np.eye(3)).max() < 0.15

    def test_green_moisture_spreads_by_a_quarter_and_never_over_full_voids(self):
        """Spread between trees: species table's own note; voids: 1/G - 1/1.53."""
        board = Board("white oak")
        content = start_content(board, draw(200, 4))
        assert content.std() / content.mean() == pytest.approx(0.12, abs=0.01)
        assert content.max() <= 1.0 / 0.60 - 1.0 / 1.53 + 1e-9

    @given(u=st.floats(0.0, 2.0), c=st.floats(0.93, 1.07))
    def test_the_sorption_lever_comes_undone(self, u, c):
        assert float(as_standard(as_wood(u, c), c)) == pytest.approx(u, abs=1e-9)

    @given(c=st.floats(0.93, 1.07))
    def test_the_sorption_lever_keeps_the_order(self, c):
        u = np.linspace(0.0, 0.6, 200)
        assert (np.diff(as_wood(u, c)) > 0.0).all()


class TestCuts:
    @given(
        new=st.floats(8.0, 25.0),
        how=st.sampled_from(["resaw", "plane"]),
        seed=st.integers(0, 99),
    )
    @settings(max_examples=60)
    def test_what_is_left_lies_within_what_was_there(self, new, how, seed):
        rng = np.random.default_rng(seed)
        content = np.sort(rng.uniform(0.08, 0.6, 16))[::-1][:, None]
        left = cut_profile(content, 54.0, Cut(D("2025-01-01"), new, how))
        assert left.min() >= content.min() - 1e-9
        assert left.max() <= content.max() + 1e-9

    def test_halves_hold_what_the_whole_held(self):
        content = np.linspace(0.5, 0.1, 16)[:, None]
        width = half_grid(16)[0][:, None]
        left = cut_profile(content, 54.0, Cut(D("2025-01-01"), 27.0))
        assert (left * width).sum() == pytest.approx((content * width).sum(), rel=1e-9)

    def test_planing_takes_the_dry_faces_off(self):
        """A face planed off reads higher: common practice, no source."""
        content = np.linspace(0.3, 0.1, 24)[:, None]
        left = cut_profile(content, 54.0, Cut(D("2025-01-01"), 48.0, "plane"))
        before, after = (
            (part * half_grid(24, cell_grading(24, mm))[0][:, None]).sum()
            for part, mm in ((content, 54.0), (left, 48.0))
        )
        assert after > before + 0.005

    def test_a_cut_from_fine_cells_to_plain_ones_keeps_what_they_hold(self):
        content = np.linspace(0.5, 0.1, 24)[:, None]
        width = half_grid(24, cell_grading(24, 54.0))[0][:, None]
        left = cut_profile(content, 54.0, Cut(D("2025-01-01"), 27.0))
        assert left.shape == (16, 1)
        plain = half_grid(16)[0][:, None]
        assert (left * plain).sum() == pytest.approx((content * width).sum(), rel=1e-9)

    def test_a_cut_to_a_greater_thickness_is_refused(self):
        with pytest.raises(InputError, match="smaller"):
            cut_profile(np.full((16, 1), 0.2), 27.0, Cut(D("2025-01-01"), 30.0))


class TestQuantiles:
    @given(
        values=st.lists(st.floats(0, 1000), min_size=1, max_size=40),
        level=st.floats(0.0, 1.0),
    )
    def test_equal_weights_agree_with_numpy(self, values, level):
        """numpy's 'hazen' method is the same definition for equal weights."""
        array = np.array(values)
        mine = quantiles(array, np.full(array.size, 1.0 / array.size), [level])[0]
        assert mine == pytest.approx(
            np.quantile(array, level, method="hazen"), abs=1e-6
        )

    def test_never_counts_as_never(self):
        weight = np.full(10, 0.1)
        days = np.array([10.0] * 8 + [np.inf] * 2)
        assert quantiles(days, weight) == (10.0, 10.0, np.inf)

    def test_bands_agree_with_quantiles_day_by_day(self):
        rng = np.random.default_rng(1)
        paths, weight = rng.normal(size=(6, 30)), rng.dirichlet(np.ones(30))
        got = bands(paths, weight)
        for day in range(6):
            assert got[:, day] == pytest.approx(quantiles(paths[day], weight))

    def test_first_below_reads_between_days(self):
        mean = np.array([[30.0, 18.0, 30.0], [22.0, 17.0, 29.0], [18.0, 16.0, 28.0]])
        assert first_below(mean, 20.0).tolist() == [1.5, 0.0, np.inf]


def test_a_board_stays_within_its_start_and_its_air():
    members = draw(8, 4)
    board = Board("basswood")
    air = bank("shed")
    boards = boards_of(board, members)
    rows, _ = air.years.starts(as_day("2025-06-01"))
    state = start_state(boards, start_content(board, members))
    run = air.run(boards, state, place=0, start_row=rows[0], days=60)
    emc = 100.0 * air.tables.table[:, :, 4]
    assert (run.mean <= run.mean[0] + 1e-6).all()
    assert (run.mean >= 0.92 * np.nanmin(emc)).all()


def test_gaps_in_the_record_are_not_made_up():
    ds = weather().sel(time=slice("2010-01-01", "2012-12-31")).copy(deep=True)
    ds["air_temperature"][24 * 200 : 24 * 210] = np.nan
    held = storage_air(ds, [parse_setting("outdoor=stack-roof")], draws=2)
    traces = follow(
        held, Stack(Board(), (Leg(0, D("2025-06-01")),)), 100, members=draw(2, 2)
    )
    missing = np.isnan(traces.mean[-1])
    assert set(traces.year[missing].tolist()) == {2010}


def test_vapour_pressure_is_what_fades():
    """Mixing is done in temperature and vapour pressure, as damp air mixes."""
    past, ahead = air_table([10.0], [50.0]), air_table([20.0], [90.0])
    mixed = _between(past, ahead, np.array([0.25]))
    assert temperature_of(mixed)[0] == pytest.approx(12.5)
    e = vapour_pressure(12.5, 100.0 * mixed[0, 2])
    e_past, e_ahead = vapour_pressure(10.0, 50.0), vapour_pressure(20.0, 90.0)
    assert float(e) == pytest.approx(float(0.75 * e_past + 0.25 * e_ahead))


def test_cold_sorption_is_drawn_once_for_all_places():
    """The first draw is the printed table; the others rest wetter, alike everywhere."""
    places = [parse_setting("outdoor=stack-roof"), parse_setting("loft")]
    held = storage_air(steady(9000, 0.0, 80.0), places, draws=5)
    table = held.tables.table[:, 4000]
    printed = equilibrium_moisture_content(temperature_of(table), humidity_of(table))
    extra = (100.0 * table[:, 4] - printed).reshape(2, 5)
    assert extra[:, 0] == pytest.approx(0.0, abs=1e-9)
    # 1.7 % MC at 0 °C and 80 %
    assert np.sort(extra[0, 1:]) == pytest.approx(
        1.7 * np.array([0.125, 0.375, 0.625, 0.875]), abs=0.1
    )
    # The loft is a little warmer and drier, so its boards' gain is less. By hand, from
    # docs/method.md: h' = h + s c h² (1 - h), c = 0.34 (1 - t/25).
    h, t = (
        values.reshape(2, 5) for values in (humidity_of(table), temperature_of(table))
    )
    room = np.clip(0.34 * (1.0 - t / 25.0), 0.0, None) * (h / 100) ** 2 * (1 - h / 100)
    for k in range(1, 5):
        share = brentq(
            lambda s, k=k: gain(t[0, k], h[0, k], s * room[0, k]) - extra[0, k], 0, 2
        )
        assert extra[1, k] == pytest.approx(gain(t[1, k], h[1, k], share * room[1, k]))


def gain(t: float, h: float, more: float) -> float:
    """Further moisture at a humidity raised by a share of 1, % MC."""
    wetter, plain = (
        float(equilibrium_moisture_content(t, x)) for x in (h + 100.0 * more, h)
    )
    return wetter - plain


def test_cold_sorption_leaves_the_air_and_free_water_as_they_are():
    """Vapour leaves wet wood by the air's own humidity, which can be read back."""
    plain = air_table([0.0, 0.0], [80.0, 100.0])
    moved = air_table([0.0, 0.0], [80.0, 100.0], None, [84.35, 100.0])
    assert humidity_of(moved) == pytest.approx([80.0, 100.0])
    free = [table[..., 1] * (1.0 - table[..., 2]) for table in (plain, moved)]
    assert free[1] == pytest.approx(free[0])
    same = _between(moved, moved, np.array([0.3, 0.3]))
    assert same == pytest.approx(moved)


def test_a_record_too_long_for_all_draws_of_a_store_says_so(monkeypatch):
    hours = 2 * 8760
    air = steady(hours, 12.0, 70.0)
    full = storage_air(
        air,
        [parse_setting("shed")],
    )
    assert full.draws == 8
    assert not full.too_few_draws
    monkeypatch.setattr("emcforecast.ensemble.air.MOST_HOURS", 2 * hours)
    cut = storage_air(air, [parse_setting("shed")])
    assert cut.draws == 2
    assert cut.too_few_draws
    assert "2 of 8 draws" in air_warnings(cut)[0]
