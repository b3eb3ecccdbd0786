"""What any board must obey, whatever its wood and its air.

The laws are physics and numerical analysis (conservation, the maximum principle, the
order of the scheme), not values: no source is needed.
"""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from emcforecast.physics.boards import BoardRun, advance, air_table, fresh_state
from emcforecast.physics.diffusion import half_grid
from emcforecast.physics.kernels.board_diffusion import LANES
from emcforecast.physics.sorption import equilibrium_moisture_content

HOURS = 1500
SEED = np.random.default_rng(5)


def weather(hours: int = HOURS, seed: int = 5) -> tuple[np.ndarray, np.ndarray]:
    """Air with seasons, days and weather: lively but possible."""
    rng = np.random.default_rng(seed)
    hour = np.arange(hours)
    spells = np.repeat(rng.normal(0.0, 1.0, hours // 24 + 1), 24)[:hours]
    temperature = 9.0 + 8.0 * np.sin(hour / 300.0) - 5.0 * np.cos(hour * 2 * np.pi / 24)
    temperature += 3.0 * spells + rng.normal(0.0, 0.5, hours)
    humidity = 70.0 + 15.0 * np.cos(hour * 2 * np.pi / 24) + 10.0 * spells
    return temperature, np.clip(humidity + rng.normal(0.0, 2.0, hours), 15.0, 100.0)


AIR = air_table(*weather())[None]
OAK: dict[str, Any] = {
    "air_index": 0,
    "start_hour": 0,
    "thickness_m": 0.027,
    "diffusivity": 2e-11,
    "density": 560.0,
    "surface_transfer": 1e-3,
}


def run(start: Any = 0.6, boards: int = 1, cells: int = 16, **changes: Any) -> BoardRun:
    given = {"steps": HOURS - 1, "every": 1, "state": fresh_state(start, boards, cells)}
    air = changes.pop("air", AIR)
    return advance(air, **(OAK | given | changes))


woods = st.fixed_dictionaries(
    {
        "thickness_m": st.floats(0.006, 0.2),
        "diffusivity": st.floats(1e-11, 4e-10),
        "density": st.floats(300.0, 750.0),
        "surface_transfer": st.floats(1e-4, 5e-3),
    }
)


@settings(max_examples=30, deadline=None)
@given(wood=woods, start=st.floats(0.02, 1.5), cells=st.sampled_from([16, 24]))
def test_water_is_neither_made_nor_lost(
    wood: dict[str, float], start: float, cells: int
) -> None:
    done = run(start, cells=cells, **wood)
    width = half_grid(cells)[0]
    held = width @ done.state[:cells, 0]
    assert held == pytest.approx(start + done.state[-1, 0], abs=1e-12)


@settings(max_examples=30, deadline=None)
@given(wood=woods, start=st.floats(0.02, 1.5), seed=st.integers(0, 99))
def test_a_board_stays_within_its_start_and_its_air(
    wood: dict[str, float], start: float, seed: int
) -> None:
    air = air_table(*weather(400, seed))[None]
    done = run(start, air=air, steps=399, **wood)
    least = min(start, air[0, :, 4].min())
    most = max(start, air[0, :, 4].max())
    for part in (done.mean, done.shell, done.core):
        assert part.min() >= least - 1e-9
        assert part.max() <= most + 1e-9


@settings(max_examples=30, deadline=None)
@given(wood=woods, temperature=st.floats(-20.0, 40.0), humidity=st.floats(5.0, 100.0))
def test_constant_in_constant_out(
    wood: dict[str, float], temperature: float, humidity: float
) -> None:
    rest = float(equilibrium_moisture_content(temperature, humidity)) / 100.0
    air = air_table(np.full(200, temperature), np.full(200, humidity))[None]
    done = run(rest, air=air, steps=199, **wood)
    np.testing.assert_allclose(done.mean, rest, rtol=0, atol=1e-12)
    np.testing.assert_allclose(done.shell, rest, rtol=0, atol=1e-12)


def test_it_comes_to_rest_at_the_emc_of_constant_air() -> None:
    air = air_table(np.full(6000, 20.0), np.full(6000, 50.0))[None]
    done = run([0.05, 0.6], boards=2, air=air, steps=5999, diffusivity=8e-11)
    rest = float(equilibrium_moisture_content(20.0, 50.0)) / 100.0
    np.testing.assert_allclose(done.mean[-1], rest, atol=2e-4)


def test_halving_the_step_shows_second_order() -> None:
    hour = np.arange(96.0)

    def mean(parts: int) -> float:
        middle = (np.arange(96 * parts) + 0.5) / parts
        smooth = air_table(
            12.0 + 6.0 * np.sin(middle / 15.0), 65.0 + 15.0 * np.cos(middle / 11.0)
        )[None]
        profile = np.linspace(0.24, 0.14, 16)[:, None]
        done = run(
            profile,
            air=smooth,
            steps=hour.size * parts - 1,
            step_seconds=3600.0 / parts,
            thickness_m=0.02,
            diffusivity=5e-11,
        )
        return float(done.mean[-parts, 0])

    values = [mean(parts) for parts in (1, 2, 4, 8)]
    steps = np.abs(np.diff(values))
    orders = np.log2(steps[:-1] / steps[1:])
    assert np.all(orders > 1.6), orders


def test_missing_air_spoils_its_own_board_only() -> None:
    temperature, humidity = weather()
    holed = humidity.copy()
    holed[300] = np.nan
    air = np.stack([air_table(temperature, humidity), air_table(temperature, holed)])
    done = run([0.6, 0.6, 0.6], boards=3, air=air, air_index=[0, 1, 0])
    whole = run()
    assert np.all(np.isfinite(done.mean[:301, 1]))
    assert np.all(np.isnan(done.mean[301:, 1]))
    for board in (0, 2):
        np.testing.assert_array_equal(done.mean[:, board], whole.mean[:, 0])


def test_missing_temperature_too() -> None:
    temperature, humidity = weather()
    temperature[10] = np.nan
    done = run(air=air_table(temperature, humidity)[None])
    assert np.isnan(done.mean[11:]).all()


def test_past_the_end_of_the_air_a_board_is_missing() -> None:
    done = run([0.6, 0.6], boards=2, start_hour=[0, 1000])
    assert np.isfinite(done.mean[:, 0]).all()
    assert np.isfinite(done.mean[:501, 1]).all()
    assert np.isnan(done.mean[501:, 1]).all()


def test_air_can_begin_again() -> None:
    twice = np.concatenate([AIR, AIR], axis=1)
    long = run(air=twice, steps=2 * HOURS - 1)
    wrapped = run(steps=2 * HOURS - 1, wrap=True)
    np.testing.assert_array_equal(long.mean, wrapped.mean)


@pytest.mark.parametrize("boards", [1, 63, 64, 65, 200])
def test_neighbours_do_not_matter(boards: int) -> None:
    start = np.linspace(0.1, 1.2, boards)
    many = run(start, boards=boards, steps=300)
    alone = run(start[-1], steps=300)
    np.testing.assert_allclose(many.mean[:, -1], alone.mean[:, 0], rtol=1e-12)


def test_boards_of_a_block_keep_their_own_routes_films_and_states() -> None:
    """Each of more boards than a block holds, unlike in everything, as if alone."""
    boards, half = LANES + 3, 150
    temperature, humidity = weather()
    rain = np.where(np.arange(HOURS) % 11 < 3, 0.06, 0.0)
    air = np.stack(
        [
            air_table(temperature, humidity, rain),
            air_table(temperature + 9.0, 0.6 * humidity, 2.0 * rain),
            air_table(temperature - 3.0, humidity),
        ]
    )
    k = np.arange(boards)
    given: dict[str, Any] = {
        "start_hour": 3 * k,
        "thickness_m": 0.01 + 0.001 * k,
        "diffusivity": 2e-11 * (1.0 + 0.1 * k),
        "density": 400.0 + 9.0 * k,
        "green_ratio": 1.0 + 0.1 * k,
        "exposure": 1.0 + 0.01 * k,
        "air_index": np.stack([k % 3, (k + 1) % 3, (k + 2) % 3]),
        "surface_transfer": 1e-3 * (1.0 + 0.1 * np.stack([k % 5, k % 7, k % 11])),
        "rain_film": 0.03 * np.stack([k % 4, k % 3, k % 2]),
        "leg_step": np.stack([0 * k, 20 + 3 * k, 140 - k]),
    }
    start = np.linspace(0.08, 0.9, boards)

    def twice(some: slice) -> list[BoardRun]:
        mine = {key: value[..., some] for key, value in given.items()}
        count = start[some].size
        first = run(start[some], boards=count, air=air, steps=half, **mine)
        mine["start_hour"] = mine["start_hour"] + half
        mine["air_index"] = mine["air_index"][::-1]
        return [first, run(state=first.state, air=air, steps=half, **mine)]

    together = twice(slice(None))
    assert np.count_nonzero(together[0].state[-2] > 0.0) > 3
    for lane in range(boards):
        for both, alone in zip(together, twice(slice(lane, lane + 1)), strict=True):
            for name in ("mean", "shell", "core", "state"):
                mine = getattr(both, name)[:, lane]
                np.testing.assert_allclose(
                    mine, getattr(alone, name)[:, 0], rtol=1e-9, atol=1e-15
                )


def test_a_neighbour_in_other_air_does_not_matter() -> None:
    """A block that shares its air takes a shorter way to the same numbers."""
    boards = 5
    shared = run(boards=boards, diffusivity=np.linspace(1e-11, 4e-11, boards))
    mixed = run(
        boards=boards,
        diffusivity=np.linspace(1e-11, 4e-11, boards),
        air=np.concatenate([AIR, air_table(*weather(seed=6))[None]]),
        air_index=[0, 0, 0, 0, 1],
    )
    for name in ("mean", "shell", "core"):
        one, other = getattr(shared, name), getattr(mixed, name)
        np.testing.assert_allclose(one[:, :4], other[:, :4], rtol=1e-12)
        assert np.abs(one[-1, 4] - other[-1, 4]) > 1e-4


def test_threads_do_not_matter() -> None:
    start = np.linspace(0.1, 1.2, 300)
    one, two = (run(start, boards=300, steps=300, threads=k) for k in (1, 2))
    np.testing.assert_array_equal(one.mean, two.mean)


def test_several_callers_at_once() -> None:
    from concurrent.futures import ThreadPoolExecutor

    start = np.linspace(0.1, 1.2, 130)
    with ThreadPoolExecutor(4) as pool:
        jobs = [pool.submit(run, start, 130, steps=300) for _ in range(8)]
        found = [job.result() for job in jobs]
    for other in found[1:]:
        np.testing.assert_array_equal(other.mean, found[0].mean)


def test_a_run_goes_on_from_its_state() -> None:
    whole = run()
    first = run(steps=700)
    second = run(state=first.state, start_hour=700, steps=HOURS - 1 - 700)
    np.testing.assert_allclose(second.mean[:, 0], whole.mean[700:, 0], atol=1e-12)


@pytest.mark.parametrize("cells", [4, 16])
def test_the_state_holds_contents_half_a_step_ahead(cells: int) -> None:
    """Each cell goes on for half a step as it went in the last whole one."""
    start = np.linspace(0.5, 0.1, cells)[:, None]
    before, after = (run(start, cells=cells, steps=k).state[:, 0] for k in (99, 100))
    now = after[:cells]
    ahead = now + 0.5 * (now - before[:cells])
    np.testing.assert_allclose(after[cells : 2 * cells], ahead, rtol=1e-12)


def test_a_route_is_its_legs_one_after_another() -> None:
    temperature, humidity = weather()
    air = np.stack(
        [air_table(temperature, humidity), air_table(temperature + 12, humidity * 0.5)]
    )
    route = run(
        air=air,
        air_index=[[0], [1]],
        leg_step=[[0], [700]],
        surface_transfer=[[1e-3], [4e-4]],
    )
    first = run(air=air, steps=700)
    second = run(
        air=air,
        air_index=1,
        surface_transfer=4e-4,
        state=first.state,
        start_hour=700,
        steps=HOURS - 1 - 700,
    )
    np.testing.assert_allclose(route.mean[:701], first.mean, rtol=1e-12)
    np.testing.assert_allclose(route.mean[700:], second.mean, atol=1e-12)


def test_a_later_leg_that_never_comes_changes_nothing() -> None:
    plain = run(steps=200)
    route = run(steps=200, air_index=[[0], [0]], leg_step=[[0], [900]])
    np.testing.assert_array_equal(plain.mean, route.mean)


def rained(film: float, depth: float, start: float = 0.15) -> BoardRun:
    rain = np.zeros(HOURS)
    rain[100] = depth
    air = air_table(np.full(HOURS, 12.0), np.full(HOURS, 75.0), rain)[None]
    return run(start, air=air, rain_film=film)


def test_rain_wets_and_a_deeper_film_wets_more() -> None:
    dry, thin, deep = rained(0.0, 10.0), rained(0.05, 10.0), rained(0.2, 10.0)
    assert np.all(dry.mean[:101] == deep.mean[:101])
    assert dry.mean.max() < thin.mean.max() < deep.mean.max()
    assert deep.mean.max() <= 0.28
    assert deep.shell.max() <= 0.28


def test_a_film_holds_no_more_than_falls() -> None:
    drizzle, shower = rained(0.2, 0.05), rained(0.2, 10.0)
    np.testing.assert_array_equal(rained(0.05, 10.0).mean, drizzle.mean)
    assert drizzle.mean.max() < shower.mean.max()


def test_the_film_dries_as_fast_as_the_board_gives_vapour() -> None:
    """0.1 kg/m² over β ψ (e_s - e) / (R_v T), by hand, to the hour."""
    t, rh, beta = 12.0, 75.0, 1e-3
    es = 611.2 * np.exp(17.62 * t / (243.12 + t))
    kelvin = t + 273.15
    slope = es * 17.62 * 243.12 / (243.12 + t) ** 2
    cooling = slope * 2.45e6 / (461.5 * 353.0 * 1006.0 * 0.91)
    loss = beta / (1 + cooling) * es * (1 - rh / 100) / (461.5 * kelvin) * 3600.0
    expected = 0.1 / loss
    for hours in (int(expected), int(expected) + 1):
        rain = np.zeros(HOURS)
        rain[100] = 5.0
        air = air_table(np.full(HOURS, t), np.full(HOURS, rh), rain)[None]
        film = run(0.15, air=air, rain_film=0.1, steps=100 + hours).state[-2, 0]
        assert (film > 1e-15) == (hours < expected)


def test_wood_wetter_than_the_film_is_only_held_back() -> None:
    wet, dry = rained(0.1, 10.0, start=0.9), rained(0.0, 0.0, start=0.9)
    assert np.all(np.diff(wet.mean[:, 0]) <= 1e-12)
    assert np.all(wet.mean >= dry.mean - 1e-12)


def test_odd_input_is_refused() -> None:
    with pytest.raises(ValueError, match="air index"):
        run(air_index=3)
    with pytest.raises(ValueError, match="start hour"):
        run(start_hour=HOURS)
    with pytest.raises(ValueError, match="cells"):
        run(cells=60)


@pytest.mark.parametrize("boards", [LANES - 1, LANES, 2 * LANES])
def test_the_state_given_is_left_as_it_was(boards: int) -> None:
    """Also where the last block is full and nothing is padded."""
    start = fresh_state(0.5, boards)
    before = start.copy()
    one, again = (run(start=0.5, boards=boards, state=start).mean for _ in range(2))
    np.testing.assert_array_equal(start, before)
    np.testing.assert_array_equal(one, again)
