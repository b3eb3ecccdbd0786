"""One hour of the air of a storage place, compiled: heat, then moisture.

A lane is one setting of one ensemble member. `WIDTH` lanes lie side by side in one
flat table, a row to a parameter, so that the loop over lanes fills the vector unit.
Everything a lane reads or writes is in that table: two arrays might overlap, and the
compiler would then step the lanes one by one.
"""

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN
from emcforecast.physics.kernels.compiled import compiled
from emcforecast.physics.kernels.sorption import fast_exp
from emcforecast.physics.moist_air import E_0, R_V, WATER

AIR_HEAT = 1200.0
"""Heat taken up by a cubic metre of air, J m⁻³ K⁻¹."""
OPENING_SPAN = 8.0
"""K over which windows go from shut to fully open."""
HOT_SPAN = 3.0
"""K above which a hot room is aired as much as it can be."""
FAN_MARGIN = 130.0
"""Pa that the air outside must hold less than the wood inside before a fan runs."""
MOST_DECAY = 600.0
"""Exponents of a decay are held below this: e^-600 is nothing."""
LEAST_DECAY = 1.0e-9
"""And above this, so that means over the hour do not divide by zero."""
WIDTH = 16
"""Lanes in a table; a constant, so that the compiler can plan for it."""

# Columns of the drivers.
T_OUT, E_OUT, WIND, SUN, LOSS, RADIATIVE, T_GROUND, ES_GROUND, SEASON, MONTH, BARE = (
    range(11)
)

# First element of each row of the table of lanes.
(
    VENT,
    VENT_WIND,
    VENT_OPEN,
    VENT_LIFT,
    OPENS_AT,
    VENT_HOT,
    HOT_FROM,
    VENT_FAN,
    U_ROOF,
    U_WALL,
    U_GROUND,
    U_ROOM,
    ROOM,
    HOUR_PER_CAPACITY,
    ABSORBED,
    EMITTED,
    APERTURE,
    GAIN,
    GAIN_USED,
    MOISTURE,
    DAMP_GROUND,
    GROUND_HUMIDITY,
    EXCHANGE,
    HOUR_PER_STORE,
    HEAT_COLD,
    HEAT_WARM,
    HEAT_AWAY,
    HEAT_POWER,
    COOL,
    COOL_POWER,
    COIL,
    COIL_PER_POWER,
    COIL_SATURATION,
    HUMIDIFY_TO,
    HUMIDIFY_MOST,
    DRY_TO,
    DRY_MOST,
    USED,
    STATE_T,
    STATE_H,
    MEAN_T,
    MEAN_H,
) = range(0, 42 * WIDTH, WIDTH)
ROWS = 42

_A, _B = WATER


@compiled(inline=True, fused=True)
def saturation(t: float) -> float:
    """Vapour pressure of saturated air (Pa) at one temperature (°C), for kernels."""
    return E_0 * fast_exp(_A * t / (_B + t))


