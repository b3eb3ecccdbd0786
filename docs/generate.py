"""Write the generated pages of the documentation, or check that they are current.

``python docs/generate.py`` writes docs/commands.md from the commands' own help;
``python docs/generate.py --check`` fails when a page is stale, a link leads nowhere,
a command or public name is not documented, or a page is not linked from the index.
"""

import re
import sys
from importlib import import_module
from pathlib import Path

import click

import emcforecast
from emcforecast.cli.commands import COMMANDS, help_text

DOCS = Path(__file__).parent
ROOT = DOCS.parent
HEAD = """\
# Commands

Generated from the commands' own help by `python docs/generate.py`; do not edit.

```
{help}
```
"""


def command_reference() -> str:
    """Return the page of every command's help."""
    parts = [HEAD.format(help=help_text())]
    for name, (module, _) in COMMANDS.items():
        command = import_module(f"emcforecast.cli.{module}").command
        parts += _pages(command, name, None)
    return "\n".join(parts)


def _pages(
    command: click.Command, name: str, parent: click.Context | None
) -> list[str]:
    context = click.Context(
        command, info_name=name, parent=parent, max_content_width=80, terminal_width=80
    )
    path = context.command_path if parent else f"emcforecast {name}"
    text = command.get_help(context).replace(f"Usage: {name}", f"Usage: {path}")
    pages = [f"## {path.removeprefix('emcforecast ')}\n\n```\n{text}\n```\n"]
    if isinstance(command, click.Group):
        for child in command.list_commands(context):
            found = command.get_command(context, child)
            if found is not None:
                pages += _pages(found, child, context)
    return pages


def faults() -> list[str]:
    """Return what is wrong with the documentation, one line each."""
    pages = [*sorted(DOCS.glob("*.md")), ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    texts = {page: page.read_text(encoding="utf-8") for page in pages}
    found = []
    if texts.get(DOCS / "commands.md") != command_reference():
        found.append("docs/commands.md is stale: run python docs/generate.py")
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
    (DOCS / "commands.md").write_text(command_reference(), encoding="utf-8")
