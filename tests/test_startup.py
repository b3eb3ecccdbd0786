"""Asking for help must cost next to nothing."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("numpy", "pandas", "xarray", "matplotlib", "numba", "scipy", "pvlib")
LISTING = "import sys\nprint(*sys.modules, file=sys.stderr)"


def modules_after(code: str) -> set[str]:
    """Return the modules a fresh interpreter holds after some code."""
    run = subprocess.run(
        [
            sys.executable,
            "-c",
            f"{code}\nimport sys\nprint(*sys.modules, file=sys.stderr)",
        ],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "COVERAGE_PROCESS_START": ""},
    )
    return set(run.stderr.split())


@pytest.mark.parametrize(
    "code",
    [
        "import emcforecast",
        "import sys; sys.argv = ['emcforecast', '--help']\n"
        "from emcforecast.cli.main import run; run()",
        "from emcforecast.cli.group import cli",
    ],
)
def test_nothing_heavy_is_imported(code: str) -> None:
    assert not modules_after(code).intersection(HEAVY)


def test_top_help_needs_no_command_library() -> None:
    code = (
        "import sys; sys.argv = ['emcforecast', '--help']\n"
        "from emcforecast.cli.main import run; run()"
    )
    assert "click" not in modules_after(code)


def test_public_names_are_there() -> None:
    import emcforecast

    for name in emcforecast.__all__:
        assert getattr(emcforecast, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = emcforecast.nothing


def test_kept_kernels_are_loaded_without_the_compiler() -> None:
    """Only what is compiled needs all of its library: half a second of every start."""
    code = (
        "import numpy as np\n"
        "from emcforecast.physics.air_node import air_node\n"
        "hour = [10.0, 981.4, 0.0, 0.0, 0.0, 5.0, 10.0, 1227.0, 0.5, 0.0, 1.0]\n"
        "air = air_node(np.array([hour] * 48), {'gain': 5.0})\n"
        "assert np.isfinite(air.temperature).all()"
    )
    modules_after(code)  # From now on every kernel is kept.
    assert not modules_after(code) & {"numba.np.arraymath", "scipy.linalg"}


@pytest.mark.parametrize("first", [0, 1])
@pytest.mark.parametrize("words", [["--help"], ["species", "--json"], ["settings"]])
def test_a_pipe_closed_early_is_no_failure(words: list[str], first: int) -> None:
    run = subprocess.Popen(
        [sys.executable, "-m", "emcforecast.cli", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert run.stdout is not None
    assert run.stderr is not None
    with run, run.stderr:
        os.read(run.stdout.fileno(), first)
        run.stdout.close()
        said = run.stderr.read()
        assert run.wait() == 0, said
    assert said == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device here")
def test_an_answer_that_cannot_be_written_says_so() -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "emcforecast.cli", "species"],
            stdout=full, stderr=subprocess.PIPE, check=False, text=True,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "cannot be written" in done.stderr


THREE_ANSWERS = """
import sys
from emcforecast.cli.main import run
codes = []
for words in (["weight"], ["species", "\\udcff"], ["settings", "--json"]):
    sys.argv = ["emcforecast", *words]
    if words[0] == "settings":
        print("\\f", end="")
    try:
        run()
    except SystemExit as end:
        codes.append(end.code or 0)
    else:
        codes.append(0)
assert codes == [0, 2, 0], codes
"""


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
def test_a_screen_of_few_letters_still_gets_its_answer(encoding: str) -> None:
    env = {**os.environ, "PYTHONIOENCODING": f"{encoding}:strict"}
    done = subprocess.run(
        [sys.executable, "-c", THREE_ANSWERS], capture_output=True, env=env, check=False
    )
    assert done.returncode == 0, done.stderr
    assert b"Traceback" not in done.stderr
    weight, document = done.stdout.split(b"\f")
    assert weight.strip()
    assert json.loads(document.decode(encoding))["command"] == "settings"