@compiled(inline=True, fused=True)
def step_hour(
    t_o: float,
    e_o: float,
    wind: float,
    sun: float,
    loss: float,
    radiative: float,
    t_g: float,
    es_g: float,
    season: float,
    bare: float,
    per_air: float,
    per_vapour: float,
    p: FloatArray,
    lane: int,
    lifted: bool,
    fanned: bool,
) -> tuple[float, float, float, float, float, float, float, float, float, float]:
    """Step one lane over one hour; the equations are told at `air_node`.

    Returns mean temperature (°C) and humidity (%), temperature and store humidity at
    the end of the hour, power of heating less cooling (W/m²), water given less taken
    (kg/(m² s)), heat conductance (W/m²K), rest temperature (°C), moisture conductance
    (kg/(m² s Pa)) and moisture source (kg/(m² s)).
    """
    used = p[USED + lane]
    start = p[STATE_T + lane]
    store = p[STATE_H + lane]
    # Heat.
    opening = (t_o - p[OPENS_AT + lane]) * (1.0 / OPENING_SPAN)
    opening = 0.0 if opening < 0.0 else opening
    opening = 1.0 if opening > 1.0 else opening
    # People air a hot room only while it is cooler outside.
    hot = (start - p[HOT_FROM + lane]) * (1.0 / HOT_SPAN)
    hot = 0.0 if hot < 0.0 or t_o > start else hot
    hot = 1.0 if hot > 1.0 else hot
    vent = (
        p[VENT + lane]
        + p[VENT_WIND + lane] * wind
        + (p[VENT_OPEN + lane] * opening + p[VENT_HOT + lane] * hot) * used
    )
    # A fan switched by humidity: runs while the air outside is drier than the wood.
    if fanned:
        drier = e_o + FAN_MARGIN < store * saturation(start)
        vent += p[VENT_FAN + lane] if drier else 0.0
    emitted = p[EMITTED + lane]
    excess = (
        bare
        * (p[ABSORBED + lane] * sun - emitted * loss)
        / (2.8 + 3.0 * wind + emitted * radiative)
    )
    u_roof = p[U_ROOF + lane]
    u_ground = p[U_GROUND + lane]
    u_room = p[U_ROOM + lane]
    s = vent + u_roof + p[U_WALL + lane] + u_ground + u_room
    load = (
        u_roof * excess
        + u_ground * (t_g - t_o)
        + u_room * (p[ROOM + lane] - t_o)
        + p[APERTURE + lane] * sun
        + p[GAIN + lane]
        + p[GAIN_USED + lane] * used
    )
    # Warm air rises out: more the warmer the place, which then gets less warm.
    if lifted:
        lift = p[VENT_LIFT + lane]
        away = 0.5 * abs(start - t_o)
        guess = away + 0.5 * abs(load) / s
        again = away + 0.5 * abs(load) / (s + lift * np.sqrt(guess))
        rising = lift * np.sqrt(0.5 * (guess + again))
        vent += rising
        s += rising
    per_s = 1.0 / s
    rest = t_o + per_s * load
    x = s * p[HOUR_PER_CAPACITY + lane]
    decay = fast_exp(-(MOST_DECAY if x > MOST_DECAY else x))
    gone = 1.0 - decay
    mean_weight = gone / x
    free_end = rest + (start - rest) * decay
    cold_set = p[HEAT_COLD + lane]
    away_set = p[HEAT_AWAY + lane]
    wanted = cold_set + season * (p[HEAT_WARM + lane] - cold_set)
    wanted = away_set + used * (wanted - away_set)
    cool_set = p[COOL + lane]
    # Heat or cold at a steady rate through the hour that ends it on the set point.
    per_degree = s / gone
    heat = (wanted - free_end) * per_degree
    heat = 0.0 if heat < 0.0 else heat
    most = p[HEAT_POWER + lane]
    heat = most if heat > most else heat
    cold = (free_end - cool_set) * per_degree * used
    cold = 0.0 if cold < 0.0 else cold
    most = p[COOL_POWER + lane]
    cold = most if cold > most else cold
    power = heat - cold
    held = rest + power * per_s
    end = held + (start - held) * decay
    t = held + (start - held) * mean_weight
    # Moisture.
    g_air = vent * per_air
    e_s = saturation(t)
    g_store = p[EXCHANGE + lane]
    damp = p[DAMP_GROUND + lane]
    b = g_air + damp
    a = (
        g_air * e_o
        + damp * p[GROUND_HUMIDITY + lane] * es_g
        + p[MOISTURE + lane] * used
    )
    run = cold * p[COIL_PER_POWER + lane]
    run = 1.0 if run > 1.0 else run
    coil_es = p[COIL_SATURATION + lane]
    g_coil = run * used * p[COIL + lane] * per_vapour
    above = a + g_store * store * e_s > coil_es * (b + g_store)
    g_coil = g_coil if above else 0.0
    b += g_coil
    a += g_coil * coil_es
    both = b + g_store
    # One division serves 1/(e_s b), 1/both and 1/e_s.
    whole = 1.0 / (e_s * b * both)
    per_humidity = both * whole
    per_both = e_s * b * whole
    per_es = b * both * whole
    y = g_store * e_s * b * per_both * p[HOUR_PER_STORE + lane]
    y = LEAST_DECAY if y < LEAST_DECAY else y
    fade = fast_exp(-(MOST_DECAY if y > MOST_DECAY else y))
    lag = (1.0 - fade) / y
    settle = a * per_humidity
    e = (a + g_store * e_s * (settle + (store - settle) * lag)) * per_both
    # Pa of hourly mean vapour pressure for each unit of source, and its inverse.
    response = (1.0 + g_store * (1.0 - lag) * e_s * per_humidity) * per_both
    per_pascal = 1.0 / response
    taken = (e - p[DRY_TO + lane] * e_s) * per_pascal
    taken = 0.0 if taken < 0.0 else taken
    most = p[DRY_MOST + lane] * used
    taken = most if taken > most else taken
    given = (p[HUMIDIFY_TO + lane] * e_s - e) * per_pascal
    given = 0.0 if given < 0.0 else given
    most = p[HUMIDIFY_MOST + lane] * used
    given = most if given > most else given
    e += (given - taken) * response
    condensed = (e - e_s) * per_pascal
    condensed = 0.0 if condensed < 0.0 else condensed
    e -= condensed * response
    water = given - taken - condensed
    settle += water * per_humidity
    end_store = settle + (store - settle) * fade
    return t, 100.0 * e * per_es, end, end_store, power, water, s, rest, b, a


