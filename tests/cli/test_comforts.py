"""Help that fits a screen, what is remembered, completion, quiet, and emphasis."""

import json
import os
import shutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from emcforecast.cli import common
from emcforecast.cli.commands import COMMANDS
from emcforecast.cli.group import cli

pytestmark = pytest.mark.usefixtures("worked_out_once")
MOST_LINES = 35


def said(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(cli, list(words))
    assert result.exit_code == code, result.output
    return result.stdout if code == 0 else result.stderr


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


@pytest.mark.parametrize("name", COMMANDS)
def test_help_fits_a_screen_and_help_command_is_the_same(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    text = said(name, "--help")
    assert len(text.splitlines()) <= MOST_LINES
    assert said("help", name) == text


def test_options_of_weather_files_stand_once() -> None:
    assert "--utc-offset" in said("check", "--help")
    for name in ("floor", "dry", "plan", "hindcast", "calibrate", "compare"):
        text = said(name, "--help")
        assert "--stamp" not in text
        assert "emcforecast check --help" in text


def test_what_here_remembers_is_used_and_can_be_overridden() -> None:
    said("here", "demo", "--units", "us")
    assert "demo" in said("here")
    remembered = json.loads(said("floor", "--json"))
    assert remembered["inputs"]["weather"] == "demo"
    assert "1 1/16 in" in said("dry", "--stacked", "2026-04-01", "--quiet")
    assert "27 mm" in said("dry", "--stacked", "2026-04-01", "--units", "si")
    said("here", "--forget")
    missing = said("floor", code=2)
    assert "emcforecast here WEATHER" in missing


def test_hints_are_remembered_for_their_own_file_only(tmp_path: Path) -> None:
    """A latitude kept for one file says nothing of another."""
    rows = "".join(f"{m},{10 + m},{70 + m}\n" for m in range(1, 13))
    for name in ("mine.csv", "other.csv"):
        (tmp_path / name).write_text(f"month,temperature_c,relative_humidity\n{rows}")
    mine, other = str(tmp_path / "mine.csv"), str(tmp_path / "other.csv")
    said("here", mine, "--latitude", "-33")
    place = json.loads(said("check", "--json"))["result"]["place"]
    assert place["latitude"] == -33
    place = json.loads(said("check", other, "--json"))["result"]["place"]
    assert "latitude" not in place
    said("here", other)
    assert "latitude" not in said("here")


def test_a_spoilt_memory_is_refused_in_one_line(tmp_path: Path) -> None:
    file = tmp_path / "config" / "emcforecast" / "here.json"
    file.parent.mkdir(parents=True)
    for text in ("{", '["demo"]', '{"colour": "red"}'):
        file.write_text(text)
        refusal = said("floor", code=2)
        assert len(refusal.splitlines()) == 1
        assert "here.json" in refusal


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_a_script_the_shell_takes(shell: str, tmp_path: Path) -> None:
    script = said("completion", shell)
    assert "_EMCFORECAST_COMPLETE" in script
    program = shutil.which(shell)
    if program is not None:
        file = tmp_path / "complete"
        file.write_text(script)
        subprocess.run([program, "-n", str(file)], check=True)


@pytest.mark.parametrize(
    ("words", "at", "found"),
    [("emcforecast fl", "1", "floor"), ("emcforecast floor --mon", "2", "--months")],
)
def test_completion_names_commands_and_options(words: str, at: str, found: str) -> None:
    asked = {"_EMCFORECAST_COMPLETE": "bash_complete"}
    asked |= {"COMP_WORDS": words, "COMP_CWORD": at}
    done = subprocess.run(
        [sys.executable, "-m", "emcforecast.cli"],
        env={**os.environ, **asked},
        capture_output=True,
        text=True,
        check=False,
    )
    assert found in done.stdout


def test_quiet_prints_nothing_beside_the_answer(tmp_path: Path) -> None:
    picture = str(tmp_path / "floor.png")
    loud = CliRunner().invoke(cli, ["floor", "demo", "--plot", picture])
    assert "Picture:" in loud.stderr
    quiet = CliRunner().invoke(cli, ["floor", "demo", "--plot", picture, "--quiet"])
    assert quiet.stderr == ""
    assert quiet.stdout == loud.stdout


def test_urgent_words_are_emphasised_on_a_screen_only(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    text = "NOW oak-1: bring it in\nSurface checks: severe. It is not due NOW."
    shown = common._emphasised(text)
    assert shown != text
    assert click.unstyle(shown) == text
    assert shown.count("\x1b[31m") == 2
    monkeypatch.setenv("NO_COLOR", "1")
    assert common._emphasised(text) == text
    words = ["dry", "demo", "--stacked", "2026-04-01"]
    assert "\x1b" not in CliRunner().invoke(cli, words).stdout


def test_wood_that_starts_drier_has_no_line_for_what_is_passed() -> None:
    words = ("--stacked", "2026-04-01", "--from-mc", "14", "--target", "12")
    text = said("dry", "demo", "--setting", "shed", *words)
    assert "to 12 %" in text
    assert "to 20 %" not in text
    assert "to 30 %" not in text


def test_cuts_are_said() -> None:
    words = ("--stacked", "2026-04-01", "--resaw", "2026-11-01=12mm", "--units", "si")
    text = " ".join(said("dry", "demo", "--setting", "shed", *words).split())
    assert "resawn to 12 mm on 1 November 2026" in text


def test_an_end_or_a_rough_face_leads_with_the_likelier_value() -> None:
    # Such faces read 1 to 3 % low (common practice, no source).
    first = said("meter", "12", "--face", "end").partition(".")[0]
    assert "rather at 13 to 15 %" in " ".join(first.split())


def test_every_command_is_imported_by_its_name() -> None:
    for name, (module, _) in COMMANDS.items():
        assert import_module(f"emcforecast.cli.{module}").command.name == name


@pytest.mark.parametrize("region", ["en_US.UTF-8", "de_DE.UTF-8"])
@pytest.mark.parametrize(
    ("words", "shown", "hidden"),
    [
        ("dry demo --stacked 2026-04-01 --thickness 27mm", "27 mm", " in "),
        ("dry demo --stacked 2026-04-01 --thickness 1.5in", "1 1/2 in", " mm"),
        ("weight --width 1.2m --length 2.4m", "kg", "lb"),
        ("weight --width 4ft --length 8ft", "lb", "kg"),
        ("meter 12 --wood-temp 30F", "30 °F", "°C"),
        ("meter 12 --wood-temp -1C", "-1 °C", "°F"),
        ("movement --width 200mm", "200 mm", " in wide"),
    ],
)
def test_the_unit_typed_is_the_unit_answered(
    words: str, shown: str, hidden: str, region: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LC_ALL", region)
    first = said(*words.split()).partition("Based on")[0]
    assert shown in first
    assert hidden not in first.splitlines()[0]


def test_a_word_that_is_no_file_is_perhaps_a_place() -> None:
    assert "open-meteo:Kalvenau" in said("floor", "Kalvenau", code=2)
    assert "open-meteo:nowhere.csv" not in said("floor", "nowhere.csv", code=2)
