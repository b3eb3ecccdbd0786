"""Write the generated pages of the documentation, or check that they are current.

``python docs/generate.py`` writes docs/commands.md, what the program prints for help,
and docs/checks.md, the outside checks and what they reached (docs/checks.json);
``python docs/generate.py --check`` fails when a page is stale, a link leads nowhere,
a command or public name is not documented, or a page is not linked from the index.
"""

import io
import json
import os
import re
import sys
from contextlib import redirect_stdout
from importlib import import_module
from pathlib import Path
from unittest import mock

import click

import emcforecast
from emcforecast.cli.commands import COMMANDS
from emcforecast.cli.main import run

DOCS = Path(__file__).parent
ROOT = DOCS.parent
COLUMNS = "80"
HEAD = """\
# Commands

What each command prints for `--help`; written by `python docs/generate.py`, not by
hand.
"""


def printed_help(*words: str) -> str:
    """Return what the program prints for ``emcforecast WORDS --help``."""
    printed = io.StringIO()
    with (
        mock.patch.object(sys, "argv", ["emcforecast", *words, "--help"]),
        mock.patch.dict(os.environ, {"COLUMNS": COLUMNS}),
        redirect_stdout(printed),
    ):
        try:
            run()
        except SystemExit as stop:
            if stop.code:
                raise
    return printed.getvalue().rstrip("\n")


def all_commands() -> list[tuple[str, ...]]:
    """Name every command and subcommand, in the order of the program's own list."""
    found: list[tuple[str, ...]] = []
    for name, (module, _) in COMMANDS.items():
        command = import_module(f"emcforecast.cli.{module}").command
        found.append((name,))
        if isinstance(command, click.Group):
            listed = command.list_commands(click.Context(command, info_name=name))
            found += [(name, child) for child in listed]
    return found


def command_reference() -> str:
    """Return the page of every command's help."""
    parts = [f"{HEAD}\n```\n{printed_help()}\n```\n"]
    for words in all_commands():
        parts.append(f"## {' '.join(words)}\n\n```\n{printed_help(*words)}\n```\n")
    return "\n".join(parts)


CHECKS_HEAD = """\
# What is checked against the world

Every check against something outside the project: a published table or formula, an
independent library, measurements. Written by `python docs/generate.py` from
`docs/checks.json`, which
`pytest tests/published --record-reached -n 0 -m "not network"` writes from a
run; an ordinary run of the tests fails where the program is further off than stands
here. *Implemented*: the program uses the source's own formula or numbers, and the check
is that it computes them rightly; *fitted*: numbers of the program were fitted to the
source; *foretold*: neither. *Read*: the source was at hand; *from memory*: its numbers
were recalled. Shares are of the published number.

| check | source | | largest error reached |
|---|---|---|---|
"""


def checks_page() -> str:
    """Return the page of the outside checks, from what a run of them recorded."""
    record = json.loads((DOCS / "checks.json").read_text(encoding="utf-8"))
    rows, reasons = [], []
    for name, check in record.items():
        read = "read" if check["provenance"] == "retrieved" else "from memory"
        reached = "<br>".join(
            f"{k}: {_printed(v)}" for k, v in check["reached"].items()
        )
        link = f"[{check['what']}](../tests/published/{name}.py)"
        source = f"{check['source']} ({read})"
        rows.append(f"| {link} | {source} | {check['kind']} | {reached} |\n")
        asked = f"{check['tolerance']}; {check['why']}"
        reasons.append(f"- **{check['what']}**: {asked}.\n")
    return "".join([CHECKS_HEAD, *rows, "\n## Tolerances, and why\n\n", *reasons])


def _printed(error: float) -> str:
    """Print an error; the least of the record is what a computer's digits leave."""
    return "none" if error <= 1e-6 else f"{error:g}"


PAGES = {"commands.md": command_reference, "checks.md": checks_page}


def faults() -> list[str]:
    """Return what is wrong with the documentation, one line each."""
    pages = [*sorted(DOCS.glob("*.md")), ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    texts = {page: page.read_text(encoding="utf-8") for page in pages}
    found = []
    for name, write in PAGES.items():
        if texts.get(DOCS / name) != write():
            found.append(f"docs/{name} is stale: run python docs/generate.py")
    for page, text in texts.items():
        for link in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text):
            if "://" not in link and not (page.parent / link).exists():
                found.append(f"{page.relative_to(ROOT)}: the link {link} leads nowhere")
    everything = "\n".join(texts.values())
    found += [
        f"public name {name} is not documented"
        for name in emcforecast.__all__
        if name != "__version__" and name not in everything
    ]
    index = texts.get(DOCS / "README.md", "")
    found += [
        f"docs/README.md does not link {page.name}"
        for page in pages
        if page.parent == DOCS and page.name not in ("README.md",)
        if page.name not in index
    ]
    return found


if __name__ == "__main__":
    if "--check" in sys.argv:
        problems = faults()
        print("\n".join(problems) or "documentation: current")
        sys.exit(bool(problems))
    for name, write in PAGES.items():
        (DOCS / name).write_text(write(), encoding="utf-8")
