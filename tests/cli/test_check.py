"""`check` through the command line: what a file holds, or one line why not."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli


def run(*words: str) -> Any:
    return CliRunner().invoke(cli, ["check", *words])


def test_the_demonstration_serves() -> None:
    result = run("demo", "--units", "si")
    assert result.exit_code == 0, result.output
    assert "2007" in result.stdout
    assert "Every month is covered in full." in result.stdout
    document = json.loads(run("demo", "--json").stdout)["result"]
    assert document["ok"] is True
    assert document["refused"] is None
    assert document["step"] == "hour"
    assert document["rows"] == 105_192  # twelve years, three of them leap years
    assert len(document["coverage_by_month"]) == 12


HOURLY = "time_utc,temp_c,rh_pct\n" + "\n".join(
    f"2024-02-{day:02d}T{hour:02d}:00Z,{hour / 2:.1f},{60 + hour}"
    for day in range(1, 30)
    for hour in range(24)
)
BAD = {
    "no humidity": ("time_utc,temp_c\n2024-01-01T00:00Z,1\n", "humidity"),
    "only wind": ("time_utc,wind_ms\n2024-01-01T00:00Z,1\n", ""),
    "negative humidity": (
        "time_utc,temp_c,rh_pct\n"
        + "".join(f"2024-01-01T{h:02d}:00Z,1,-50\n" for h in range(24)),
        "",
    ),
    "all missing": (
        "time_utc,temp_c,rh_pct\n"
        + "".join(f"2024-01-01T{h:02d}:00Z,NA,NA\n" for h in range(24)),
        "",
    ),
    "ambiguous days": (
        "date,temp_c,rh_pct\n04/05/2024 00:00,1,50\n04/05/2024 01:00,2,50\n",
        "--day-first",
    ),
    "binary": ("\x00\x01\x02\x03" * 200, ""),
    "empty": ("", ""),
    "words": ("Dear reader, this is a letter.\nIt holds no weather.\n", ""),
}


@pytest.mark.parametrize("name", BAD)
def test_refused_in_one_line(name: str, tmp_path: Path) -> None:
    text, said = BAD[name]
    file = tmp_path / "weather.dat"
    file.write_bytes(text.encode("latin-1"))
    result = run(str(file))
    assert result.exit_code == 2, result.output
    assert len(result.stderr.strip().splitlines()) == 1, result.stderr
    assert said in result.stderr
    document = run(str(file), "--json")
    assert document.exit_code == 2
    refused = json.loads(document.stdout)["result"]
    assert refused["ok"] is False
    assert refused["refused"]
    # The reason is on stderr in one line as for every other command.
    assert document.stderr.strip() == result.stderr.strip()


def test_no_name_at_all_is_no_folder() -> None:
    result = run("")
    assert result.exit_code == 2
    assert result.stderr.strip() == "'' names no file; give a weather file, or 'demo'"


def test_a_file_that_is_no_weather_is_not_quoted(tmp_path: Path) -> None:
    file = tmp_path / "secret"
    file.write_text("someone:hidden-word:19000:0\nother:hidden-word-too:1\n")
    result = run(str(file))
    assert result.exit_code == 2
    assert "hidden-word" not in result.stderr
    assert "looked at its first 2 lines" in result.stderr


NORMALS = "month,temperature_c,relative_humidity_pct,rain_mm\n" + "".join(
    f"{month},{10 + abs(month - 7)},{70 + month},{50 + month}\n"
    for month in range(1, 13)
)


def test_the_next_command_can_be_copied(tmp_path: Path) -> None:
    folder = tmp_path / "my station"
    folder.mkdir()
    file = folder / "normals.csv"
    file.write_text(NORMALS)
    shown = " ".join(run(str(file), "--latitude", "45").stdout.split())
    assert f"`emcforecast floor '{file}'`, with the same options, is next" in shown


def test_normals_have_no_invented_year(tmp_path: Path) -> None:
    file = tmp_path / "normals.csv"
    file.write_text(NORMALS)
    result = run(str(file), "--units", "si")
    assert result.exit_code == 0, result.output
    assert "means of many years, no real dates" in result.stdout
    assert "2001" not in result.stdout
    assert "678.0 mm a year, at most 62.0 within a month" in result.stdout
    document = json.loads(run(str(file), "--json").stdout)["result"]
    assert document["start"] is document["end"] is None
    us = run(str(file), "--units", "us").stdout
    assert "26.7 inches a year, at most 2.44 within a month" in us


@pytest.mark.parametrize("command", ["floor", "check"])
def test_one_month_is_read_but_is_no_year(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Named by its file alone: a long folder would not fit into 80 columns.
    monkeypatch.chdir(tmp_path)
    Path("february.csv").write_text(HOURLY, encoding="utf-8")
    result = CliRunner().invoke(cli, [command, "february.csv"])
    if command == "floor":
        assert result.exit_code == 2
        assert "whole year" in result.stderr
    else:
        assert result.exit_code == 0, result.output
        assert "2024-02-29" in result.stdout
        assert "not for a whole year" in result.stdout
        assert "(only February)" in " ".join(result.stdout.split())
        assert "Note:" not in result.stdout  # said once
        assert max(len(line) for line in result.stdout.splitlines()) <= 80
