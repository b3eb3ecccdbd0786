"""`emcforecast fetch`: weather from an open archive into a file."""

import re
import shlex
import textwrap
from datetime import date, timedelta
from pathlib import Path

import click

from emcforecast import bounds
from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options
from emcforecast.cli.progress import Progress
from emcforecast.cli.terminal import say
from emcforecast.cli.values import FilePath, NumberRange
from emcforecast.errors import InputError
from emcforecast.language import N_, _
from emcforecast.report.answer import Answer


@click.command(
    "fetch",
    cls=Command,
    short_help="Get weather from an open archive into a file.",
)
@click.argument("place")
@click.option(
    "--from",
    "archive",
    required=True,
    metavar="ARCHIVE",
    help="Which archive; `emcforecast archives` lists them.",
)
@click.option(
    "--years",
    metavar="A:B",
    help="First and last year, such as 2005:2024. [default: the last 15 whole years]",
)
@click.option(
    "-o",
    "--output",
    type=FilePath(dir_okay=False, path_type=Path),
    required=True,
    help="The file to write, ending in .nc.",
)
@click.option(
    "--ahead",
    is_flag=True,
    help="Also the days up to now and the coming 16 days' weather forecast.",
)
@click.option("--offline", is_flag=True, help="Use only what was fetched before.")
@click.option(
    "--utc-offset",
    type=NumberRange(*bounds.PLACE["utc_offset"]),
    metavar="HOURS",
    help="Local standard time less UTC (h), for archives that keep local time.",
)
@output_options
def command(
    place: str,
    archive: str,
    years: str | None,
    output: Path,
    ahead: bool,
    offline: bool,
    utc_offset: float | None,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
) -> None:
    """Fetch weather for PLACE and write it to a file.

    PLACE is LAT,LON, a name, or the number of one of the archive's stations. What was
    fetched before is kept on this computer, so an interrupted fetch goes on where it
    stopped.
    """
    from emcforecast.report.repairs import repair_sentence, repair_sentences
    from emcforecast.weather.archives.registry import archive_named
    from emcforecast.weather.fetch import add_forecast, fetch_place
    from emcforecast.weather.formats.netcdf import require_target, write_weather
    from emcforecast.weather.hints import make_hints
    from emcforecast.weather.network.places import find_place
    from emcforecast.weather.network.session import Session
    from emcforecast.weather.repairs import Repair, RepairKind, add_repairs

    require_target(output)
    record = archive_named(archive)
    start, end = _span(years, record.kind, record.since)
    if ahead and years is None:
        end = date.today() - timedelta(days=1)
    notices: list[Repair] = []
    progress = Progress(_("asking {archive}", archive=record.title))

    def notice(told: Repair) -> None:
        if told.kind is RepairKind.ARCHIVE_WAITED:
            say(repair_sentence(told), err=True)
        else:
            notices.append(told)

    with Session(offline=offline, on_notice=notice) as session:
        where, found = find_place(place, record, session, (start.year, end.year))
        series = fetch_place(
            record,
            where,
            start,
            end,
            session=session,
            hints=make_hints(utc_offset=utc_offset),
            progress=lambda done, of, label: progress(done / of, label or None),
        )
        if ahead:
            series = add_forecast(series, where, session=session)
    series = add_repairs(series, *found, first=True)
    write_weather(series, output)
    stamps = series["time"].to_numpy()
    first, last = (
        str(when.astype("datetime64[D]")) for when in (stamps[0], stamps[-1])
    )
    known = int(series["air_temperature"].notnull().sum())
    hours = N_("{file}: {archive}, {first} to {last}, {count} hours of weather.")
    months = N_("{file}: {archive}, {first} to {last}, {count} months of weather.")
    next_command = f"emcforecast check {shlex.quote(str(output))}"
    text = "\n".join(
        [
            _lines(
                _(
                    months if series.attrs["step"] == "month" else hours,
                    file=output,
                    archive=record.title,
                    first=first,
                    last=last,
                    count=known,
                )
            ),
            *(_lines(line, "- ") for line in repair_sentences(series)),
            _lines(str(series.attrs["attribution"])),
            _("Next: {command}", command=next_command),
        ]
    )
    row = {"file": str(output), "start": first, "end": last, "known": known}
    common.give(
        Answer(
            "fetch",
            {"place": place, "archive": record.id, "years": f"{start.year}:{end.year}"},
            row,
            text,
            rows=[row],
            weather=series,
            warnings=[repair_sentence(notice) for notice in notices],
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _lines(text: str, mark: str = "") -> str:
    """Fold a sentence at 80 columns, names of files left whole."""
    return textwrap.fill(
        text,
        80,
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _span(years: str | None, kind: str, since: int) -> tuple[date, date]:
    from emcforecast.weather.fetch import last_whole_years

    today = date.today()
    if kind == "forecast":
        return today, today + timedelta(days=15)
    if years is None:
        return last_whole_years()
    match = re.fullmatch(r"(\d{4})(?::(\d{4}))?", years.strip())
    if match is None:
        raise InputError(
            _("--years {years!r}: write A:B, such as 2005:2024", years=years)
        )
    first, last = int(match[1]), int(match[2] or match[1])
    if first > last:
        raise InputError(
            _(
                "--years {years}: {first} is after {last}; turn them round",
                years=years,
                first=first,
                last=last,
            )
        )
    if last < since or first > today.year:
        raise InputError(
            _(
                "--years {years}: the archive has {since} to {this_year}; "
                "ask within that",
                years=years,
                since=since,
                this_year=today.year,
            )
        )
    yesterday = today - timedelta(days=1)
    return date(max(first, since), 1, 1), min(date(last, 12, 31), yesterday)
