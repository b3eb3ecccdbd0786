"""Boards, one at a time: reading their names, following them, bringing them to rest."""

import numpy as np
import pytest
import xarray as xr

from emcforecast import read_weather
from emcforecast.ensemble.acclimate import acclimate
from emcforecast.ensemble.air import storage_air
from emcforecast.ensemble.boards import boards_as_stated, start_state
from emcforecast.ensemble.calendar import as_day
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.route import Leg, Stack
from emcforecast.ensemble.run_boards import air_tables, run_boards
from emcforecast.ensemble.simulate import running_emc, simulate
from emcforecast.errors import InputError, SpeciesError, WeatherError
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.weather.series import make_series
from emcforecast.wood.added_species import species_from_mapping
from emcforecast.wood.board import Board


def air(days: int = 365, seed: int = 1, mean: float = 70.0) -> xr.Dataset:
    rng = np.random.default_rng(seed)
    hour = np.arange(24 * days)
    spells = np.repeat(rng.normal(0.0, 1.0, days), 24)
    day = np.cos(hour * 2 * np.pi / 24)
    season = np.cos(hour * 2 * np.pi / 8760)
    series = make_series(
        np.datetime64("2001-01-01T00", "ns") + hour * np.timedelta64(1, "h"),
        {
            "air_temperature": 10.0 - 11.0 * season - 5.0 * day + 3.0 * spells,
            "relative_humidity": np.clip(
                mean + 5.0 * season + 15.0 * day + 8.0 * spells, 15.0, 100.0
            ),
        },
        step="hour",
        kind="observed",
        source="made up",
    )
    return series.assign_attrs(surface_transfer=1e-3, rain_film=0.0)


def test_a_board_knows_its_wood() -> None:
    board = Board("tulipwood", "8/4")
    assert board.species == "yellow-poplar"
    assert board.thickness_mm == 54.0
    assert board.basic_density == 400.0  # Wood Handbook Table 5-3: 0.40
    assert board.green_mc == pytest.approx((83 + 106) / 2, abs=0.5)  # Table 4-1
    assert Board("yellow-poplar", 27, "heartwood").green_mc == 83.0
    assert board.factor.value > 0.0
    assert board.factor.how


def test_equal_boards_are_equal() -> None:
    assert Board("white oak", "4/4") == Board("Quercus alba", "4/4")
    assert len({Board("white oak", "4/4"), Board("oak, white", "4/4")}) == 1


def test_bad_boards_are_refused_at_once() -> None:
    with pytest.raises(SpeciesError, match="oka"):
        Board("oka", "4/4")
    with pytest.raises(InputError):
        Board("white oak", "thick")
    with pytest.raises(InputError, match="400"):
        simulate(air(3), Board(), 400.0)


def test_a_board_has_a_width_and_a_length() -> None:
    assert Board("white oak", 54).sizes_mm == (54.0, 175.0, 2400.0)
    assert Board("white oak", 200).sizes_mm == (200.0, 200.0, 2400.0)  # a post
    split = Board("white oak", 90, width_mm=100, length_mm=330)
    assert split.sizes_mm == (90.0, 100.0, 330.0)
    assert split != Board("white oak", 90)
    with pytest.raises(InputError, match="a width of 50 mm"):
        Board("white oak", 54, width_mm=50)
    with pytest.raises(InputError, match="a length of 30 mm"):
        Board("white oak", 54, length_mm=30)


@pytest.mark.parametrize(
    ("thickness", "extrapolated"), [("4/4", False), ("8/4", False), (60, True)]
)
def test_thicker_than_published_is_a_value(thickness: str, extrapolated: bool) -> None:
    assert Board("white oak", thickness).extrapolated is extrapolated


def test_narrow_and_short_wood_dries_sooner() -> None:
    """The same air and wood: a plank, a square post, a split."""
    weather = air(200)
    left = [
        float(simulate(weather, board)["mean"][-1])
        for board in (
            Board("white oak", 80, width_mm=400),
            Board("white oak", 80, width_mm=80),
            Board("white oak", 80, width_mm=80, length_mm=330),
        )
    ]
    assert left[0] > left[1] + 3.0 > left[2] + 6.0


