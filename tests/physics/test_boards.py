"""The wrapper of the board kernel: its tables and bounds, by hand."""

from typing import Any

import numpy as np
import pytest

from emcforecast.physics.boards import BoardRun, advance, air_table, fresh_state

BOARD: dict[str, Any] = {
    "air_index": 0,
    "start_hour": 0,
    "thickness_m": 0.02,
    "diffusivity": 5e-11,
    "density": 500.0,
    "surface_transfer": 1e-3,
}


def magnus(t: float) -> float:
    return float(611.2 * np.exp(17.62 * t / (243.12 + t)))


def run(t: float, rh: float, start: float, steps: int = 48, **changes: Any) -> BoardRun:
    air = air_table(np.full(100, t), np.full(100, rh), changes.pop("rain", None))
    boards, cells = changes.pop("boards", 1), changes.pop("cells", 16)
    state = fresh_state(start, boards, cells)
    return advance(air[None], state=state, steps=steps, **(BOARD | changes))


def test_the_columns_of_the_air_by_hand() -> None:
    """Wood Handbook equation 4-5 at 20 °C and 50 %, coefficients in °C from memory."""
    (row,) = air_table([20.0], [50.0], [1.5])
    # K = 0.805 + 0.01472 - 0.001092; x = K/2; K1 = 6.27 - 0.1876 - 0.1212; K2 =
    # 1.91 + 0.814 - 0.1172; W = 349 + 25.8 + 5.4.
    k, k1, k2, w = 0.818628, 5.9612, 2.6068, 380.2
    x = 0.5 * k
    rest = (
        18.0
        / w
        * (
            x / (1.0 - x)
            + (k1 * x + 2.0 * k1 * k2 * x**2) / (1.0 + k1 * x + k1 * k2 * x**2)
        )
    )
    es = magnus(20.0)
    slope = es * 17.62 * 243.12 / 263.12**2
    cooling = slope * 2.45e6 / (461.5 * 353.0 * 1006.0 * 0.91)
    assert row == pytest.approx(
        [1.0, es / (461.5 * 293.15), 0.5, cooling, rest, x / (1.0 - x), 20.0, 1.5],
        rel=2e-4,
    )
    # Beyond 0 to 100 % nothing is drier or damper; below -1.1 °C sorption stands still.
    ends = air_table([-30.0, 20.0, 20.0], [50.0, -5.0, 130.0])
    assert ends[:, 2].tolist() == [0.5, 0.0, 1.0]
    assert ends[:, 6].tolist() == [-1.1, 20.0, 20.0]
    assert ends[:, 7].tolist() == [0.0, 0.0, 0.0]


def test_wood_that_rests_damper_than_the_printed_relation() -> None:
    """At 60 % it holds what the relation gives at 70; free water leaves as before:
    density times (1 - 0.6)/(1 - 0.7), so that density times (1 - h') is kept."""
    plain = air_table([20.0, 20.0], [60.0, 60.0])
    damper = air_table([20.0, 20.0], [60.0, 60.0], resting_humidity=[70.0, 100.0])
    assert damper[0, 1] == pytest.approx(plain[0, 1] * 0.4 / 0.3)
    assert damper[:, 2] == pytest.approx([0.7, 1.0])
    assert damper[0, 4:6] == pytest.approx(air_table(20.0, 70.0)[4:6])
    assert damper[:, [0, 3, 6, 7]] == pytest.approx(plain[:, [0, 3, 6, 7]])
    # At 100 % there is no such factor: the air's own density stays.
    assert damper[1, 1] == pytest.approx(plain[1, 1])
    assert air_table(20.0, 60.0, resting_humidity=130.0)[2] == 1.0
    assert air_table(20.0, 60.0, resting_humidity=-10.0)[2] == 0.0


def test_a_table_is_filled_where_that_is_asked() -> None:
    room = np.zeros((2, 8))
    found = air_table([10.0, 20.0], [50.0, 60.0], out=room)
    assert found is room
    np.testing.assert_array_equal(room, air_table([10.0, 20.0], [50.0, 60.0]))


