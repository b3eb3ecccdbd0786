"""The air node: its laws, its limits, and a stiff solver on the same equations."""

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from emcforecast.physics.air_node import DRIVERS, PARAMETERS, air_node, trace_node
from emcforecast.physics.kernels.sorption import fast_exp
from emcforecast.physics.moist_air import saturation_vapour_pressure

HOUR = 3600.0

HOUSE: dict[str, float] = {
    "vent": 0.25, "vent_wind": 0.03, "vent_open": 0.8, "opens_at": 5.0,
    "u_roof": 0.25, "u_wall": 1.2, "u_ground": 0.2, "capacity": 2.0e5,
    "absorbed": 0.8, "emitted": 0.9, "aperture": 0.04, "gain_used": 6.0,
    "moisture": 7.0e-7, "exchange": 2.5e-8, "store": 3.0,
    "heat_cold": 21.0, "heat_warm": 22.0, "cool": 25.0,
    "coil": 3.5e-3, "coil_per_power": 0.02, "coil_saturation": 1312.0,
    "humidify_to": 0.3, "humidify_most": 3.0e-7,
    "dry_to": 0.6, "dry_most": 4.0e-7,
}  # fmt: skip
LOFT: dict[str, float] = {
    "vent": 3.3, "vent_wind": 0.7, "vent_lift": 1.0, "u_roof": 2.0, "u_wall": 1.0,
    "u_room": 0.3, "room": 21.0, "capacity": 6.0e4, "absorbed": 0.75, "emitted": 0.5,
    "exchange": 1.0e-7, "store": 0.8, "damp_ground": 5.0e-10,
}  # fmt: skip


def drivers(hours: int = 400, seed: int = 1) -> np.ndarray:
    """Weather of no place: harmonic with noise, sunny and clear by turns."""
    rng = np.random.default_rng(seed)
    h = np.arange(hours)
    t = 9.0 + 9.0 * np.sin(h / 150.0) - 5.0 * np.cos(h * np.pi / 12.0)
    t = t + rng.normal(0.0, 1.0, hours)
    e = saturation_vapour_pressure(t) * rng.uniform(0.4, 1.0, hours)
    sun = np.maximum(0.0, -600.0 * np.cos(h * np.pi / 12.0)) * rng.random(hours)
    ground = np.full(hours, 9.0)
    return np.column_stack([
        t, e, rng.uniform(0.5, 5.0, hours), sun, rng.uniform(10.0, 90.0, hours),
        np.full(hours, 5.1), ground, saturation_vapour_pressure(ground),
        np.full(hours, 0.4), h // 200 % 12, rng.choice([1.0, 0.15], hours),
    ])  # fmt: skip


def steady(t: float, rh: float, **others: float) -> np.ndarray:
    """The same hour for sixty days."""
    hour = dict.fromkeys(DRIVERS, 0.0) | {
        "air_temperature": t,
        "vapour_pressure": rh / 100.0 * float(saturation_vapour_pressure(t)),
        "radiative": 5.0,
        "ground_temperature": t,
        "ground_saturation": float(saturation_vapour_pressure(t)),
        "bare": 1.0,
    }
    return np.tile([(hour | others)[name] for name in DRIVERS], (60 * 24, 1))


def scaled(factors: Mapping[str, float], base: Mapping[str, float]) -> dict[str, float]:
    return {k: v * factors.get(k, 1.0) for k, v in base.items()}


some_factors = st.dictionaries(
    st.sampled_from(["vent", "u_roof", "u_wall", "capacity", "exchange", "store"]),
    st.floats(0.1, 10.0),
)


@settings(max_examples=40, deadline=None)
@given(some_factors, st.sampled_from(["house", "loft"]), st.integers(0, 99))
def test_energy_and_water_balance_close(
    factors: dict[str, float], kind: str, seed: int
) -> None:
    p = scaled(factors, HOUSE if kind == "house" else LOFT)
    table = drivers(seed=seed)
    out = trace_node(table, p)
    start_t, start_h = (
        table[0, 0],
        table[0, 1] / saturation_vapour_pressure(table[0, 0]),
    )
    stored = p["capacity"] * np.diff(out.end_temperature, prepend=start_t)
    came = HOUR * (
        out.conductance * (out.rest_temperature - out.temperature) + out.power
    )
    assert np.abs(stored - came).max() < 1e-9 * np.abs(came).max()
    held = p["store"] * np.diff(out.end_store, prepend=start_h)
    e = out.humidity / 100.0 * saturation_vapour_pressure(out.temperature)
    gained = HOUR * (out.moisture_source - out.moisture_conductance * e + out.water)
    scale = HOUR * np.abs(out.moisture_conductance * e).max()
    assert np.abs(held - gained).max() < 1e-9 * scale


