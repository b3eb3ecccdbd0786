"""docs/commands.md is what the program prints for `--help`, letter by letter."""

import os
import re
import subprocess
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path

import click
import pytest

from emcforecast.cli.commands import COMMANDS
from emcforecast.cli.main import run

PAGE = Path(__file__).parents[2] / "docs" / "commands.md"
BLOCKS = dict(
    re.findall(
        r"(?:^## ([^\n]+)\n\n)?^```\n(.*?)^```$",
        PAGE.read_text(encoding="utf-8"),
        re.MULTILINE | re.DOTALL,
    )
)


@pytest.mark.parametrize("name", BLOCKS)
def test_page_shows_what_the_program_prints(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["emcforecast", *name.split(), "--help"])
    with suppress(SystemExit):
        run()
    assert capsys.readouterr().out == BLOCKS[name]


@pytest.mark.parametrize("name", ["", "floor", "yard add"])
def test_a_fresh_process_prints_it_too(name: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "emcforecast.cli", *name.split(), "--help"],
        capture_output=True, text=True, check=True, env={**os.environ, "COLUMNS": "80"},
    )  # fmt: skip
    assert done.stdout == BLOCKS[name]


def test_every_command_is_on_the_page() -> None:
    expected = {""}
    for name, (module, _) in COMMANDS.items():
        command = import_module(f"emcforecast.cli.{module}").command
        expected.add(name)
        if isinstance(command, click.Group):
            listed = command.list_commands(click.Context(command))
            expected |= {f"{name} {child}" for child in listed}
    assert set(BLOCKS) == expected
