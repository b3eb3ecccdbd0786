"""`emcforecast yard calendar`: the next steps as a calendar file."""

from pathlib import Path

import click

from emcforecast.cli import common, sections
from emcforecast.cli.spared import spare
from emcforecast.cli.yard import file_argument, follow_yard, now, read_by, today_option
from emcforecast.errors import InputError


@click.command(
    "calendar", cls=sections.Command, short_help="The next steps as a calendar file."
)
@file_argument
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    default=Path("yard.ics"),
    show_default=True,
    help="The calendar file; - for the screen.",
)
@today_option
@click.option("--json", "as_json", is_flag=True, help="One JSON document.")
@click.option("--units", type=click.Choice(["us", "si"]), default=None, hidden=True)
def calendar(
    file: Path, output: Path, today: str | None, as_json: bool, units: str | None
) -> None:
    """Write what is to be done in the yard FILE as a calendar.

    Import it again after a reading or a change: events keep their identity, so the
    calendar updates them and makes no doubles. Steps that are no longer due are
    cancelled.
    """
    from emcforecast.report.yard import yard_warnings
    from emcforecast.report.yard_calendar import entries_of
    from emcforecast.report.yard_json import action_result
    from emcforecast.yard.calendar import calendar_text
    from emcforecast.yard.file import read_yard
    from emcforecast.yard.locking import replace

    yard = read_yard(file)
    screen = str(output) == "-"
    if not screen:
        spare((output,), read_by(yard))
    earlier = "" if screen or not output.exists() else _earlier(output)
    state, weather, _ = follow_yard(yard, today, units)
    entries = entries_of(state)
    text = calendar_text(entries, state.yard.name, now(), earlier)
    if screen and not as_json:
        click.echo(text, nl=False)
        return
    if not screen:
        replace(output, text.encode())
    dated = sorted(entries, key=lambda entry: entry.day)
    lines = [f"{len(dated)} steps written to {output}. Import it in your calendar."]
    lines += [f"{entry.day}  {entry.summary}" for entry in dated]
    common.give(
        common.Answer(
            "yard calendar",
            {"file": file, "output": output, "today": state.today},
            {
                "events": [
                    {"stack": one.stack.name, **action_result(action, one, state)}
                    for one in state.stacks
                    for action in one.actions
                    if action.in_calendar
                ]
            },
            "\n".join(lines),
            weather=weather,
            warnings=yard_warnings(state),
        ),
        as_json=as_json,
    )


def _earlier(output: Path) -> str:
    """Return the calendar that is about to be replaced, if it is one of ours."""
    from emcforecast.yard.calendar import MADE_BY

    text = output.read_bytes().decode("utf-8", "replace")
    if text.strip() and MADE_BY not in text:
        raise InputError(
            f"{output}: this file was not made by `yard calendar` and would be lost; "
            "name another file"
        )
    return text
