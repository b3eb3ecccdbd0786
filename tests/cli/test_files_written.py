"""Files beside the answer: looked at before the work, and never at its cost."""

import json
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.cli.main import run
from emcforecast.report.document import write_csv

FULL = Path("/dev/full")
MONTHS = "\n".join(
    ["month,temperature_c,relative_humidity_pct"]
    + [f"{m},{10 - 12 * (m in (12, 1, 2))},75" for m in range(1, 13)]
)


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
    assert "No space left on device" in result.stderr.splitlines()[-1]


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
    file.write_text(MONTHS, encoding="utf-8")
    result = CliRunner().invoke(cli, ["floor", str(file), "--plot", str(picture)])
    assert result.exit_code == 0, result.output
    assert picture.stat().st_size > 10_000


@pytest.mark.skipif(not Path("/dev/full").is_char_device(), reason="no /dev/full")
@pytest.mark.parametrize(
    "words",
    [
        ("floor", "MONTHS", "--csv", "/dev/full"),
        ("floor", "MONTHS", "--plot", "/dev/full"),
        ("yard", "calendar", "YARD", "-o", "/dev/full"),
    ],
)
def test_a_device_is_written_to_and_stays_one(
    words: tuple[str, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A disk that is full is one line; the device is no file afterwards."""
    yard = tmp_path / "yard.toml"
    weather = tmp_path / "months.csv"
    weather.write_text(MONTHS, encoding="utf-8")
    yard.write_text(
        'weather = "months.csv"\n[[stack]]\nname = "a"\nspecies = "ash"\n'
        'thickness = "27 mm"\nsawn = 2026-04-01\nsetting = "shed"\nuse = "furniture"\n'
    )
    files = {"YARD": str(yard), "MONTHS": str(weather)}
    given = [files.get(word, word) for word in words]
    monkeypatch.setattr(sys, "argv", ["emcforecast", *given])
    with pytest.raises(SystemExit) as end:
        run()
    said = capsys.readouterr().err
    assert end.value.code == 2
    assert "/dev/full" in said
    assert "Traceback" not in said
    assert Path("/dev/full").is_char_device()


def test_words_that_look_like_formulas_begin_with_an_apostrophe(tmp_path: Path) -> None:
    """What a spreadsheet would run is text; numbers stay numbers (OWASP's rule)."""
    path = tmp_path / "rows.csv"
    write_csv(path, [{"name": "=HYPERLINK(0)", "mc": -2.5}, {"name": "oak", "mc": 3}])
    assert path.read_text().splitlines() == ["name,mc", "'=HYPERLINK(0),-2.5", "oak,3"]
