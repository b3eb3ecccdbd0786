"""A yard of fifty stacks against scipy's LSODA, as ratios in one run.

``python -m pytest tests/benchmarks/test_bench_yard.py --benchmark-enable`` follows
fifty stacks in three places on twelve years of weather, half of them with a reading,
and keeps the ratios under "extra_info". As an ordinary test three stacks are followed
once, on four years, and only what they say is checked.
"""

import importlib.util
import random
import sys
import threading
import time
from datetime import date, timedelta
from pathlib import Path

import pytest

from emcforecast.ensemble import run_boards as engine
from emcforecast.weather.read import demonstration
from emcforecast.yard.file import read_yard
from emcforecast.yard.log import append
from emcforecast.yard.state import yard_state

TODAY = date(2026, 11, 25)
HEAD = """name = "Fifty"
units = "si"
weather = "demo"
[setting.loft]
kind = "loft"
roof = "metal"
"""
WOODS = ("white oak", "yellow-poplar", "white ash", "sugar maple", "black walnut")
SIZES = ("4/4", "4/4", "5/4", "6/4", "8/4", "3 in")
USES = ("furniture", "flooring", "trim", "decking", None)


def lsoda_module():
    file = Path(__file__).with_name("lsoda_board.py")
    spec = importlib.util.spec_from_file_location("lsoda_board", file)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def yard_of(folder, stacks, *, read):
    """Write a yard with stacks of the last two years, and readings of every other."""
    rng = random.Random(1)
    parts = [HEAD]
    for k in range(stacks):
        sawn = date(2024, 11, 1) + timedelta(days=rng.randrange(700))
        use, need = rng.choice(USES), rng.choice((None, date(2027, 6, 10)))
        parts.append(
            f'[[stack]]\nname = "s{k}"\nspecies = "{rng.choice(WOODS)}"\n'
            f'thickness = "{rng.choice(SIZES)}"\nsawn = {sawn}\n'
            f'setting = "{rng.choice(("shed", "outdoor", "loft"))}"\n'
            + (f'use = "{use}"\n' if use else "")
            + (f"need = {need}\n" if use and need else "")
        )
    path = folder / "yard.toml"
    path.write_text("\n".join(parts))
    yard = read_yard(path)
    for k in range(0, stacks if read else 0, 2):
        fields = {
            "time": "2026-11-10", "stack": f"s{k}", "kind": "pin",
            "value": str(rng.choice((14, 16, 18))), "wood_temperature": "10 C",
        }  # fmt: skip
        append(yard.readings, fields)
    return yard


def lsoda_board_year(hours):
    """Seconds for one board through some of the same hours, compiled right side."""
    stiff = lsoda_module()
    weather = demonstration().isel(time=slice(0, hours))
    temperature = weather["air_temperature"].to_numpy()
    humidity = weather["relative_humidity"].to_numpy() / 100.0
    oak = (2.1e-11, 1e-3, 560.0)
    options = {"rtol": 1e-3, "atol": 1e-6}
    air = temperature, humidity
    stiff.run(stiff.compiled_rate, *(v[:30] for v in air), 0.75, 0.027, oak)
    begin = time.perf_counter()
    stiff.run(stiff.compiled_rate, *air, 0.75, 0.027, oak, **options)
    return (time.perf_counter() - begin) * 8766.0 / hours


@pytest.fixture
def counted(monkeypatch):
    """Count the board-years that are followed."""
    whole, lock, run = [0.0], threading.Lock(), engine.advance

    def counting(*args, **more):
        with lock:
            whole[0] += more["state"].shape[1] * more["steps"] / 8766.0
        return run(*args, **more)

    monkeypatch.setattr(engine, "advance", counting)
    return whole


@pytest.mark.parametrize("read", [False, True], ids=["plain", "readings"])
def test_bench_yard(benchmark, tmp_path, counted, read):
    """Every stack told; the board-years it takes, one by one with LSODA, over it."""
    full = benchmark.enabled
    yard = yard_of(tmp_path, 50 if full else 3, read=read)
    weather = demonstration()
    if full:  # Kernels are loaded before the clock runs.
        yard_state(yard, weather, TODAY, only=["s0"])
    else:
        weather = weather.sel(time=slice("2015", None))
    counted[0] = 0.0
    begin = time.perf_counter(), time.process_time()
    state = benchmark.pedantic(yard_state, (yard, weather, TODAY), rounds=1)
    spent = time.perf_counter() - begin[0], time.process_time() - begin[1]
    alone = lsoda_board_year(8760 if full else 300)
    benchmark.extra_info |= {
        "board-years": counted[0],
        "LSODA over it": counted[0] * alone / spent[0],
        "processor time over the clock's": spent[1] / spent[0],
    }
    assert len(state.stacks) == len(yard.stacks)
    assert counted[0] > 30.0 * len(yard.stacks)
    days = [one.next.day for one in state.stacks]
    assert days == sorted(days)
    moved = sum(one.effect.update is not None for one in state.stacks)
    assert (moved > 0) == read
