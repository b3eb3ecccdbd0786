"""On a phone's 40 columns every line fits and no number is lost."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli

pytestmark = pytest.mark.usefixtures("worked_out_once")
NORMALS = "month,temperature_c,relative_humidity_pct\n" + "".join(
    f"{m},{t},{h}\n"
    for m, (t, h) in enumerate(
        zip(
            (1, 3, 8, 14, 18, 23, 25, 24, 20, 14, 8, 3),
            (72, 69, 66, 65, 70, 73, 75, 77, 78, 75, 73, 73),
            strict=True,
        ),
        1,
    )
)


def said(words: list[str], columns: int, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("COLUMNS", str(columns))
    result = CliRunner().invoke(cli, words)
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.mark.parametrize(
    "words",
    [["floor", "--months"], ["dry", "--stacked", "2026-04-01", "--setting", "shed"]],
)
def test_lines_fit_a_phone(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "w.csv"
    file.write_text(NORMALS, encoding="utf-8")
    asked = [words[0], str(file), "--latitude", "39", *words[1:]]
    narrow = said(asked, 40, monkeypatch)
    assert max(map(len, narrow.splitlines())) <= 40
    wide = said(asked, 80, monkeypatch)
    assert max(map(len, wide.splitlines())) <= 80
    if words[0] == "dry":
        dates = r"\d{1,2} [A-Z][a-z]{2} \d{4}"
        assert set(re.findall(dates, narrow)) == set(re.findall(dates, wide))
    else:
        lows = [line for line in narrow.splitlines() if re.match(r"July +\d", line)]
        assert len(lows) == 3


@pytest.mark.parametrize(
    "line",
    [
        *("species", "species white oak", "settings", "settings loft", "weight"),
        *("weight --width 4ft --length 8ft --units us", "movement --thickness 8/4"),
        *("meter 12 --wood-temp 30F", "meter --shell 10 --core 16"),
    ],
)
def test_small_answers_fit_a_phone(line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    narrow = said(line.split(), 40, monkeypatch)
    assert max(map(len, narrow.splitlines())) <= 40
    wide = said(line.split(), 80, monkeypatch)
    assert max(map(len, wide.splitlines())) <= 80