@compiled(fused=True)
def run_lanes(
    drivers: FloatArray,
    p: FloatArray,
    in_use: FloatArray,
    out_t: FloatArray,
    out_h: FloatArray,
    lanes: int,
    lifted: bool,
    fanned: bool,
) -> None:
    """Step a table of lanes through all hours; a missing hour leaves the state."""
    for k in range(drivers.shape[0]):
        hour = drivers[k]
        row_t = out_t[k]
        row_h = out_h[k]
        # Not the array's own sum: to load that alone takes a quarter of a second.
        known = 0.0
        for driver in range(hour.size):
            known += hour[driver]
        if np.isnan(known):
            row_t[:] = np.nan
            row_h[:] = np.nan
            continue
        used = in_use[int(hour[MONTH])]
        for lane in range(lanes):
            p[USED + lane] = used[lane]
        t_o = hour[T_OUT]
        e_o = hour[E_OUT]
        wind = hour[WIND]
        sun = hour[SUN]
        loss = hour[LOSS]
        radiative = hour[RADIATIVE]
        t_g = hour[T_GROUND]
        es_g = hour[ES_GROUND]
        season = hour[SEASON]
        bare = hour[BARE]
        per_vapour = 1.0 / (R_V * (t_o + KELVIN))
        per_air = per_vapour / AIR_HEAT
        for lane in range(lanes):
            t, h, end, end_store, _power, _water, _s, _rest, _b, _a = step_hour(
                t_o,
                e_o,
                wind,
                sun,
                loss,
                radiative,
                t_g,
                es_g,
                season,
                bare,
                per_air,
                per_vapour,
                p,
                lane,
                lifted,
                fanned,
            )
            p[MEAN_T + lane] = t
            p[MEAN_H + lane] = h
            p[STATE_T + lane] = end
            p[STATE_H + lane] = end_store
        for lane in range(row_t.size):
            row_t[lane] = p[MEAN_T + lane]
            row_h[lane] = p[MEAN_H + lane]


@compiled(fused=True)
def trace_lane(
    drivers: FloatArray,
    p: FloatArray,
    in_use: FloatArray,
    out: FloatArray,
    lifted: bool,
    fanned: bool,
) -> None:
    """Step the first lane through all hours and keep all that `step_hour` returns."""
    for k in range(drivers.shape[0]):
        hour = drivers[k]
        p[USED] = in_use[int(hour[MONTH]), 0]
        per_vapour = 1.0 / (R_V * (hour[T_OUT] + KELVIN))
        out[k] = step_hour(
            hour[T_OUT],
            hour[E_OUT],
            hour[WIND],
            hour[SUN],
            hour[LOSS],
            hour[RADIATIVE],
            hour[T_GROUND],
            hour[ES_GROUND],
            hour[SEASON],
            hour[BARE],
            per_vapour / AIR_HEAT,
            per_vapour,
            p,
            0,
            lifted,
            fanned,
        )
        p[STATE_T] = out[k, 2]
        p[STATE_H] = out[k, 3]