@settings(max_examples=40, deadline=None)
@given(
    t=st.floats(-20.0, 30.0),
    rh=st.floats(10.0, 95.0),
    sun=st.floats(0.0, 600.0),
    loss=st.floats(0.0, 100.0),
    wind=st.floats(0.5, 8.0),
)
def test_constant_weather_gives_the_analytic_steady_state(
    t: float, rh: float, sun: float, loss: float, wind: float
) -> None:
    p = {k: v for k, v in LOFT.items() if k != "vent_lift"}
    table = steady(t, rh, sun=sun, sky_loss=loss, wind=wind)
    air = air_node(np.vstack([table] * 4), p)
    vent = p["vent"] + p["vent_wind"] * wind
    s = vent + p["u_roof"] + p["u_wall"] + p["u_room"]
    excess = (p["absorbed"] * sun - p["emitted"] * loss) / (
        2.8 + 3.0 * wind + 5.0 * p["emitted"]
    )
    rest = t + (p["u_roof"] * excess + p["u_room"] * (p["room"] - t)) / s
    assert air.temperature[-1, 0] == pytest.approx(rest, abs=1e-9)
    g = vent / (1200.0 * 461.5 * (t + 273.15))
    e_o, e_g = table[0, 1], table[0, 7]
    e = (g * e_o + p["damp_ground"] * e_g) / (g + p["damp_ground"])
    e = min(e, float(saturation_vapour_pressure(rest)))
    got = air.humidity[-1, 0] / 100.0 * saturation_vapour_pressure(rest)
    assert got == pytest.approx(e, rel=1e-6)


def test_boundless_ventilation_is_outdoor_air() -> None:
    table = drivers()
    air = air_node(table, LOFT | {"vent": 1.0e9})
    rh = 100.0 * table[:, 1] / saturation_vapour_pressure(table[:, 0])
    assert np.abs(air.temperature[:, 0] - table[:, 0]).max() < 1e-6
    assert np.abs(air.humidity[:, 0] - rh).max() < 1e-4


def test_heating_keeps_vapour_pressure() -> None:
    table = drivers()
    bare = {"vent": 0.5, "u_wall": 1.0, "capacity": 1.0e5}
    heated = air_node(table, bare | {"heat_cold": 30.0, "heat_warm": 30.0})
    e = (
        heated.humidity[:, 0]
        / 100
        * saturation_vapour_pressure(heated.temperature[:, 0])
    )
    assert heated.temperature[60:].min() > 29.9
    assert np.abs(e / table[:, 1] - 1.0).max() < 1e-9


def test_set_points_are_held() -> None:
    air = air_node(drivers(2000), HOUSE)
    assert air.temperature[50:].min() > 21.3  # 40 % of the way from 21 to 22
    assert air.temperature[50:].max() < 25.05


def test_humidifier_and_dryer_hold_their_limits_and_no_more() -> None:
    plenty = {"humidify_most": 1.0, "dry_most": 1.0}
    held = air_node(drivers(), HOUSE | plenty).humidity
    assert held.min() > 30.0 - 1e-9
    assert held.max() < 60.0 + 1e-9
    limited = trace_node(drivers(), HOUSE)
    assert np.abs(limited.water).max() <= 4.0e-7 * (1.0 + 1e-12)


def test_never_above_saturation_and_never_below_nothing() -> None:
    wet = LOFT | {"damp_ground": 5.0e-8}
    air = air_node(drivers(), wet)
    assert air.humidity.max() <= 100.0 + 1e-9
    assert air.humidity.min() > 0.0


def test_missing_hours_are_missing_and_the_rest_goes_on() -> None:
    table = drivers()
    gap = table.copy()
    gap[100:103, 0] = np.nan
    air, whole = air_node(gap, HOUSE), air_node(table, HOUSE)
    assert np.isnan(air.temperature[100:103]).all()
    assert np.isnan(air.humidity[100:103]).all()
    assert np.isfinite(np.delete(air.temperature, [100, 101, 102], axis=0)).all()
    assert (air.temperature[:100] == whole.temperature[:100]).all()
    assert abs(air.temperature[-1] - whole.temperature[-1]) < 0.2


