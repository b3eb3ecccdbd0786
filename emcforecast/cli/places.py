"""`emcforecast places`: look up a place by name."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options
from emcforecast.cli.terminal import say
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.report.answer import Answer

if TYPE_CHECKING:
    from emcforecast.weather.network.places import Near
    from emcforecast.weather.repairs import Repair


@click.command("places", cls=Command, short_help="Look up a place by name.")
@click.argument("name")
@click.option("--offline", is_flag=True, help="Use only what was fetched before.")
@click.option(
    "--stations",
    "archive",
    metavar="ARCHIVE",
    help="Also list this archive's stations nearest to the place.",
)
@output_options
def command(
    name: str,
    offline: bool,
    archive: str | None,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
) -> None:
    """List the places called NAME, with the coordinates to copy.

    NAME may also be LAT,LON where stations are asked for.
    """
    from emcforecast.report.repairs import repair_sentence
    from emcforecast.weather.archives.registry import archive_named
    from emcforecast.weather.network.places import (
        CREDIT,
        find_places,
        near_stations,
        parse_degrees,
    )
    from emcforecast.weather.network.session import Session

    def show(notice: "Repair") -> None:
        say(repair_sentence(notice), err=True)

    with Session(offline=offline, on_notice=show) as session:
        spot = parse_degrees(name)
        found = [] if spot is not None else find_places(name, session)
        if spot is None and not found:
            raise InputError(
                _(
                    "no place called {name!r} was found; try another spelling, "
                    "or LAT,LON",
                    name=name,
                )
            )
        near = []
        if archive is not None:
            if spot is None and len(found) > 1:
                listed = "; ".join(item.label() for item in found[:6])
                raise InputError(
                    _(
                        "{count} places are called {name!r}: {listed}. Say which by "
                        "its LAT,LON",
                        count=len(found),
                        name=name,
                        listed=listed,
                    )
                )
            place = spot if spot is not None else found[0].place()
            near = near_stations(archive_named(archive), place, session)
    lines = [item.label() for item in found] + [_station_line(item) for item in near]
    if found:
        lines.append(CREDIT)
    rows = [asdict(item) for item in found] or [
        {**asdict(item.station), "distance_km": item.distance, "climb_m": item.climb}
        for item in near
    ]
    result = {
        "places": [asdict(item) for item in found],
        "stations": rows if near else [],
    }
    inputs = {"name": name, "stations": archive}
    common.give(
        Answer("places", inputs, result, "\n".join(lines), rows=rows),
        as_json=as_json,
        csv_file=csv_file,
    )


def _station_line(near: "Near") -> str:
    from emcforecast.report.repairs import station_words

    item = near.station
    return station_words(
        station=item.id,
        name=item.name,
        distance_km=near.distance,
        climb_m=near.climb,
        elevation=item.elevation,
        first=item.first,
        last=item.last,
    )
