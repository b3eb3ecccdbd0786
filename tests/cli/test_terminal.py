"""What steers a screen never reaches it; streams that are closed; kernels mended."""

import os
import runpy
import subprocess
import sys
from pathlib import Path

import numba
import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.errors import InputError
from emcforecast.physics.kernels import compiled

ESCAPE = "\x1b[2J\x1b]0;owned\x07\x9b31m\u202eabc\x7f"
STEERING = ("\x1b", "\x07", "\x9b", "\u202e", "\x7f")


def run(*words: str) -> str:
    result = CliRunner().invoke(cli, words)
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.output


def months(path: Path, name: str = "month") -> str:
    rows = [f"{m},{10 - 12 * (m in (12, 1, 2))},75" for m in range(1, 13)]
    head = f"{name},temperature_c,relative_humidity_pct"
    path.write_text("\n".join([head, *rows]), encoding="utf-8")
    return str(path)


def test_names_values_and_contents_do_not_steer_the_screen(tmp_path: Path) -> None:
    named = months(tmp_path / f"a{ESCAPE.replace('/', '')}.csv")
    inside = months(tmp_path / "inside.csv", name=f"month{ESCAPE}")
    yard = tmp_path / "yard.toml"
    yard.write_text(f"name = {ESCAPE!r}\nweather = 'demo'\n", encoding="utf-8")
    quoted = ESCAPE.encode("unicode_escape").decode().replace("\\x", "\\u00")
    told = tmp_path / "told.toml"
    told.write_text(f'name = "{quoted}"\n[weather]\nfile = "demo"\n', encoding="utf-8")
    outputs = [
        run("check", named),
        run("check", named, "--json"),
        run("check", inside),
        run("floor", f"{tmp_path}/{ESCAPE}"),
        run("species", f"oak{ESCAPE}"),
        run("dry", "demo", "--species", ESCAPE, "--json"),
        run("yard", str(yard)),
        run("yard", str(told)),
        run(f"fl{ESCAPE}"),
    ]
    for output in outputs:
        assert output.strip()
        assert not [sign for sign in STEERING if sign in output], output


def test_an_error_is_one_harmless_line_of_bounded_length() -> None:
    said = str(InputError("first\nsecond " + ESCAPE + "x" * 9000 + " do this next"))
    assert "\n" not in said
    assert len(said) <= 600
    assert said.endswith("do this next")
    assert not [sign for sign in STEERING if sign in said]


@pytest.mark.parametrize("words", [["floor", "A" * 4000], ["check", "é" * 200], []])
def test_names_that_are_too_long_are_one_line(words: list[str], tmp_path: Path) -> None:
    words = words or ["floor", "demo", "--csv", str(tmp_path / ("b" * 300))]
    result = CliRunner().invoke(cli, words)
    assert isinstance(result.exception, SystemExit)
    assert result.exit_code == 2
    assert len(result.stderr.strip().splitlines()) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="a shell's way to close a stream")
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-"])
def test_closed_streams_are_no_traceback(closed: str) -> None:
    line = f"exec {sys.executable} -m emcforecast.cli species oak {closed}"
    done = subprocess.run(
        ["sh", "-c", line], capture_output=True, text=True, timeout=120, check=False
    )
    assert "Traceback" not in done.stderr
    assert done.returncode == (0 if closed == "2>&-" else 2)


KERNEL = """
import sys
from pathlib import Path
import numba
from emcforecast.physics.kernels import compiled
compiled.folder = lambda file: Path(sys.argv[1])
@compiled.compiled()
def twice(x: float) -> float:
    return 2.0 * x
assert twice(2.5) == 5.0
hits = len(twice.stats.cache_hits)
print(hits, file=sys.stderr)
"""


def test_damaged_kernels_are_compiled_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script = tmp_path / "kernel.py"
    script.write_text(KERNEL)
    kept = tmp_path / "kept"
    kept.mkdir()
    # The variable would keep all kernels in one folder, away from the damage.
    env = {k: v for k, v in os.environ.items() if k != "NUMBA_CACHE_DIR"}
    done = subprocess.run(
        [sys.executable, str(script), str(kept)], capture_output=True, text=True,
        timeout=120, check=False, env={**env, "PYTHONPATH": str(Path.cwd())},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert int(done.stderr.split()[-1]) == 0

    # What one process kept another takes; each run below reads the folder anew.
    monkeypatch.setattr(numba.core.config, "CACHE_DIR", "")
    monkeypatch.setattr(compiled, "folder", compiled.folder)
    monkeypatch.setattr(sys, "argv", ["kernel.py", str(kept)])

    def hits() -> int:
        found: int = runpy.run_path(str(script))["hits"]
        return found

    assert hits() == 1
    for damage in ("emptied", "cut", "noise"):
        for path in kept.rglob("*.nb?"):
            half = path.read_bytes()[: path.stat().st_size // 2]
            left = {"emptied": b"", "cut": half, "noise": b"\x80\x05junk"}
            path.write_bytes(left[damage])
        assert hits() == 0, damage
        assert hits() == 1, damage
