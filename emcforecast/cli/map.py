"""`emcforecast map`: every cell of a grid, or many yards on it, at once."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast import bounds
from emcforecast.cli import common, map_work
from emcforecast.cli.command import Command
from emcforecast.cli.options import (
    is_quiet,
    output_options,
    plot_options,
    settings_option,
    writable,
    yard_option,
)
from emcforecast.cli.terminal import say
from emcforecast.cli.values import NumberRange, WholeRange
from emcforecast.language import _

if TYPE_CHECKING:
    pass


@click.command("map", cls=Command, short_help="Every cell of gridded weather at once.")
@click.argument("grids", nargs=-1, required=True, metavar="GRID…")
@settings_option
@click.option("--species", metavar="WOOD", help="As for floor. [European larch]")
@yard_option
@click.option("--thickness", metavar="SIZE", help="As sawn. [27 mm]")
@click.option(
    "--target",
    "targets",
    type=NumberRange(*bounds.TARGET),
    metavar="MC",
    multiple=True,
    help="Share of years that reach it, %.",
)
@click.option("--stacked", metavar="MM-DD", help="Days from green to 20 % and targets.")
@click.option("--years", metavar="A:B", help="Only these years.")
@click.option(
    "--against", metavar="C:D|GRID", help="The change to these years, or this grid."
)
@click.option(
    "--model",
    "models",
    multiple=True,
    metavar="GRID",
    help="Another model to compare alike; repeatable.",
)
@click.option(
    "--places",
    "places_file",
    type=click.Path(path_type=Path),
    metavar="CSV",
    help="Only yards: name, latitude, longitude.",
)
@click.option(
    "--variable",
    "variables",
    multiple=True,
    metavar="NAME=ITS",
    help="As in air_temperature=T_scr.",
)
@click.option(
    "--member",
    type=WholeRange(min=0),
    metavar="N",
    help="Which run of an ensemble.",
)
@click.option("--height", metavar="METRES|FILE", help="Of the ground, if not in GRID.")
@click.option(
    "--clock",
    type=NumberRange(*bounds.PLACE["utc_offset"]),
    metavar="HOURS",
    help="Ahead of UTC. [longitude/15]",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    callback=writable,
    metavar="FILE",
    help="Write the map: .zarr or .nc.",
)
@click.option("--names", is_flag=True, help="Towns on the picture.")
@click.option("--resume", is_flag=True, help="Go on with an interrupted map.")
@click.option("--threads", type=WholeRange(), metavar="N", help="Cores. [all]")
@click.option("--scheduler", metavar="ADDRESS", help="A dask cluster: tcp://host:8786.")
@output_options
@plot_options
def command(
    grids: tuple[str, ...],
    settings: tuple[str, ...],
    species: str | None,
    yard_file: Path | None,
    thickness: str | None,
    targets: tuple[float, ...],
    stacked: str | None,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """How dry wood gets in every cell of GRID; EMC where no wood is asked for."""
    map_work.require_extra()
    from emcforecast.answers.map import map_answered
    from emcforecast.grid.question import grid_question
    from emcforecast.report.names import name_note

    boards = bool(settings or species or thickness or targets or stacked)
    question, notes = None, []
    if boards:
        wood = common.wood_for(species or "European larch", yard_file)
        notes = [*filter(None, [name_note(wood)])]
        question = grid_question(
            wood.species, thickness or "27 mm", settings,
            targets=targets, stacked=stacked, utc_offset=options["clock"],
        )  # fmt: skip
    result = map_work.work_out(grids, question, options)
    inputs = {
        "grids": list(grids),
        "settings": list(settings),
        "species": species,
        "thickness": thickness,
        "targets": list(targets),
        "stacked": stacked,
        **{
            name: options[name]
            for name in ("years", "against", "clock", "member", "output", "places_file")
        },
        "models": list(options["models"]),
    }
    output = options["output"]
    common.give(
        map_answered(
            result,
            inputs,
            output=None if output is None else str(output),
            yards=options["places_file"] is not None,
            notes=notes,
        ).answer,
        as_json=as_json,
        csv_file=csv_file,
        picture=None
        if options["plot_file"] is None
        else lambda: map_work.draw(result, options),
    )  # fmt: skip
    if output is not None and not is_quiet():
        say(_("Map: {file}", file=output), err=True)