def test_woods_differ_less_dry_than_green() -> None:
    """The fourth root of the factor, about 0.5; the whole factor when green."""
    slow, quick = Board("white ash"), Board("red maple")
    for board in (slow, quick):
        green = board.diffusivity * board.green_ratio
        plain = board.diffusivity / (0.5 * (2.0 * board.factor.value) ** 0.25)
        assert green == pytest.approx(plain * board.factor.value)
    ratio = quick.factor.value / slow.factor.value
    assert quick.green_ratio / slow.green_ratio == pytest.approx(ratio**0.75)


def test_simulate_begins_where_told_and_follows_the_air() -> None:
    weather = air()
    path = simulate(weather, Board("white oak", "4/4"))
    assert list(path.data_vars) == ["mean", "shell", "core"]
    assert path.sizes["time"] == weather.sizes["time"]
    assert float(path["mean"][0]) == pytest.approx(71.0)
    assert path["mean"].attrs["units"] == "%"
    rested = path.isel(time=slice(-24 * 30, None))
    assert 10.0 < float(rested["mean"].mean()) < 20.0
    # While it dries the shell is drier and the core wetter than the whole.
    drying = path.isel(time=slice(24 * 5, 24 * 60))
    assert bool((drying["shell"] < drying["mean"]).all())
    assert bool((drying["core"] > drying["mean"]).all())


def test_simulate_refuses_monthly_air() -> None:
    with pytest.raises(WeatherError, match="hourly"):
        simulate(air(3).assign_attrs(step="month"), Board())


def test_running_emc_is_the_long_run_of_simulate() -> None:
    """Three years one after another in one run, from the rest found."""
    weather = air(3 * 365, seed=4)
    board = Board("red oak", "4/4")
    running = running_emc(weather, board)
    assert running.sizes == weather.sizes
    airs, boards = air_tables([weather]), boards_as_stated([board])
    one = run_boards(
        airs,
        boards,
        start_state(boards, float(running[0]) / 100.0),
        air_index=0,
        start_row=0,
        hours=airs.hours - 1,
        every=1,
        wrap=False,
    )
    later = slice(24 * 400, None)
    gap = one.mean[later, 0] - running.to_numpy()[later]
    assert np.abs(gap).max() < 0.02


@pytest.mark.parametrize("thickness", [12, 27, 80])
def test_running_emc_repeats_its_first_year(thickness: float) -> None:
    running = running_emc(air(), Board("beech, American", thickness))
    assert abs(float(running[0]) - float(running[-1])) < 0.25  # an hour's change, thin
    boards = boards_as_stated([Board("beech, American", thickness)])
    again = run_boards(
        air_tables([air()]),
        boards,
        start_state(boards, float(running.mean()) / 100.0),
        air_index=0,
        start_row=0,
        hours=3 * 8760,
    )
    last = again.mean[730:1095, 0]
    np.testing.assert_allclose(last, running.to_numpy()[::24], atol=0.03)


def test_running_emc_of_constant_air_is_its_emc() -> None:
    weather = air(40)
    weather["air_temperature"][:] = 20.0
    weather["relative_humidity"][:] = 45.0
    running = running_emc(weather, Board("white ash", 20))
    rest = float(equilibrium_moisture_content(20.0, 45.0))
    np.testing.assert_allclose(running, rest, atol=1e-9)


def test_thin_wood_swings_more_than_thick() -> None:
    swing = [float(running_emc(air(), Board("red oak", t)).std()) for t in (10, 27, 80)]
    assert swing[0] > swing[1] > swing[2]


def test_missing_air_in_the_second_year_spoils_what_follows() -> None:
    weather = air(3 * 365)
    weather["relative_humidity"][8760 + 100] = np.nan
    running = running_emc(weather, Board("red oak", "4/4"))
    assert np.isfinite(running[: 8760 + 100]).all()
    assert np.isnan(running[8760 + 102 :]).all()