def test_all_missing_stays_missing() -> None:
    table = np.full((5, len(DRIVERS)), np.nan)
    air = air_node(table, HOUSE)
    assert np.isnan(air.temperature).all()


@pytest.mark.parametrize("lanes", [2, 16, 17, 40])
def test_lanes_do_not_see_each_other(lanes: int) -> None:
    table = drivers()
    vent = np.geomspace(0.2, 20.0, lanes)
    many = air_node(table, LOFT | {"vent": vent}, threads=2)  # type: ignore[arg-type]
    for lane in (0, lanes // 2, lanes - 1):
        one = air_node(table, LOFT | {"vent": float(vent[lane])})
        assert np.abs(many.temperature[:, lane] - one.temperature[:, 0]).max() < 1e-10
        assert np.abs(many.humidity[:, lane] - one.humidity[:, 0]).max() < 1e-9


def test_two_runs_in_a_row_are_one_run() -> None:
    table = drivers()
    whole = air_node(table, HOUSE)
    first = air_node(table[:150], HOUSE)
    second = air_node(
        table[150:],
        HOUSE,
        start_temperature=first.end_temperature,
        start_store=first.end_store,
    )
    assert (second.temperature[-1] == whole.temperature[-1]).all()


def test_place_out_of_use_is_not_heated() -> None:
    table = drivers(2000)
    months = np.zeros(12)
    months[:3] = 1.0  # drivers() changes its month every 200 hours
    air = air_node(table, HOUSE, in_use=months)
    assert air.temperature[50:600].min() > 21.0
    assert air.temperature[1000:].min() < 15.0


def test_unknown_parameter_is_a_bug() -> None:
    with pytest.raises(KeyError, match="vnet"):
        air_node(drivers(), {"vnet": 1.0})


def test_parameters_and_drivers_fill_the_kernels_table() -> None:
    from emcforecast.physics.kernels import air_node as air_step

    assert len(PARAMETERS) + 5 == air_step.ROWS
    assert len(DRIVERS) == air_step.BARE + 1


def test_stiff_solver_agrees_on_the_same_hours() -> None:
    """scipy's LSODA, hour by hour, on the equations of METHOD section 4."""
    p = {k: v for k, v in LOFT.items() if k != "vent_lift"}
    table = drivers(240)
    mine = trace_node(table, p)
    t, phi = table[0, 0], table[0, 1] / float(saturation_vapour_pressure(table[0, 0]))
    worst_t = worst_e = 0.0
    for k, row in enumerate(table):
        t_o, e_o, wind, sun, loss, rad, _, e_g, _, _, bare = row
        vent = p["vent"] + p["vent_wind"] * wind
        film = 2.8 + 3.0 * wind + p["emitted"] * rad
        excess = bare * (p["absorbed"] * sun - p["emitted"] * loss) / film
        g = vent / (1200.0 * 461.5 * (t_o + 273.15))
        b = g + p["damp_ground"]
        a = g * e_o + p["damp_ground"] * e_g
        # The saturation pressure of the store is that of the hour's mean air.
        e_s = float(saturation_vapour_pressure(mine.temperature[k]))

        def slope(_: float, y: np.ndarray) -> list[float]:
            heat = (
                (vent + p["u_wall"]) * (t_o - y[0])  # noqa: B023
                + p["u_roof"] * (t_o + excess - y[0])  # noqa: B023
                + p["u_room"] * (p["room"] - y[0])
            )
            e = (a + p["exchange"] * y[1] * e_s) / (b + p["exchange"])  # noqa: B023
            flow = p["exchange"] * (e - y[1] * e_s)  # noqa: B023
            return [heat / p["capacity"], flow / p["store"], y[0], e]

        done = solve_ivp(
            slope, (0.0, HOUR), [t, phi, 0.0, 0.0], "LSODA", rtol=1e-10, atol=1e-12
        ).y[:, -1]
        t, phi = done[0], done[1]
        worst_t = max(worst_t, abs(done[2] / HOUR - mine.temperature[k]))
        e_mine = mine.humidity[k] / 100.0 * e_s
        if mine.water[k] == 0.0:
            worst_e = max(worst_e, abs(done[3] / HOUR - e_mine))
        t, phi = mine.end_temperature[k], mine.end_store[k]
    assert worst_t < 1e-6
    assert worst_e < 1e-5  # Pa


@given(st.floats(-650.0, 650.0))
def test_fast_exp_is_numpys(x: float) -> None:
    assert fast_exp(x) == pytest.approx(float(np.exp(x)), rel=1e-15)


def test_a_fan_runs_only_while_the_air_outside_is_the_drier() -> None:
    """Wood at 80 % and 15 °C has 1364 Pa: it is aired below 1234 Pa, 72.4 %, only."""
    p = {"vent": 0.3, "vent_fan": 9.0, "exchange": 6.0e-8, "store": 4.0}
    start = {"start_temperature": 15.0, "start_store": 0.8}
    for rh, fan in ((60.0, True), (72.0, True), (73.0, False), (95.0, False)):
        hour = steady(15.0, rh)[:1]
        got = trace_node(hour, p, **start)
        assert got.conductance[0] == pytest.approx(9.3 if fan else 0.3)


def test_a_fan_dries_more_than_an_open_door() -> None:
    table = drivers(hours=2000)
    still = {"vent": 0.5, "exchange": 6.0e-8, "store": 2.0, "capacity": 2.0e5}
    ends = [
        float(air_node(table, still | extra).humidity[500:].mean())
        for extra in ({"vent_fan": 4.0}, {"vent": 4.5}, {})
    ]
    assert ends[0] < min(ends[1:]) - 1.0


EVERYTHING: dict[str, float] = {
    "vent": 0.7, "vent_wind": 0.11, "vent_open": 1.6, "opens_at": 12.0,
    "vent_hot": 2.3, "hot_from": 24.0, "u_roof": 0.9, "u_wall": 1.3, "u_ground": 0.6,
    "u_room": 0.4, "room": 21.0, "capacity": 7.0e4, "absorbed": 0.7, "emitted": 0.8,
    "aperture": 0.05, "gain": 2.0, "gain_used": 5.0, "moisture": 8.0e-7,
    "damp_ground": 6.0e-10, "ground_humidity": 0.7, "exchange": 2.5e-8, "store": 1.5,
}  # fmt: skip
WEATHER: dict[str, float] = {
    "air_temperature": 15.0, "vapour_pressure": 1100.0, "wind": 3.0, "sun": 400.0,
    "sky_loss": 60.0, "radiative": 5.4, "ground_temperature": 11.0,
    "ground_saturation": 1313.0, "season": 0.25, "month": 6.0, "bare": 0.6,
}  # fmt: skip


def one_hour(
    parameters: Mapping[str, float],
    weather: Mapping[str, float],
    start: float,
    store: float = 0.6,
    used: float = 0.5,
) -> dict[str, float]:
    row = [{**WEATHER, **weather}[name] for name in DRIVERS]
    found = trace_node(
        np.array([row]),
        {**EVERYTHING, **parameters},
        in_use=used,
        start_temperature=start,
        start_store=store,
    )
    return {name: float(values[0]) for name, values in vars(found).items()}


@pytest.mark.parametrize(
    ("outside", "start", "opened", "aired"),
    # Windows: shut at 12 °C, open at 20; airing from 24 °C in the room, full at 27,
    # only while it is cooler outside.
    [
        (11.0, 20.0, 0.0, 0.0),
        (14.0, 23.5, 0.25, 0.0),
        (18.0, 25.5, 0.75, 0.5),
        (19.0, 26.4, 0.875, 0.8),
        (24.0, 29.0, 1.0, 1.0),
        (28.0, 27.5, 1.0, 0.0),
    ],
)
def test_an_hour_by_hand(
    outside: float, start: float, opened: float, aired: float
) -> None:
    found = one_hour({}, {"air_temperature": outside}, start)
    # Half in use: windows, airing, gains of people and their water count half.
    vent = 0.7 + 0.11 * 3.0 + (1.6 * opened + 2.3 * aired) * 0.5
    s = vent + 0.9 + 1.3 + 0.6 + 0.4
    assert found["conductance"] == pytest.approx(s, rel=1e-12)
    film = 2.8 + 3.0 * 3.0 + 0.8 * 5.4
    excess = 0.6 * (0.7 * 400.0 - 0.8 * 60.0) / film
    load = (
        0.9 * excess
        + 0.6 * (11.0 - outside)
        + 0.4 * (21.0 - outside)
        + 0.05 * 400.0
        + (2.0 + 5.0 * 0.5)
    )
    rest = outside + load / s
    assert found["rest_temperature"] == pytest.approx(rest, rel=1e-12)
    x = 3600.0 * s / 7.0e4
    end = rest + (start - rest) * np.exp(-x)
    mean = rest + (start - rest) * (1.0 - np.exp(-x)) / x
    assert found["end_temperature"] == pytest.approx(end, rel=1e-12)
    assert found["temperature"] == pytest.approx(mean, rel=1e-12)
    assert found["power"] == 0.0
    # Ventilation carries heat at 1200 J/(m³ K) and water at 1/(R_v T).
    g = vent / 1200.0 / (461.5 * (outside + 273.15))
    assert found["moisture_conductance"] == pytest.approx(g + 6.0e-10, rel=1e-12)
    source = g * 1100.0 + 6.0e-10 * 0.7 * 1313.0 + 8.0e-7 * 0.5
    assert found["moisture_source"] == pytest.approx(source, rel=1e-12)
    # The store by scipy: C dφ/dt = b (e - φ e_s), e = (A + b φ e_s)/(B + b).
    e_s = float(saturation_vapour_pressure(mean))
    b, c = 2.5e-8, 1.5

    def slope(_: float, y: np.ndarray) -> list[float]:
        e = (source + b * y[0] * e_s) / (g + 6.0e-10 + b)
        return [b * (e - y[0] * e_s) / c, e]

    y = solve_ivp(slope, (0.0, HOUR), [0.6, 0.0], "LSODA", rtol=1e-11, atol=1e-13).y
    assert found["end_store"] == pytest.approx(y[0, -1], rel=1e-8)
    assert found["humidity"] == pytest.approx(100.0 * y[1, -1] / HOUR / e_s, rel=1e-8)


HEATED = {
    "heat_cold": 18.0, "heat_warm": 22.0, "heat_away": 10.0, "heat_power": 1e4,
}  # fmt: skip


@pytest.mark.parametrize(
    ("used", "season", "wanted"),
    # From 18 °C in winter to 22 in summer; between that and 10 °C by the share in use.
    [(1.0, 0.0, 18.0), (1.0, 1.0, 22.0), (1.0, 0.25, 19.0), (0.5, 0.25, 14.5)],
)
def test_heating_ends_the_hour_on_its_set_point(
    used: float, season: float, wanted: float
) -> None:
    cold = {"air_temperature": -5.0, "season": season, "sun": 0.0}
    found = one_hour(HEATED, cold, 9.0, used=used)
    assert found["end_temperature"] == pytest.approx(wanted, abs=1e-9)
    # A steady power P shifts the rest by P/S: the hour's end by P/S (1 - e^-x).
    s = found["conductance"]
    gone = 1.0 - np.exp(-3600.0 * s / 7.0e4)
    free = found["rest_temperature"] + (9.0 - found["rest_temperature"]) * (1.0 - gone)
    assert found["power"] == pytest.approx((wanted - free) * s / gone, rel=1e-9)
    weak = one_hour({**HEATED, "heat_power": 12.0}, cold, 9.0, used=used)
    assert weak["power"] == pytest.approx(12.0)
    shift = 12.0 / s * gone
    assert weak["end_temperature"] == pytest.approx(free + shift, rel=1e-9)


def test_cooling_dries_by_its_coil_and_no_more_than_it_runs() -> None:
    cooled = {
        "cool": 24.0, "cool_power": 1000.0, "coil": 3.5e-3, "coil_saturation": 1312.0,
        "coil_per_power": 0.02, "vent_hot": 0.0,
    }  # fmt: skip
    hot = {"air_temperature": 30.0, "vapour_pressure": 2500.0, "sun": 0.0}
    plain = one_hour({"vent_hot": 0.0}, hot, 34.0, used=1.0)
    per_pascal = 3.5e-3 / (461.5 * 303.15)
    runs = ((20.0, 0.4), (35.0, 0.7), (49.0, 0.98), (60.0, 1.0), (120.0, 1.0))
    for power, run in (*runs, (1000.0, 1.0)):
        found = one_hour({**cooled, "cool_power": power}, hot, 34.0, used=1.0)
        if power < 1000.0:
            assert found["power"] == pytest.approx(-power)
        else:
            assert found["end_temperature"] == pytest.approx(24.0)
            assert found["power"] < -130.0
        more = found["moisture_conductance"] - plain["moisture_conductance"]
        assert more == pytest.approx(run * per_pascal, rel=1e-9)
        more = found["moisture_source"] - plain["moisture_source"]
        assert more == pytest.approx(run * per_pascal * 1312.0, rel=1e-9)
    # Half in use it cools, and runs, half as much; air drier than the coil stays so.
    half = one_hour({**cooled, "cool_power": 20.0}, hot, 31.0, store=0.6, used=0.5)
    base = one_hour({"vent_hot": 0.0}, hot, 31.0, store=0.6, used=0.5)
    more = half["moisture_conductance"] - base["moisture_conductance"]
    assert more == pytest.approx(0.5 * 0.4 * per_pascal, rel=1e-9)
    dry = one_hour(cooled, {**hot, "vapour_pressure": 600.0}, 34.0, store=0.1, used=1.0)
    assert dry["moisture_conductance"] == pytest.approx(plain["moisture_conductance"])


@pytest.mark.parametrize("used", [1.0, 0.5])
def test_humidifier_and_dryer_by_hand(used: float) -> None:
    moist = {"humidify_to": 0.45, "humidify_most": 1.0, "dry_to": 0.5, "dry_most": 1.0}
    dry_air = {"vapour_pressure": 300.0}
    held = one_hour(moist, dry_air, 20.0, store=0.2, used=used)
    assert held["humidity"] == pytest.approx(45.0, abs=1e-9)
    assert held["water"] > 0.0
    damp = {"vapour_pressure": 1650.0, "air_temperature": 20.0}
    held = one_hour(moist, damp, 20.0, store=0.9, used=used)
    assert held["humidity"] == pytest.approx(50.0, abs=1e-9)
    assert held["water"] < 0.0
    # Between its limits neither runs.
    fair = one_hour(moist, {"vapour_pressure": 1300.0}, 20.0, store=0.45)
    assert 45.0 < fair["humidity"] < 50.0
    assert fair["water"] == 0.0
    # And never more than they can, while in use.
    little = {**moist, "humidify_most": 2.0e-7, "dry_most": 3.0e-7}
    found = one_hour(little, dry_air, 20.0, store=0.2, used=used)
    assert found["water"] == pytest.approx(2.0e-7 * used)
    found = one_hour(little, damp, 20.0, store=0.9, used=used)
    assert found["water"] == pytest.approx(-3.0e-7 * used)


@pytest.mark.parametrize(
    ("start", "sun"), [(15.0, 800.0), (25.0, 400.0), (30.0, 100.0), (5.0, 600.0)]
)
def test_lift_is_near_the_flow_that_its_own_warmth_drives(
    start: float, sun: float
) -> None:
    # In proportion to the root of the difference of temperature, the mean of the
    # hour's start and its rest, which the flow itself lowers.
    still = {"vent_hot": 0.0, "vent_open": 0.0}
    bare = one_hour(still, {"sun": sun}, start)
    found = one_hour({**still, "vent_lift": 1.1}, {"sun": sun}, start)
    s = bare["conductance"]
    load = s * (bare["rest_temperature"] - 15.0)

    def flow(g: float) -> float:
        between = 0.5 * abs(start - 15.0) + 0.5 * abs(load) / (s + g)
        return g - 1.1 * float(np.sqrt(between))

    rising = found["conductance"] - s
    assert rising == pytest.approx(brentq(flow, 0.0, 50.0), rel=0.15)
    # The kernel's one round by hand: between the flow without and with itself.
    first = 0.5 * abs(start - 15.0) + 0.5 * load / s
    second = 0.5 * abs(start - 15.0) + 0.5 * load / (s + 1.1 * np.sqrt(first))
    assert rising == pytest.approx(1.1 * np.sqrt(0.5 * (first + second)), rel=1e-9)
    rest = 15.0 + load / found["conductance"]
    assert found["rest_temperature"] == pytest.approx(rest)
    # Ventilation's water goes with it.
    g = rising / 1200.0 / (461.5 * 288.15)
    more = found["moisture_conductance"] - bare["moisture_conductance"]
    assert more == pytest.approx(g, rel=1e-9)
