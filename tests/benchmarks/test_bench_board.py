"""Boards and EMC against general libraries, as ratios in one run.

``python -m pytest tests/benchmarks/test_bench_board.py --benchmark-enable`` measures
at full size and keeps the ratios under "extra_info" (``--benchmark-json FILE``). As
ordinary tests the same code runs once, small, and only its results are checked. On a
machine with other work too, the ratios by processor time on one thread are steadier.
"""

import importlib.util
import math
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numba
import numpy as np
import pytest

from emcforecast.physics.boards import advance, air_table, fresh_state
from emcforecast.physics.kernels.compiled import processors
from emcforecast.physics.sorption import equilibrium_moisture_content


def lsoda_module():
    file = Path(__file__).with_name("lsoda_board.py")
    spec = importlib.util.spec_from_file_location("lsoda_board", file)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def best(function, times, clock=time.perf_counter):
    spent = []
    for _ in range(times):
        begin = clock()
        function()
        spent.append(clock() - begin)
    return min(spent)


@pytest.fixture(scope="module")
def year():
    """Greensboro's typical year (TMY3, carried by pvlib): °C and 0 to 1."""
    import pvlib

    file = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    frame, _ = pvlib.iotools.read_tmy3(file, coerce_year=2001, map_variables=True)
    return (
        frame["temp_air"].to_numpy(dtype=float),
        frame["relative_humidity"].to_numpy(dtype=float) / 100.0,
    )


OAK = np.array([2.1e-11, 1e-3, 560.0])


def ensemble(year, boards, hours, threads=None, every=24):
    temperature, humidity = (v[:hours] for v in year)
    return advance(
        air_table(temperature, 100.0 * humidity)[None],
        steps=hours - 1,
        every=every,
        air_index=0,
        start_hour=0,
        thickness_m=0.027,
        diffusivity=OAK[0] * np.linspace(0.7, 1.4, boards),
        density=OAK[2],
        surface_transfer=OAK[1],
        state=fresh_state(0.75, boards),
        threads=threads,
    )


def test_bench_ensemble(benchmark, year):
    """Board-years a second, against LSODA with a numpy and a compiled right side."""
    full = benchmark.enabled
    hours, boards = (8760, 4096) if full else (400, 64)
    stiff = lsoda_module()
    temperature, humidity = (v[:hours] for v in year)
    options = {"rtol": 1e-3, "atol": 1e-6}

    def solve(rate):
        return stiff.run(rate, temperature, humidity, 0.75, 0.027, OAK, **options)

    stiff.run(stiff.compiled_rate, *(v[:30] for v in year), 0.75, 0.027, OAK)
    spent, work = {}, {}
    for name in ("numpy_rate", "compiled_rate"):
        rate = getattr(stiff, name)
        spent[name] = best(lambda rate=rate: solve(rate), 3 if full else 1)
        work[name] = best(
            lambda rate=rate: solve(rate), 3 if full else 1, time.process_time
        )
    reference = solve(stiff.compiled_rate)
    run = benchmark.pedantic(
        ensemble, args=(year, boards, hours), rounds=5 if full else 1
    )
    ours = best(lambda: ensemble(year, boards, hours), 5 if full else 1) / boards
    benchmark.extra_info |= {f"times {k}": v / ours for k, v in spent.items()}
    single = best(
        lambda: ensemble(year, boards, hours, threads=1),
        5 if full else 1,
        time.process_time,
    )
    benchmark.extra_info |= {
        f"times {k}, processor time, one thread": v / (single / boards)
        for k, v in work.items()
    }
    benchmark.extra_info["ms a board-year"] = 1e3 * ours
    # The board of factor 1 at the same hours as the reference.
    same = ensemble(year, 64, hours, every=1)
    middle = np.linspace(0.7, 1.4, 64)
    near = int(np.abs(middle - 1.0).argmin())
    gap = 100.0 * np.abs(same.mean[1 : reference.size, near] - reference[:-1])
    assert gap.max() < 0.5  # LSODA's own tolerance and a factor 0.5 % off
    assert np.isfinite(run.mean).all()


