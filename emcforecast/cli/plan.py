"""`emcforecast plan`: where next, when in, ready when."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, pictures
from emcforecast.cli.command import Command
from emcforecast.cli.options import (
    board_options,
    output_options,
    plot_options,
    settings_option,
    size_options,
    weather_options,
)
from emcforecast.cli.progress import Progress
from emcforecast.cli.values import NUMBER
from emcforecast.dates import day_given
from emcforecast.errors import InputError
from emcforecast.language import _

if TYPE_CHECKING:
    from emcforecast.forecast.targets import Target
    from emcforecast.storage.settings import Setting


@click.command(
    "plan",
    cls=Command,
    short_help="Where next, when to bring in, and ready by when.",
)
@weather_options
@board_options
@size_options
@click.option(
    "--stacked", required=True, metavar="DATE", help="When, such as 2026-04-01."
)
@click.option("--need", required=True, metavar="DATE", help="When it must be ready.")
@click.option("--use", metavar="USE", help="Furniture, flooring, trim, decking …")
@click.option("--region", metavar="REGION", help="Where it will live: us, europe …")
@click.option(
    "--target", type=NUMBER, metavar="MC", help="Or the moisture to reach, %."
)
@click.option(
    "--old-piece",
    type=NUMBER,
    metavar="MC",
    help="Or what an old piece in the room reads, %.",
)
@click.option(
    "--have",
    default="outdoor,shed,indoor",
    metavar="PLACES",
    help="Those at hand. [default: outdoor,shed,indoor]",
)
@click.option(
    "--stacked-in",
    metavar="PLACE",
    help="Which of --have it is in. [default: the best]",
)
@click.option(
    "--from-mc",
    type=NUMBER,
    metavar="MC",
    help="Moisture when stacked, %. [default: green]",
)
@click.option(
    "--today",
    metavar="DATE",
    help="Move nothing before; take the weather up to then.",
)
@click.option(
    "--air", is_flag=True, help="Draw the air of the last place too (--plot)."
)
@settings_option
@output_options
@plot_options
def command(
    weather: str,
    species: str,
    thickness: str,
    width: str | None,
    length: str | None,
    sealed_ends: bool,
    stacked: str,
    need: str,
    from_mc: float | None,
    today: str | None,
    settings: tuple[str, ...],
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """Find the best route through the places you have, and when to make each move."""
    from emcforecast.answers.plan import plan_answer

    start, end = (
        day_given("--stacked", stacked),
        day_given("--need", need),
    )
    target = _target(options)
    have = _places(options["have"], settings)
    here = _stacked_in(options["stacked_in"], have)
    now = None if today is None else day_given("--today", today)
    wood = common.wood_for(species, options["yard_file"])
    progress = Progress(_("reading the weather"))
    series = common.read_weather_for(weather, options)
    wide, long = common.sizes_given(width, length, units)
    answered = plan_answer(
        series,
        wood,
        thickness,
        stacked=start,
        need=end,
        target=target,
        have=have,
        width_mm=wide,
        length_mm=long,
        sealed_ends=sealed_ends,
        from_mc=from_mc,
        stacked_in=here,
        today=now,
        region=options["region"],
        system=common.units_or_default(units),
        inputs={
            "weather": weather,
            "species": species,
            "thickness": thickness,
            "width": width,
            "length": length,
            "sealed_ends": sealed_ends,
            "stacked": start,
            "need": end,
            "target": target.words,
            "have": [place.text() for place in have],
            "from_mc": from_mc,
            "stacked_in": here and here.text(),
            "today": now,
        },
        air=options["air"],
        progress=progress,
    )
    common.give(
        answered.answer,
        as_json=as_json,
        csv_file=csv_file,
        picture=pictures.drawing(answered, options),
    )


def _target(options: Any) -> "Target":
    from emcforecast.forecast.targets import (
        target_for_use,
        target_of_number,
        target_of_reading,
    )

    given = [n for n in ("use", "target", "old_piece") if options[n] is not None]
    if len(given) != 1:
        raise InputError(
            _(
                "say what the wood must be fit for, one way: --use "
                "furniture, --target 8 or --old-piece 8.5"
            )
        )
    if given == ["use"]:
        return target_for_use(options["use"], options["region"])
    if given == ["target"]:
        return target_of_number(options["target"])
    return target_of_reading(options["old_piece"])


def _places(have: str, settings: tuple[str, ...]) -> list["Setting"]:
    """Read the places at hand; --setting changes those of its name."""
    from emcforecast.storage.kinds import SETTINGS
    from emcforecast.storage.setting_text import as_setting, parse_setting

    changed = {setting.name: setting for setting in map(parse_setting, settings)}
    order = list(SETTINGS)
    given = [as_setting(word.strip()) for word in have.split(",")]
    names = [place.name for place in given]
    places = []
    for place in given:
        new = changed.get(place.name, place)
        alone = names.count(place.name) == 1
        places.append(new if alone or new.kind == place.kind else place)
    places.sort(key=lambda place: order.index(place.name))
    if len(set(names)) == len(names):
        return places
    if len(names) > len(order):
        raise InputError(
            _(
                "--have {have}: {count} places, at most {most} can be "
                "worked out at once, and one of each name; leave some out",
                have=have,
                count=len(names),
                most=len(order),
            )
        )
    # Two of a sort: the airier, named first, takes the free name before it.
    last = max(order.index(name) for name in names)
    begin = max(last + 1 - len(names), 0)
    return [replace(place, name=order[begin + k]) for k, place in enumerate(places)]


def _stacked_in(text: str | None, have: list["Setting"]) -> "Setting | None":
    """Return the place at hand that `--stacked-in` means."""
    from emcforecast.storage.setting_text import as_setting

    if text is None:
        return None
    given = as_setting(text)
    found = [place for place in have if place.kind == given.kind]
    found = found or [place for place in have if text.strip() == place.name]
    if not found:
        at_hand = ", ".join(dict.fromkeys(place.kind for place in have))
        raise InputError(
            _(
                "--stacked-in {text}: not among the places of --have "
                "({at_hand}); name one of them, or add it to --have",
                text=text,
                at_hand=at_hand,
            )
        )
    return found[0]
