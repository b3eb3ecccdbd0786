"""`emcforecast yard calendar`: the next steps as a calendar file."""

from pathlib import Path

import click

from emcforecast.cli import common
from emcforecast.cli.yard import file_argument, now, today_option, work_out


@click.command("calendar", short_help="The next steps as a calendar file.")
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
    from emcforecast.report.yard_json import action_result
    from emcforecast.yard.calendar import calendar_text
    from emcforecast.yard.diary import entries_of
    from emcforecast.yard.safe import replace

    state, weather, _ = work_out(file, today, units)
    entries = entries_of(state)
    screen = str(output) == "-"
    earlier = "" if screen or not output.exists() else _earlier(output)
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
                    {"stack": one.stack.name, **action_result(action)}
                    for one in state.stacks
                    for action in one.actions
                    if action.in_calendar
                ]
            },
            "\n".join(lines),
            weather=weather,
            warnings=state.warnings,
        ),
        as_json=as_json,
    )


def _earlier(output: Path) -> str:
    """Return the calendar that is about to be replaced, as far as it is text."""
    return output.read_bytes().decode("utf-8", "replace")
