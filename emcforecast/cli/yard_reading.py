"""`emcforecast yard reading`: log a reading and say what it does to the forecast."""

from datetime import date
from pathlib import Path

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.terminal import say
from emcforecast.cli.values import OneOf
from emcforecast.cli.yard import (
    day_of,
    file_argument,
    follow_yard,
    now,
    today_option,
    units_of,
)
from emcforecast.errors import YardError
from emcforecast.language import _
from emcforecast.report.answer import Answer


@click.command(
    "reading", cls=Command, short_help="Log a reading; it moves the forecast."
)
@file_argument
@click.argument("stack", required=False)
@click.argument("value", required=False)
@click.option("--stack", "stack_option", help="The stack, instead of the word.")
@click.option("--value", "value_option", help="The value, instead of the word.")
@click.option(
    "--kind",
    default="pin",
    show_default=True,
    help="pin, pinless, weight (of a sample board) or oven (test, % MC).",
)
@click.option("--board", help="The mark on the board.")
@click.option("--depth", help="Of the pins: 8 mm, 1/2 in, shell or core.")
@click.option(
    "--wood-temperature",
    "--temperature",
    "temperature",
    help="Of the wood, not the air: 30F or -1C.",
)
@click.option(
    "--species-setting", help="What the meter was set to: oak, 0.60, a=1.02 b=-0.3."
)
@click.option("--time", "when", metavar="TIME", help="2026-04-01 or 2026-04-01T08:15.")
@click.option("--note", help="Anything else.")
@click.option(
    "--no-forecast", is_flag=True, help="Only log and correct it; no forecast."
)
@today_option
@click.option("--json", "as_json", is_flag=True, help="One JSON document.")
@click.option(
    "--units",
    type=OneOf(["us", "si"]),
    default=None,
    help="Units of bare numbers; the yard's own by default, refused without either.",
)
def reading(
    file: Path,
    stack: str | None,
    value: str | None,
    stack_option: str | None,
    value_option: str | None,
    kind: str,
    board: str | None,
    depth: str | None,
    temperature: str | None,
    species_setting: str | None,
    when: str | None,
    note: str | None,
    no_forecast: bool,
    today: str | None,
    as_json: bool,
    units: str | None,
) -> None:
    """Log a reading of STACK, VALUE as the meter showed it, beside FILE.

    The row is written whole or not at all. Then the reading is corrected, each step
    shown, and the forecast of the stack moves. VALUE is % MC (over when the meter
    showed no number), or a weight such as 4.14lb with --kind weight.
    """
    from emcforecast.yard.file import read_yard
    from emcforecast.yard.log import append
    from emcforecast.yard.reading import fields_of

    yard = read_yard(file)
    name, shown = stack or stack_option, value or value_option
    if name is None or shown is None:
        raise YardError(
            _(
                "a reading needs the stack and the value: emcforecast yard "
                "reading {file} oak-1 18.5",
                file=file,
            )
        )
    known = yard.stack(name)
    moment = when or (today or f"{now():%Y-%m-%dT%H:%M}")
    fields = fields_of(
        {
            "time": moment,
            "stack": known.name,
            "board": board,
            "kind": kind,
            "depth": depth,
            "value": shown,
            "wood_temperature": temperature,
            "species_setting": species_setting,
            "note": note,
        },
        common.units_asked(units) or yard.units,
    )
    for mended in append(yard.readings, fields):
        say(_("Note: {note}", note=mended), err=True)
    _tell(
        file,
        known.name,
        day_of(today),
        units,
        as_json=as_json,
        no_forecast=no_forecast,
    )


def _tell(
    file: Path,
    name: str,
    day: date,
    units: str | None,
    *,
    as_json: bool,
    no_forecast: bool,
) -> None:
    """Say what the last reading of a stack stands for and what it does."""
    from emcforecast.report.words import wrapped
    from emcforecast.report.yard import cautions_of, yard_warnings
    from emcforecast.report.yard_json import reading_result, stack_result
    from emcforecast.report.yard_readings import (
        questioned_words,
        reading_steps,
        reading_text,
    )
    from emcforecast.yard.file import read_yard
    from emcforecast.yard.log import read_log
    from emcforecast.yard.questioned import judge

    yard = read_yard(file)
    shown_in = units_of(yard, units)
    judged = judge(yard, read_log(yard.readings), day, shown_in)
    own = judged.of(yard.stack(name))
    latest = max(own, key=lambda one: one.reading.line or 0)
    inputs = {"file": file, "stack": name, "today": day}
    if no_forecast:
        lines = reading_steps(latest, shown_in)
        if not latest.used:
            lines.insert(0, questioned_words(latest, day, shown_in))
        common.give(
            Answer(
                "yard reading",
                inputs,
                {"reading": reading_result(latest)},
                "\n".join(wrapped(line) for line in lines),
            ),
            as_json=as_json,
        )
        return
    state, weather, system = follow_yard(yard, str(day), units, (name,))
    (one,) = state.stacks
    common.give(
        Answer(
            "yard reading",
            inputs,
            {"reading": reading_result(latest), "stack": stack_result(one, state)},
            reading_text(one, latest, yard, day, system),
            weather=weather,
            warnings=yard_warnings(state),
            cautions=cautions_of(state, system)[:1],
        ),
        as_json=as_json,
    )
