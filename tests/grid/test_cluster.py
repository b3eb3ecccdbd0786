"""A cluster that loses a worker, and a run that is killed, end with the same map."""

import os
import signal
import subprocess
import sys
import time
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from distributed import Client

from emcforecast.grid import blocks, run, work
from emcforecast.grid.floor import floor_grid
from emcforecast.grid.ledger import ledger_of
from emcforecast.grid.read import open_grid
from emcforecast.grid.run import connect
from emcforecast.grid.work import Work, work_through

pytestmark = pytest.mark.slow
RUN = """
import sys
import xarray as xr
from pathlib import Path
from emcforecast.grid import blocks
from emcforecast.grid.floor import floor_grid
from emcforecast.grid.work import Work, work_through
blocks.MOST_CELLS = 1
def boards(ds):
    return floor_grid(ds, "European larch", 27, "shed=loft", targets=12)
if __name__ == "__main__":
    folder = Path(sys.argv[1])
    work_through([xr.open_zarr(folder / "hourly.zarr")], boards, {},
                 folder / "map.zarr", Work(threads=1, resume="--resume" in sys.argv))
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


def test_a_run_killed_whole_goes_on(hourly, tmp_path):
    whole = work_through([hourly], boards, {}, tmp_path / "whole.zarr")
    script = tmp_path / "run.py"
    script.write_text(RUN)
    root = Path(__file__).parents[2]
    command = [sys.executable, str(script), str(tmp_path)]
    env = {**os.environ, "PYTHONPATH": str(root)}
    path = tmp_path / "map.zarr"
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
    subprocess.run([*command, "--resume"], env=env, check=True)
    assert not ledger_of(path).exists()
    same(xr.open_zarr(path), whole)


def test_long_maps_of_boards_run_in_processes(hourly, tmp_path, monkeypatch):
    threads = work_through([hourly], boards, {}, tmp_path / "threads.zarr")
    monkeypatch.setattr(work, "WORTH_SECONDS", 0.0)
    started = []

    def noted(count: int, stack: ExitStack) -> Client | None:
        client = own_processes(count, stack)
        started.append(client is not None and len(client.ncores()))
        return client

    own_processes = run._own_processes
    monkeypatch.setattr(run, "_own_processes", noted)
    monkeypatch.setattr(work, "processors", lambda: 2)
    found = work_through(
        [hourly], boards, {}, tmp_path / "processes.zarr", Work(processes=True)
    )
    assert started == [2]
    same(found, threads)
    for other in (Work(), Work(processes=True, threads=2)):
        work_through([hourly], boards, {}, None, other)
    assert started == [2]


def test_where_no_process_can_be_started_there_are_threads(
    hourly, tmp_path, monkeypatch
):
    def refuse(**about: object) -> None:
        raise OSError("no more processes")

    monkeypatch.setattr("distributed.LocalCluster", refuse)
    monkeypatch.setattr(work, "WORTH_SECONDS", 0.0)
    found = work_through([hourly], boards, {}, None, Work(processes=True))
    same(found, work_through([hourly], boards, {}, None, Work(threads=1)))


COMMAND = ("map", "hourly.zarr", "--setting", "shed=loft", "--thickness", "27",
           "--target", "12", "-o", "map.zarr")  # fmt: skip
START = """
import sys
from emcforecast.grid import blocks, work
blocks.MOST_CELLS = 1
work.WORTH_SECONDS = 0.0 if sys.argv.pop(1) == "processes" else 1e9
from emcforecast.cli.main import run
if __name__ == "__main__":
    run()
"""


@pytest.mark.parametrize("way", ["threads", "processes"])
@pytest.mark.usefixtures("hourly")
def test_a_command_killed_whole_goes_on(tmp_path, way):
    opened = open_grid(tmp_path / "hourly.zarr")
    whole = work_through([opened], boards, {}, tmp_path / "whole.zarr")
    script = tmp_path / "start.py"
    script.write_text(START)
    command = [sys.executable, str(script), way, *COMMAND]
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    path = tmp_path / "map.zarr"
    with subprocess.Popen(
        command, cwd=tmp_path, env=env, start_new_session=True
    ) as process:
        until = time.monotonic() + 120.0
        while time.monotonic() < until and process.poll() is None:
            time.sleep(0.02)
            lines = ledger_of(path)
            if lines.is_file() and lines.read_text().count("\n") >= 4:
                break
        process.send_signal(signal.SIGKILL)
    assert process.returncode == -signal.SIGKILL
    done = ledger_of(path).read_text().count("\n") - 1
    assert 3 <= done < 12
    again = subprocess.run(
        command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False
    )
    assert again.returncode != 0
    assert "--resume" in again.stderr
    subprocess.run([*command, "--resume"], cwd=tmp_path, env=env, check=True)
    assert not ledger_of(path).exists()
    same(xr.open_zarr(path)[list(whole.data_vars)], whole)