def test_a_board_begins_at_rest_with_its_surface() -> None:
    """Content of 20 °C and 50 %, by the table of the columns above: x/(1 - x), x = K/2;
    content of each cell from the centre, and again half a step ahead."""
    rest = float(air_table(20.0, 50.0)[4])
    state = fresh_state(rest, 3)
    assert state.shape == (16 + 16 + 3, 3)
    assert state[:32] == pytest.approx(np.full((32, 3), rest))
    assert state[32] == pytest.approx(np.full(3, 0.409314 / 0.590686), rel=1e-4)
    assert (state[33:] == 0.0).all()
    profile = fresh_state(np.linspace(0.3, 0.1, 24)[:, None], 1, 24)
    assert profile[[0, 23, 24, 47], 0].tolist() == pytest.approx([0.3, 0.1, 0.3, 0.1])
    assert np.isfinite(fresh_state(1.5, 1)).all()


def test_records_are_a_day_apart_unless_said() -> None:
    daily, hourly = run(20.0, 50.0, 0.3), run(20.0, 50.0, 0.3, every=1)
    assert daily.mean.shape == (3, 1)
    np.testing.assert_array_equal(daily.mean, hourly.mean[::24])
    assert run(20.0, 50.0, 0.3, steps=47).mean.shape == (2, 1)


@pytest.mark.parametrize("cells", [2, 3, 15, 17, 47, 49, 50])
def test_cells_that_the_kernel_cannot_take_are_refused(cells: int) -> None:
    # It takes inner cells two by two: an odd number once gave no number at all.
    with pytest.raises(ValueError, match=f"{cells} cells; an even number from 4 to 48"):
        run(20.0, 50.0, 0.3, cells=cells)


def test_all_even_numbers_of_cells_dry_alike() -> None:
    # Few cells are coarse, but to 0.2 % MC the same.
    ends = [float(run(20.0, 50.0, 0.3, cells=n).mean[-1, 0]) for n in (4, 6, 16, 48)]
    assert ends == pytest.approx([ends[-1]] * 4, abs=0.002)
    assert ends[-1] < 0.27


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"air_index": -1}, "air index outside 0 to 0"),
        ({"air_index": 1}, "air index outside 0 to 0"),
        ({"start_hour": -1}, "start hour outside 0 to 99"),
        ({"start_hour": 100}, "start hour outside 0 to 99"),
    ],
)
def test_air_that_is_not_there_is_refused(given: dict[str, int], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        run(20.0, 50.0, 0.3, **given)
    # One good board does not let a bad one pass.
    key, bad = next(iter(given.items()))
    air = air_table(np.full(100, 20.0), np.full(100, 50.0))[None]
    for pair in ([0, bad], [bad, 0]):
        with pytest.raises(ValueError, match=words):
            advance(air, state=fresh_state(0.3, 2), steps=9, **(BOARD | {key: pair}))


def test_the_last_air_and_the_last_hour_may_be_used() -> None:
    air = air_table(np.full((2, 50), 20.0), np.full((2, 50), 50.0))
    given = BOARD | {"air_index": 1, "start_hour": 49}
    assert np.isfinite(
        advance(air, state=fresh_state(0.3, 1), steps=1, **given).state
    ).all()


def test_rain_of_an_hour_is_shared_by_its_steps() -> None:
    """0.08 mm in an hour of saturated air, which takes nothing: a quarter after each
    quarter of an hour; a film keeps no more than it may, each board its own."""
    rain = np.zeros(100)
    rain[1] = 0.08
    most = np.array([0.2, 0.05, 0.03])
    for steps, fallen in ((4, 0.0), (5, 0.02), (6, 0.04), (8, 0.08), (12, 0.08)):
        done = run(
            10.0, 100.0, 0.15, steps=steps, rain=rain, rain_film=most, boards=3,
            step_seconds=900.0, steps_per_row=4, every=1,
        )  # fmt: skip
        assert done.state[-2] == pytest.approx(np.minimum(fallen, most))
    # Without a place for rain none is kept.
    dry = run(10.0, 100.0, 0.15, rain=rain)
    assert float(dry.state[-2, 0]) == 0.0
    np.testing.assert_array_equal(dry.mean, run(10.0, 100.0, 0.15).mean)
