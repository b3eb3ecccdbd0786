"""A cluster that loses a worker, and a run that is killed, end with the same map."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from emcforecast.grid import blocks, run, work
from emcforecast.grid.floor import floor_grid
from emcforecast.grid.ledger import ledger_of
from emcforecast.grid.run import connect
from emcforecast.grid.work import Work, work_through

pytestmark = pytest.mark.slow
RUN = """
from emcforecast.cli.main import run
from emcforecast.grid import blocks

blocks.MOST_CELLS = 1  # So that twelve cells are twelve blocks.
run()
"""


def boards(ds: xr.Dataset) -> xr.Dataset:
    return floor_grid(ds, "European larch", 27, "shed=loft", targets=12)


def same(one: xr.Dataset, other: xr.Dataset) -> None:
    for name in one.data_vars:
        np.testing.assert_array_equal(one[name].to_numpy(), other[name].to_numpy())


@pytest.fixture
def hourly(make_grid, tmp_path, monkeypatch) -> xr.Dataset:
    """A year of hours of twelve cells, in a store."""
    monkeypatch.setattr(blocks, "MOST_CELLS", 1)
    grid = make_grid(4, 3, days=366).chunk(
        {"time": 4000, "latitude": 1, "longitude": 1}
    )
    grid.to_zarr(tmp_path / "hourly.zarr", zarr_format=2)
    return xr.open_zarr(tmp_path / "hourly.zarr")


def test_a_worker_killed_in_mid_run_does_no_harm(hourly, tmp_path):
    from distributed import LocalCluster

    threads = work_through([hourly], boards, {}, tmp_path / "threads.zarr")
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0",
        local_directory=str(tmp_path / "spill"),
    ) as cluster:  # fmt: skip
        with connect(cluster.scheduler_address) as client:
            victims = client.run(os.getpid)
        told, killed = [], []

        def kill(fraction: float, what: str) -> None:
            if fraction > 0.2 and not killed:
                killed.append(next(iter(victims.values())))
                os.kill(killed[0], signal.SIGKILL)

        found = work_through(
            [hourly], boards, {}, tmp_path / "cluster.zarr",
            Work(scheduler=cluster.scheduler_address, progress=kill, say=told.append),
        )  # fmt: skip
    assert killed
    assert any("dashboard: http" in line for line in told)
    same(found, threads)


def test_the_command_killed_in_mid_run_goes_on_with_resume(hourly, tmp_path):
    script = tmp_path / "run.py"
    script.write_text(RUN)
    path, never_stopped = tmp_path / "map.zarr", tmp_path / "whole.zarr"
    asked = [
        *(sys.executable, str(script), "map", str(tmp_path / "hourly.zarr")),
        *("--species", "European larch", "--thickness", "27", "--setting", "shed=loft"),
        *("--target", "12", "--threads", "1"),
    ]
    command = [*asked, "-o", str(path)]
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    with subprocess.Popen(command, env=env, start_new_session=True) as process:
        until = time.monotonic() + 120.0
        while time.monotonic() < until:
            time.sleep(0.05)
            lines = ledger_of(path)
            if lines.is_file() and lines.read_text().count("\n") >= 4:
                break
        process.kill()
    done = ledger_of(path).read_text().count("\n") - 1
    assert 3 <= done < 12
    again = subprocess.run(
        command, env=env, capture_output=True, text=True, check=False
    )
    assert again.returncode == 2
    assert "an interrupted map; add --resume" in again.stderr
    subprocess.run([*command, "--resume"], env=env, check=True)
    assert not ledger_of(path).exists()
    subprocess.run([*asked, "-o", str(never_stopped)], env=env, check=True)
    same(xr.open_zarr(path), xr.open_zarr(never_stopped))


def test_processes_of_this_machine_give_what_threads_give(
    hourly, tmp_path, monkeypatch
):
    monkeypatch.setattr(work, "WORTH_SECONDS", 0.0)
    started = []
    begin = run._own_processes
    monkeypatch.setattr(
        run, "_own_processes", lambda count: started.append(count) or begin(count)
    )
    threads = work_through([hourly], boards, {}, tmp_path / "threads.zarr")
    found = work_through(
        [hourly], boards, {}, tmp_path / "processes.zarr",
        Work(threads=2, processes=True),
    )  # fmt: skip
    assert started == [2]
    same(found, threads)
