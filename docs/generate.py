"""Write the generated pages of the documentation, or check that they are current.

``python docs/generate.py`` writes docs/commands.md, what the program prints for help,
and docs/checks.md, the outside checks and what they reached (docs/checks.json),
and docs/damage.md, what damaged input came to (docs/damage.json, docs/fuzz.json);
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


DAMAGE_HEAD = """\
# Evidence: what damaged input comes to

Written by `python docs/generate.py` from `docs/damage.json`
(`python tests/fuzz/damage_formats.py`) and `docs/fuzz.json`
(`python tests/fuzz/run.py N --record docs/fuzz.json`). What the columns mean, the
bounds, and what cannot be seen: [damaged and hostile input](robustness.md). *Silent*:
the mean equilibrium moisture moves by over 0.2 % MC and nothing is said; inputs of a
campaign may have been damaged before, so that "read" is not always "read rightly".
"""
CAMPAIGN = """
## A campaign of damaged inputs

Python {python}, {date}, seed {seed}: **{tried:,} inputs**, guided by the lines of the
package that they reach. "Slowest" is of the processor, "grown" the memory after a
batch of 4,000 beside that before it.

| Target | Tried | Refused | Mended and said | Read | Silent | Failed | Slowest, s | \
Grown, MB |
|---|---:|---:|---:|---:|---:|---:|---:|---:|
"""
_OUTCOMES = ("read", "holes", "repaired", "refused", "silent")
_OF_YEARS = {"read": "right", "repaired": "said"}


def damage_page() -> str:
    """Return the page of what damaged input came to, from the two records."""
    record = json.loads((DOCS / "damage.json").read_text(encoding="utf-8"))
    fuzz = json.loads((DOCS / "fuzz.json").read_text(encoding="utf-8"))
    parts = [DAMAGE_HEAD]
    for part, title, first in (
        ("years", "A made year of hours, as a table", "Damage"),
        ("files", "Weather of one place, every format", "Format and damage"),
        ("grids", "Grids", "Format and damage"),
    ):
        parts.append(
            f"\n## {title}\n\n| {first} | Read rightly | Read, holes left | "
            "Read and said | Refused | Silent |\n|---|---:|---:|---:|---:|---:|\n"
        )
        for key, seen in record[part].items():
            cells = [
                str(seen.get(_OF_YEARS.get(o, o) if part == "years" else o, 0))
                for o in _OUTCOMES
            ]
            name = key.replace(" | ", ": ")
            parts.append(f"| {name} | {' | '.join(cells)} |\n")
    lines = fuzz["targets"]
    tried = sum(line["tried"] for line in lines.values())
    parts.append(CAMPAIGN.format(tried=tried, **fuzz))
    for name, line in lines.items():
        counts = ("tried", "refused", "repaired", "read", "silent", "crashed")
        cells = [f"{line[key]:,}" for key in counts]
        cells += [str(line["slowest_s"]), str(line["grown_mb"])]
        parts.append(f"| {name} | {' | '.join(cells)} |\n")
    return "".join(parts)


def _printed(error: float) -> str:
    """Print an error; the least of the record is what a computer's digits leave."""
    return "none" if error <= 1e-6 else f"{error:g}"


PAGES = {
    "commands.md": command_reference,
    "checks.md": checks_page,
    "damage.md": damage_page,
}


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
