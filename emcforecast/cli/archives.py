"""`emcforecast archives`: the open weather archives it can read."""

import textwrap
from pathlib import Path
from typing import Any

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options
from emcforecast.language import N_, NP_, _, p_
from emcforecast.report.answer import Answer

WIDTH = 80
LINES = (
    (NP_("about an archive", "where"), "coverage"),
    (NP_("about an archive", "holds"), "variables"),
    (NP_("about an archive", "licence"), "licence"),
    (NP_("about an archive", "limits"), "limits"),
)
STEPS = {
    "hour": N_("by the hour"),
    "day": N_("by the day"),
    "month": N_("by the month"),
}
ASKED_BY = {"place": N_("asked for a place"), "station": N_("asked for a station")}


@click.command(
    "archives", cls=Command, short_help="The open weather archives it can read."
)
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
    from emcforecast.report.names import archive_words
    from emcforecast.weather.quantities import quantity_name

    about = (
        p_("kind of weather", row["kind"]),
        _(STEPS[row["step"]]),
        _(ASKED_BY[row["asked_by"]]),
    )
    key = _("no key") if row["key"] == "none" else _("key in {name}", name=row["key"])
    held = row["variables"].split(", ")
    said = {
        "coverage": archive_words(row["coverage"]),
        "variables": ", ".join(quantity_name(name.replace(" ", "_")) for name in held),
        "licence": archive_words(row["licence"]),
        "limits": archive_words(row["limits"]),
    }
    headed = [(p_("about an archive", word), name) for word, name in LINES]
    lines = [
        f"{row['archive']}: {row['title']}",
        f"  {', '.join(about)}; {key}",
        *(
            textwrap.fill(
                f"{word:<9}{said[name]}",
                WIDTH,
                initial_indent="  ",
                subsequent_indent=" " * 11,
            )
            for word, name in headed
        ),
    ]
    return "\n".join(lines)
