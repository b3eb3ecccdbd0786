"""Forty years of hours from CSV, against general readers in the same run.

As an ordinary test each reads four years once, and only what they read is compared.
"""

import time

import numpy as np
import pandas as pd
import pytest

from emcforecast.weather.read import read_weather


@pytest.fixture
def hours(benchmark):
    return 350_640 if benchmark.enabled else 35_064


@pytest.fixture
def years(hours, tmp_path):
    when = np.datetime64("1984-01-01T00", "m") + np.arange(hours) * np.timedelta64(
        60, "m"
    )
    rng = np.random.default_rng(1)
    columns = (
        when.astype(str).tolist(),
        np.round(10 + 8 * rng.standard_normal(hours), 1).tolist(),
        np.round(np.clip(70 + 15 * rng.standard_normal(hours), 5, 100), 1).tolist(),
        np.round(np.maximum(rng.standard_normal(hours) - 1.5, 0), 1).tolist(),
    )
    path = tmp_path / "weather.csv"
    with path.open("w") as file:
        file.write("time_utc,temp_c,rh_pct,precip_mm\n")
        for row in zip(*columns, strict=True):
            file.write("{}:00Z,{},{},{}\n".format(*row))
    return path


def best(function, times):
    if not times:
        return None
    function()
    spent = []
    for _ in range(times):
        begin = time.perf_counter()
        function()
        spent.append(time.perf_counter() - begin)
    return min(spent)


def test_bench_read_csv(benchmark, years, hours):
    polars = pytest.importorskip("polars")
    readers = {
        "pandas": lambda: pd.read_csv(years, parse_dates=["time_utc"]),
        "polars": lambda: polars.read_csv(years, try_parse_dates=True),
    }
    times = 5 if benchmark.enabled else 0
    spent = {name: best(read, times) for name, read in readers.items()}
    ds = benchmark(read_weather, years)
    assert ds.sizes["time"] == hours
    frame = readers["pandas"]()
    np.testing.assert_array_equal(ds["air_temperature"], frame["temp_c"])
    if not benchmark.enabled:
        return
    ours = best(lambda: read_weather(years), times)
    benchmark.extra_info["seconds"] = {**spent, "ours": ours}
    benchmark.extra_info["ratio_to_fastest"] = ours / min(spent.values())
