"""Every command line of the documentation is one the program understands."""

import re
import shlex
from pathlib import Path

import click
import pytest

from emcforecast.cli.group import cli

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
PLACEHOLDER = re.compile(r"[…<>]|\b[A-Z]{4,}\b|=KIND|YOURKIND|\.\.\.")


def documented() -> list[str]:
    lines = []
    for page in PAGES:
        if page.name == "commands.md":
            continue
        text = page.read_text(encoding="utf-8").replace("\\\n", " ")
        quoted = re.findall(r"`(emcforecast [^`\n]+)`", text)
        blocks = re.findall(r"^(?:\$ )?(emcforecast .+)$", text, re.MULTILINE)
        lines += [re.sub(r"\s+#.*| [|>&].*", "", line) for line in quoted + blocks]
    return [line for line in dict.fromkeys(lines) if not PLACEHOLDER.search(line)]


def understood(words: list[str]) -> None:
    command: click.Command = cli
    context: click.Context | None = None
    while isinstance(command, click.Group):
        context = command.make_context(words[0], words[1:], parent=context)
        words = [*context._protected_args, *context.args]
        if not words or context.resilient_parsing:
            return
        found = command.get_command(context, words[0])
        if found is None:
            # `yard FILE` stands for `yard show FILE`.
            found = command.get_command(context, "show")
            words = ["show", *words]
        assert found is not None, words
        command = found
    command.make_context(words[0], words[1:], parent=context)


@pytest.mark.parametrize("line", documented())
def test_documented_line_is_understood(
    line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    words = shlex.split(line)
    try:
        understood(words)
    except click.exceptions.Exit:  # --help and --version stop here.
        pass
    except click.MissingParameter:
        assert len(words) <= 3, line  # A command only named, not spelt out.


def test_there_are_lines_to_check() -> None:
    assert len(documented()) > 30