def test_bench_threads(benchmark, year):
    """One thread against two."""
    if processors() < 2:
        pytest.skip("one core")
    full = benchmark.enabled
    size = (2048, 8760) if full else (128, 200)
    one, two = (
        best(lambda k=k: ensemble(year, *size, threads=k), 5 if full else 1)
        for k in (1, 2)
    )
    run = benchmark.pedantic(ensemble, args=(year, *size), rounds=1)
    benchmark.extra_info["one thread over two"] = one / two
    assert np.isfinite(run.mean).all()


def test_bench_forecast_sized(benchmark, year):
    """12 hourly years × 3 settings × 24 start dates × 3 thicknesses, a year each."""
    full = benchmark.enabled
    years, steps = (12, 8760) if full else (1, 300)
    temperature, humidity = (np.tile(v, years + 1) for v in year)
    air = np.stack(
        [air_table(temperature + k, 100.0 * humidity * (1 - 0.1 * k)) for k in range(3)]
    )
    setting, first, date, thickness = (
        v.ravel()
        for v in np.meshgrid(
            np.arange(3),
            np.arange(years),
            np.arange(24),
            [0.027, 0.054, 0.108],
            indexing="ij",
        )
    )

    def forecast():
        return advance(
            air,
            steps=steps,
            air_index=setting,
            start_hour=8760 * first + 365 * date,
            thickness_m=thickness,
            diffusivity=OAK[0],
            density=OAK[2],
            surface_transfer=OAK[1],
            state=fresh_state(0.75, setting.size),
        )

    forecast()
    run = benchmark.pedantic(forecast, rounds=3 if full else 1)
    assert run.mean.shape[1] == years * 3 * 24 * 3
    assert np.isfinite(run.mean).all()


@numba.njit(nogil=True, fastmath=True)
def _triad(a, b, c, s):
    for i in range(a.size):
        a[i] = b[i] + s * c[i]


def test_bench_emc(benchmark):
    """EMC over ten million pairs: triad, plain numpy, a psychrometrics library."""
    psychrolib = pytest.importorskip("psychrolib")
    full = benchmark.enabled
    n = 10_000_000 if full else 500_000
    times = 15 if full else 1
    rng = np.random.default_rng(0)
    t, rh, out = rng.uniform(-20, 40, n), rng.uniform(0, 100, n), np.empty(n)
    workers = processors()
    share = -(-n // (4 * workers))
    parts = [slice(k, k + share) for k in range(0, n, share)]

    def triad():
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(lambda p: _triad(out[p], t[p], rh[p], 3.0), parts))

    def plain():
        c = np.maximum(t, -1.1)
        h = np.clip(rh, 0.0, 100.0) / 100.0
        w = 349 + 1.29 * c + 0.0135 * c**2
        k = 0.805 + 0.000736 * c - 0.00000273 * c**2
        k1 = 6.27 - 0.00938 * c - 0.000303 * c**2
        k2 = 1.91 + 0.0407 * c - 0.000293 * c**2
        x = k * h
        two = (k1 * x + 2 * k1 * k2 * x**2) / (1 + k1 * x + k1 * k2 * x**2)
        return 1800 / w * (x / (1 - x) + two)

    psychrolib.SetUnitSystem(psychrolib.SI)
    air = psychrolib.GetHumRatioFromRelHum
    air(t[:10], rh[:10] / 100.0, 101325.0)
    fraction = rh / 100.0

    def ours():
        return equilibrium_moisture_content(t, rh, out=out)

    triad()
    ours()
    spent = {
        "triad": best(triad, times),
        "numpy": best(plain, 2 if full else 1),
        "psychrometrics": best(lambda: air(t, fraction, 101325.0), 3 if full else 1),
    }
    mine = best(ours, times)
    benchmark.pedantic(ours, rounds=times)
    benchmark.extra_info |= {
        "share of triad bandwidth": spent["triad"] / mine,
        "times numpy": spent["numpy"] / mine,
        "times psychrometrics": spent["psychrometrics"] / mine,
    }
    np.testing.assert_allclose(ours(), plain(), rtol=1e-11, atol=1e-12)
    assert math.isfinite(mine)
