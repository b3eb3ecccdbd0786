"""`emcforecast settings`: the storage kinds and what each assumes."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, pictures
from emcforecast.cli.command import Command
from emcforecast.cli.options import (
    output_options,
    place_options,
    plot_options,
    reading_options,
)
from emcforecast.language import _, number
from emcforecast.report.answer import Answer
from emcforecast.report.names import parameter_meaning, place_about, place_title
from emcforecast.report.words import is_narrow, wrapped

if TYPE_CHECKING:
    from emcforecast.storage.parameters import Parameter
    from emcforecast.storage.settings import Setting


@click.command(
    "settings",
    cls=Command,
    short_help="The storage kinds and what each assumes.",
)
@click.argument("setting", required=False, metavar="[KIND]")
@click.option(
    "--weather",
    default="demo",
    show_default=True,
    help="Weather of the picture: a file, an archive and place, or demo.",
)
@place_options
@reading_options
@output_options
@plot_options
def command(
    setting: str | None,
    weather: str,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
    **options: Any,
) -> None:
    """List the storage kinds, or everything one of them assumes.

    KIND is a name such as loft, or a whole setting such as shed=loft,roof=metal.
    The picture shows the air in each indoor kind beside published indoor climates.
    """
    from emcforecast.storage.kinds import KINDS
    from emcforecast.storage.setting_text import parse_setting
    from emcforecast.storage.settings import Setting

    if setting is None:
        shown = [Setting(kind.setting, kind.name) for kind in KINDS.values()]
        text = _list(shown)
    else:
        shown = [parse_setting(setting)]
        text = _one(shown[0])
    common.give(
        Answer(
            "settings",
            {"setting": setting},
            {"kinds": [_entry(one) for one in shown]},
            text,
            [row for one in shown for row in _rows(one)],
        ),
        as_json=as_json,
        csv_file=csv_file,
        picture=None
        if options["plot_file"] is None
        else lambda: _draw(shown if setting else [], weather, options),
    )


def _list(shown: "list[Setting]") -> str:
    lines = wrapped(
        _(
            "Every answer is given for three settings. Each is one of these kinds; the "
            "first of each group is assumed until you say otherwise."
        )
    ).splitlines()
    lines.append("")
    for name in dict.fromkeys(one.name for one in shown):
        lines.append(name)
        for one in (s for s in shown if s.name == name):
            kind = one.about
            if is_narrow():
                lines.append(f"  {kind.name}: {place_title(kind.name)}")
                about = place_about(kind.name)
                lines.append(wrapped(about, first="    ", rest="    "))
                continue
            lines.append(f"  {kind.name:<13} {place_title(kind.name)}")
            lines += [
                f"  {'':<13} {line}"
                for line in wrapped(place_about(kind.name), 64).splitlines()
            ]
        lines.append("")
    lines += [
        wrapped(_("All about one: `emcforecast settings loft`.")),
        wrapped(_("To change a setting: --setting shed=loft,roof=metal")),
    ]
    return "\n".join(lines)


def _one(setting: "Setting") -> str:
    from emcforecast.storage.parameters import PARAMETERS

    kind = setting.about
    lines = [
        f"{kind.name}: {place_title(kind.name)}",
        wrapped(
            _(
                "{about}. Written --setting {setting}",
                about=place_about(kind.name),
                setting=setting.text(),
            )
        ),
        "",
    ]
    narrow = is_narrow()
    if not narrow:
        heads = (_("assumed").rjust(10), _("range").ljust(16), _("allowed").ljust(14))
        lines.append(" " * 22 + "  ".join(heads[:2]) + heads[2] + _("unit"))
    for name, value in setting.values().items():
        parameter = PARAMETERS[name]
        if isinstance(value, str):
            allowed = "|".join(parameter.words)
            if not parameter.is_word:
                allowed = _(
                    "{low:g} to {high:g}, {words}",
                    low=parameter.low,
                    high=parameter.high,
                    words=allowed,
                )
            if narrow:
                room = _("allowed {range}", range=allowed)
                lines += _tall(f"{name} = {value}", room, parameter)
                continue
            lines.append(f"{name:22}{value:>10}  {'':<16}{allowed} {parameter.unit}")
        else:
            ends = setting.likely_range(name)
            likely = "" if ends is None or ends[0] == ends[1] else _range(*ends)
            allowed = _range(parameter.low, parameter.high)
            if narrow:
                taken = f"{name} = {number(value, 'g')} {parameter.unit}".rstrip()
                room = _("allowed {range}", range=allowed)
                if likely:
                    room = _(
                        "range {likely}, allowed {range}", likely=likely, range=allowed
                    )
                lines += _tall(taken, room, parameter)
                continue
            lines.append(
                f"{name:22}{number(value, '>10g')}  {likely:<16}{allowed:<14}"
                f"{parameter.unit}"
            )
        lines += wrapped(
            parameter_meaning(name), first="    ", rest="    "
        ).splitlines()
    lines += [
        "",
        wrapped(_("Range: what the band of a forecast is drawn from.")),
        wrapped(
            _("Parameters are written and shown in these units, whatever --units says.")
        ),
    ]
    return "\n".join(line.rstrip() for line in lines)


def _tall(taken: str, room: str, parameter: "Parameter") -> list[str]:
    """Lay one parameter out for a phone."""
    return [
        wrapped(taken),
        wrapped(f"{parameter_meaning(parameter.name)}; {room}", first="  ", rest="  "),
    ]


def _range(low: float, high: float) -> str:
    ends = [number(x, ".3g" if abs(x) < 999.5 else ".0f") for x in (low, high)]
    return _("{low} to {high}", low=ends[0], high=ends[1])


def _entry(setting: "Setting") -> dict[str, Any]:
    kind = setting.about
    return {
        "kind": kind.name,
        "setting": setting.name,
        "title": kind.title,
        "about": kind.about,
        "written": setting.text(),
        "parameters": [
            {k: v for k, v in row.items() if k != "kind"} for row in _rows(setting)
        ],
    }


def _rows(setting: "Setting") -> list[dict[str, Any]]:
    from emcforecast.storage.parameters import PARAMETERS

    rows = []
    for name, value in setting.values().items():
        parameter = PARAMETERS[name]
        likely = setting.likely_range(name) or (None, None)
        number = not parameter.is_word
        rows.append(
            {
                "kind": setting.kind,
                "name": name,
                "value": value,
                "default": setting.about.defaults[name],
                "likely_low": likely[0],
                "likely_high": likely[1],
                "lowest": parameter.low if number else None,
                "highest": parameter.high if number else None,
                "words": " ".join(parameter.words) or None,
                "unit": parameter.unit or None,
                "meaning": parameter.meaning,
            }
        )
    return rows


def _draw(shown: "list[Setting]", weather: str, options: Any) -> None:
    from emcforecast.charts.compare import settings_figure
    from emcforecast.report.weather import source_line
    from emcforecast.storage.kinds import KINDS
    from emcforecast.storage.setting_text import parse_setting
    from emcforecast.weather.mend.hours_from_means import hourly_from_monthly

    series = common.read_weather_for(weather, options)
    if series.attrs["step"] == "month":
        series = hourly_from_monthly(series)
    figure = settings_figure(
        series,
        shown or [parse_setting(kind) for kind in KINDS],
        source=source_line(series),
        look=pictures.look(options),
        narrow=options["narrow"],
    )
    pictures.save_figure(figure, options["plot_file"])
