"""Values of the command line that cannot be get one line; none is dropped silently."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from emcforecast.cli.main import run

CASES = [
    (("hindcast", "demo", "--target", "nan"), "'nan' is not a number"),
    (("dry", "demo", "--stacked", "2026-04-01", "--target", "inf"), "is not a number"),
    (("meter", "18", "--wood-temperature", "nan"), "nan"),
    (("floor", "demo", "--species", "ash", "--species", "oak"), "given 2 times"),
    (("floor", "demo", "--thickness=27", "--thickness", "4/4"), "given 2 times"),
    (("--units", "us", "floor", "demo"), "stands after it"),
    (("dry", "demo", "--stacked", "2026-04-01junk"), "is not a date"),
    (("plan", "demo", "--stacked", "2026-04-01", "--need", "2027-02-30"), "not a date"),
]


@pytest.fixture
def refused(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., str]:
    """Run the program as its process does; return the error, which must be one line."""

    def run_refused(*words: str) -> str:
        monkeypatch.setattr(sys, "argv", ["emcforecast", *words])
        with pytest.raises(SystemExit) as end:
            run()
        shown = capsys.readouterr()
        assert end.value.code == 2
        assert shown.out == ""
        assert len(shown.err.strip().splitlines()) == 1
        return shown.err

    return run_refused


@pytest.mark.parametrize(("words", "said"), CASES, ids=[" ".join(c[0]) for c in CASES])
def test_one_line_that_says_what_is_wrong(
    words: tuple[str, ...], said: str, refused: Callable[..., str]
) -> None:
    assert said in refused(*words)


def test_a_process_says_it_in_one_line_too() -> None:
    words, said = CASES[0]
    done = subprocess.run(
        [sys.executable, "-m", "emcforecast.cli", *words],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stdout == ""
    assert said in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_a_wood_of_ones_own_takes_no_packaged_name(
    tmp_path: Path, refused: Callable[..., str]
) -> None:
    path = tmp_path / "yard.toml"
    path.write_text('weather = "demo"\n[species."oak, white"]\nbasic_gravity = 0.6\n')
    assert "there is a packaged wood of this name" in refused("yard", str(path))
