"""A whole plan against a general solver, as ratios in one run.

Scipy's LSODA with a compiled right-hand side follows one board for one year through
the same air. A plan over twelve hourly weather years, three settings and daily dates
of bringing in is told in such board-years: how many it takes as long as, and how many
would have to be followed to try every day of the last move with every run.

``python -m pytest tests/benchmarks/test_bench_plan.py --benchmark-enable`` measures at
full size (``--benchmark-json FILE`` keeps "extra_info"); as an ordinary test the same
code runs once, small, and only its results are checked.
"""

import importlib.util
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from emcforecast.ensemble.follow import RUNS
from emcforecast.forecast.plan.plan import plan
from emcforecast.forecast.targets import target_for_use, target_of_number
from emcforecast.storage.air import air_in
from emcforecast.storage.settings import default_setting
from emcforecast.weather.read import demonstration
from emcforecast.wood.board import Board

NAMES = ("outdoor", "shed", "indoor")
PLACES = [default_setting(name) for name in NAMES]
FULL = ("2026-04-01", "2027-11-15", target_for_use("furniture"))
"""A need date that cannot be met: the longest way, with the search for a later one."""


def lsoda_module():
    file = Path(__file__).with_name("lsoda_board.py")
    spec = importlib.util.spec_from_file_location("lsoda_board", file)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def best(function, times):
    spent = []
    for _ in range(times):
        begin = time.perf_counter()
        function()
        spent.append(time.perf_counter() - begin)
    return min(spent)


def by_lsoda(solver, air, board, hours):
    """Follow one green board in one place; its moisture in kg/kg, hour by hour."""
    return solver.run(
        solver.compiled_rate,
        air["air_temperature"].to_numpy()[:hours],
        air["relative_humidity"].to_numpy()[:hours] / 100.0,
        board.start_content(None),
        board.thickness_mm / 1000.0,
        np.array(
            [board.diffusivity, air.attrs["surface_transfer"], board.basic_density]
        ),
    )


def small_plan():
    """One year, one run: the middle of all that is not known, in the shed only."""
    weather = demonstration().isel(time=slice(0, 365 * 24))
    return weather, plan(
        weather,
        "yellow-poplar",
        stacked="2007-04-01",
        need="2007-10-15",
        today="2007-04-01",
        target=target_of_number(18.0),
        have=[default_setting("shed")],
        members=1,
    )


def test_bench_plan(benchmark):
    solver = lsoda_module()
    weather, found = small_plan()
    # The same board by the general solver, a plane sheet without edges and ends: where
    # the need date finds it, late enough that what those dried ahead has faded.
    since = np.datetime64("2007-03-31T23") - weather["time"].to_numpy()[0]
    begin = int(since / np.timedelta64(1, "h"))
    air = air_in(weather, default_setting("shed")).isel(time=slice(begin, None))
    board = Board("yellow-poplar")
    path = by_lsoda(solver, air, board, 197 * 24)
    assert abs(100.0 * path[-1] - found.moisture_by_need) < 0.1
    if not benchmark.enabled:
        benchmark(small_plan)
        return
    stacked, need, target = FULL
    demo = demonstration()

    def whole():
        words = {"stacked": stacked, "need": need, "target": target}
        return plan(demo, "white oak", have=PLACES, **words)

    answer = whole()
    oak = Board("white oak")
    year = best(lambda: by_lsoda(solver, air, oak, 6000), 3) * 8766.0 / 6000.0
    spent = best(whole, 5)
    days = (np.datetime64(need) - np.datetime64(stacked)).astype(int)
    # Every day of the last move of the three chains of two places, with every run.
    every = 3 * RUNS * days * (days + 1) / 2.0 / 365.25
    command = [str(Path(sys.executable).with_name("emcforecast")), "plan", "demo"]
    command += ["--stacked", stacked, "--need", need, "--use", "furniture"]
    bare = [sys.executable, "-c", "import pandas, xarray, numba, scipy.linalg"]
    run = {"check": True, "capture_output": True}
    process = best(lambda: subprocess.run(command, **run), 3)
    loading = best(lambda: subprocess.run(bare, **run), 3)
    benchmark.extra_info["as_long_as_lsoda_board_years"] = spent / year
    benchmark.extra_info["faster_than_every_day_by_lsoda"] = every * year / spent
    benchmark.extra_info["whole_process_over_loading_the_libraries"] = process / loading
    benchmark.extra_info["seconds_warm"] = spent
    benchmark.extra_info["seconds_whole_process"] = process
    assert answer.earliest is not None
    benchmark.pedantic(whole, rounds=1)
