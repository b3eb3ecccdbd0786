"""Files beside the answer: looked at before the work, and never at its cost."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli

FULL = Path("/dev/full")


@pytest.mark.skipif(not FULL.exists(), reason="no full device here")
def test_a_file_that_fails_at_the_end_costs_neither_answer_nor_picture(
    tmp_path: Path,
) -> None:
    picture = tmp_path / "floor.svg"
    words = ["floor", "demo", "--json", "--csv", str(FULL), "--plot", str(picture)]
    result = CliRunner().invoke(cli, words)
    assert result.exit_code == 2
    assert json.loads(result.stdout)["command"] == "floor"
    assert picture.stat().st_size > 10_000
    assert "cannot be written" in result.stderr.splitlines()[-1]


@pytest.mark.parametrize(
    ("option", "value", "says"),
    [
        ("--csv", "", "--csv: no file is named"),
        ("--plot", "", "--plot: no file is named"),
        ("--csv", "nowhere/x.csv", "no folder"),
        ("--plot", "nowhere/x.svg", "no folder"),
        ("--plot", "x.txt", ".png"),
        ("--csv", ".", "cannot be written"),
    ],
)
def test_a_file_that_cannot_be_is_refused_before_the_work(
    option: str,
    value: str,
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    value = str(tmp_path) if value == "." else value
    result = CliRunner().invoke(cli, ["floor", "demo", option, value])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert len(result.stderr.strip().splitlines()) == 1
    assert says in result.stderr


@pytest.mark.parametrize("name", ["a$b_{$.csv", "天气.csv", "ünï cödé.csv"])
def test_any_name_of_a_file_can_stand_in_a_picture(name: str, tmp_path: Path) -> None:
    file, picture = tmp_path / name, tmp_path / "p.svg"
    rows = [f"{m},{10 - 12 * (m in (12, 1, 2))},75" for m in range(1, 13)]
    file.write_text(
        "\n".join(["month,temperature_c,relative_humidity_pct", *rows]),
        encoding="utf-8",
    )
    result = CliRunner().invoke(cli, ["floor", str(file), "--plot", str(picture)])
    assert result.exit_code == 0, result.output
    assert picture.stat().st_size > 10_000