def test_boards_of_several_sizes_run_as_each_does_alone() -> None:
    """Boards that need other cells or other steps go in groups of their own."""
    airs = air_tables([air(seed=1), air(seed=2, mean=55.0)])
    kinds = [Board("white oak", "4/4"), Board("basswood", "5/4"), Board("ash", 5)]
    index, row = np.array([0, 1, 1]), np.array([0, 500, 90])
    boards = boards_as_stated(kinds)
    content = np.array([board.start_content() for board in kinds])
    many = run_boards(
        airs, boards, start_state(boards, content), air_index=index, start_row=row,
        hours=2400,
    )  # fmt: skip
    for k in range(3):
        alone = boards.take(np.array([k]))
        one = run_boards(
            airs, alone, start_state(alone, content[k]), air_index=index[k],
            start_row=row[k], hours=2400,
        )  # fmt: skip
        np.testing.assert_allclose(many.mean[:, k], one.mean[:, 0], rtol=1e-12)
    assert many.mean.shape == (101, 3)


def test_airs_must_share_their_hours() -> None:
    with pytest.raises(WeatherError, match="same hours"):
        air_tables([air(20), air(30)])


def test_a_time_outside_the_air_is_refused() -> None:
    with pytest.raises(WeatherError, match="outside the air"):
        acclimate(air(20), Board("cherry", "4/4"), 14.0, "2001-03-03")


def test_rain_wets_a_thin_board_under_fans() -> None:
    """Two steps an hour there.

    A film of rain holds the surface at fibre saturation, 28 %: it never rises above
    that, wets the board while it lasts, and is gone when it has dried.
    """
    wet = air(40)
    rain = np.zeros(wet.sizes["time"])
    rain[200:260] = 0.5
    wet["precipitation"] = ("time", rain, {"units": "mm"})
    wet = wet.assign_attrs(surface_transfer=3e-3, rain_film=0.1)
    dry = wet.drop_vars("precipitation")
    board = Board("white oak", 13)
    rained, spared = (simulate(one, board, 12.0)["mean"] for one in (wet, dry))
    assert float(np.abs(rained - spared)[:200].max()) == 0.0
    assert float((rained - spared)[262]) > 2.0
    assert float(rained.max()) < 28.0
    assert float((rained - spared)[-1]) < float((rained - spared)[262])


def test_no_start_holds_more_water_than_the_wood_has_room_for() -> None:
    """All voids full: 1/G - 1/1.54 (Wood Handbook, chapter 4; from memory)."""
    oak = Board("white oak", 27.0)
    room = 100.0 * (1.0 / oak.wood.basic_gravity - 1.0 / 1.54)
    assert oak.start_content(room) == pytest.approx(room / 100.0)
    with pytest.raises(InputError, match="holds about"):
        oak.start_content(room + 15.0)


def test_an_own_wood_holds_its_green_moisture() -> None:
    with pytest.raises(SpeciesError, match="green_heartwood"):
        species_from_mapping("mine", {"basic_gravity": 1.2, "green_heartwood": 250.0})
    wood = species_from_mapping("mine", {"basic_gravity": 0.5, "green_sapwood": 130.0})
    assert wood.green_moisture("sapwood").value == 130.0


def test_sealed_ends_dry_as_if_the_board_had_none():
    # Newman's rule for the block without its third sheet: the thickness and width alone
    # (section_gain of an endless board), and no end in the passing air.
    short = Board("white oak", 27.0, length_mm=330.0, sealed_ends=True)
    plain = Board("white oak", 27.0, length_mm=330.0)
    sealed, unsealed = boards_as_stated([short]), boards_as_stated([plain])
    assert np.isinf(sealed.length).all()
    assert unsealed.length == pytest.approx(0.33)
    air = storage_air(read_weather("demo"), ["shed"])
    days = []
    for board in (plain, short, Board("white oak", 27.0, length_mm=20000.0)):
        runs = follow(air, Stack(board, (Leg(0, as_day("2026-05-01")),)), 300)
        days.append(np.median(runs.first_below(20.0)))
    # An end of 330 mm: 12.5 (27/330)² = 0.084 more of the slowest mode, some 8 %.
    assert days[1] == pytest.approx(days[2], rel=0.005)
    assert 0.03 < days[1] / days[0] - 1.0 < 0.2
