"""`emcforecast archives`: the open weather archives it can read."""

import textwrap
from pathlib import Path
from typing import Any

import click

from emcforecast.cli import common
from emcforecast.cli.options import output_options
from emcforecast.report.answer import Answer

WIDTH = 80
LINES = (
    ("where", "coverage"),
    ("holds", "variables"),
    ("licence", "licence"),
    ("limits", "limits"),
)


@click.command("archives", short_help="The open weather archives it can read.")
@output_options
def command(as_json: bool, csv_file: Path | None, units: str | None) -> None:
    """List the open weather archives, with what each has and asks for."""
    from emcforecast.weather.archives.registry import ARCHIVES

    rows: list[dict[str, Any]] = [
        {
            "archive": item.id,
            "title": item.title,
            "kind": item.kind,
            "step": item.step,
            "asked_by": item.by,
            "since": item.since,
            "coverage": item.coverage,
            "variables": ", ".join(item.variables).replace("_", " "),
            "licence": item.licence,
            "limits": item.limits,
            "key": item.key or "none",
            "attribution": item.attribution,
        }
        for item in ARCHIVES.values()
    ]
    common.give(
        Answer(
            "archives",
            {},
            {"archives": rows},
            "\n\n".join(_words(row) for row in rows),
            rows=rows,
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _words(row: dict[str, Any]) -> str:
    key = "no key" if row["key"] == "none" else f"key in {row['key']}"
    lines = [
        f"{row['archive']}: {row['title']}",
        f"  {row['kind']}, by the {row['step']}, asked for a {row['asked_by']}; {key}",
        *(
            textwrap.fill(
                f"{word:<9}{row[name]}",
                WIDTH,
                initial_indent="  ",
                subsequent_indent=" " * 11,
            )
            for word, name in LINES
        ),
    ]
    return "\n".join(lines)
