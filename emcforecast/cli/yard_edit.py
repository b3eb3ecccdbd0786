"""`emcforecast yard new`, `add` and `move`: what changes the yard file."""

from pathlib import Path

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.spared import spare
from emcforecast.cli.terminal import say
from emcforecast.cli.values import NUMBER, FilePath, OneOf, WholeRange
from emcforecast.cli.yard import (
    day_of,
    file_argument,
    follow_yard,
    now,
    read_by,
    today_option,
)
from emcforecast.dates import day_given
from emcforecast.errors import InputError, YardError
from emcforecast.files import is_file
from emcforecast.language import _, n_
from emcforecast.report.answer import Answer
from emcforecast.units import default_units


@click.command("calendar", cls=Command, short_help="The next steps as a calendar file.")
@file_argument
@click.option(
    "-o",
    "--output",
    type=FilePath(dir_okay=False, path_type=Path),
    default=Path("yard.ics"),
    show_default=True,
    help="The calendar file; - for the screen.",
)
@today_option
@click.option("--json", "as_json", is_flag=True, help="One JSON document.")
@click.option("--units", type=OneOf(["us", "si"]), default=None, hidden=True)
def calendar(
    file: Path, output: Path, today: str | None, as_json: bool, units: str | None
) -> None:
    """Write what is to be done in the yard FILE as a calendar.

    Import it again after a reading or a change: events keep their identity, so the
    calendar updates them and makes no doubles. Steps that are no longer due are
    cancelled.
    """
    from emcforecast.files import replace
    from emcforecast.report.yard import yard_warnings
    from emcforecast.report.yard_json import action_result, entries_of
    from emcforecast.yard.calendar import calendar_text
    from emcforecast.yard.file import read_yard

    yard = read_yard(file)
    screen = str(output) == "-"
    if not screen:
        spare((output,), read_by(yard))
    earlier = _earlier(output) if not screen and is_file(output) else ""
    state, weather, _progress = follow_yard(yard, today, units)
    entries = entries_of(state)
    text = calendar_text(entries, state.yard.name, now(), earlier)
    if screen and not as_json:
        say(text, nl=False)
        return
    if not screen:
        replace(output, text.encode(), YardError)
    dated = sorted(entries, key=lambda entry: entry.day)
    lines = [
        _(
            "{count} steps written to {file}. Import it in your calendar.",
            count=len(dated),
            file=output,
        )
    ]
    lines += [f"{entry.day}  {entry.summary}" for entry in dated]
    common.give(
        Answer(
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
    from emcforecast.files import contents
    from emcforecast.yard.calendar import MADE_BY

    text = contents(output).decode("utf-8", "replace")
    if text.strip() and MADE_BY not in text:
        raise InputError(
            _(
                "{output}: this file was not made by `yard calendar` and "
                "would be lost; name another file",
                output=output,
            )
        )
    return text


@click.command("new", cls=Command, short_help="Begin a yard file.")
@file_argument
@click.option("--name", default=None, help="What the yard is called.")
@click.option(
    "--weather", default="demo", show_default=True, help="The yard's weather file."
)
@click.option(
    "--units",
    type=OneOf(["us", "si"]),
    default=None,
    help="Inches and °F, or mm and °C; default from this computer's region.",
)
def new(file: Path, name: str | None, weather: str, units: str | None) -> None:
    """Begin a yard file at FILE; an existing file is left alone."""
    from emcforecast.yard.file import begin_yard

    begin_yard(file, name or file.stem, weather, units or default_units())
    say(
        _(
            "{file} begun. Add a stack: emcforecast yard add {file} --name oak-1 …",
            file=file,
        )
    )


@click.command("add", cls=Command, short_help="Add a stack to a yard file.")
@file_argument
@click.option("--name", required=True, help="A short name, such as oak-1.")
@click.option("--species", required=True, help="The wood.")
@click.option("--thickness", required=True, help="As sawn: 8/4, 27mm, '1 1/8 in'.")
@click.option("--sawn", metavar="DATE", help="Year-month-day it was sawn.")
@click.option("--stacked", metavar="DATE", help="When it was stickered, if later.")
@click.option("--setting", required=True, help="Where it is: outdoor, shed, loft …")
@click.option("--use", help="What it is for: furniture, flooring, trim, decking …")
@click.option("--target", type=NUMBER, help="A moisture wanted instead, %.")
@click.option("--need", metavar="DATE", help="When it is needed.")
@click.option("--from-mc", type=NUMBER, help="Moisture when stacked, %, if not green.")
@click.option("--count", type=WholeRange(), help="How many boards, for the weight.")
@click.option("--length", help="Of a board: '8 ft', '2.4 m'.")
@click.option("--width", help="Of a board: '10 in', '250 mm'.")
@click.option("--note", help="Anything else.")
def add(
    file: Path,
    name: str,
    species: str,
    thickness: str,
    sawn: str | None,
    stacked: str | None,
    setting: str,
    use: str | None,
    target: float | None,
    need: str | None,
    from_mc: float | None,
    count: int | None,
    length: str | None,
    width: str | None,
    note: str | None,
) -> None:
    """Add a stack at the end of FILE; what stands there, comments too, stays."""
    from emcforecast.report.names import wood_name
    from emcforecast.yard.file import add_stack, stack_values

    if sawn is None and stacked is None:
        sawn = day_of(None).isoformat()
    values = stack_values(
        {
            "name": name,
            "species": species,
            "thickness": thickness,
            "sawn": _date("--sawn", sawn),
            "stacked": _date("--stacked", stacked),
            "setting": setting,
            "use": use,
            "target": target,
            "need": _date("--need", need),
            "from_mc": from_mc,
            "note": note,
            "count": count,
            "length": length,
            "width": width,
        }
    )
    yard = add_stack(file, values)
    stack = yard.stacks[-1]
    say(
        n_(
            "{name} added to {file}: {wood}, {thickness}, {place}, since {day}. "
            "{count} stack now.",
            "{name} added to {file}: {wood}, {thickness}, {place}, since {day}. "
            "{count} stacks now.",
            len(yard.stacks),
            name=stack.name,
            file=file,
            wood=wood_name(stack.species.spoken),
            thickness=stack.thickness.label(yard.units or "si"),
            place=stack.setting,
            day=stack.stacked,
        )
    )
    for note_told in yard.notes:
        say(_("Note: {note}", note=note_told))


@click.command(
    "move", cls=Command, short_help="Note that a stack was carried elsewhere."
)
@file_argument
@click.argument("stack")
@click.argument("setting")
@click.option("--date", "when", metavar="DATE", help="When. [default: today]")
def move(file: Path, stack: str, setting: str, when: str | None) -> None:
    """Note in FILE that STACK was carried to SETTING; comments stay."""
    from emcforecast.yard.file import move_stack, read_yard

    day = day_given("--date", when) if when else day_of(None)
    name = read_yard(file).stack(stack).name
    move_stack(file, name, day, setting)
    say(
        _(
            "{name}: {setting} from {day} on, noted in {file}.",
            name=name,
            setting=setting,
            day=day,
            file=file,
        )
    )


def _date(option: str, text: str | None) -> object:
    return None if text is None else day_given(option, text)
