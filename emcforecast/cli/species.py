"""`emcforecast species`: the woods it knows, with their numbers and sources."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import output_options, yard_option
from emcforecast.language import ENGLISH, N_, _, number, p_, spoken_language
from emcforecast.report.answer import Answer

if TYPE_CHECKING:
    from emcforecast.wood.species import Species

_FIGURES = (
    ("green_heartwood", N_("green moisture, heartwood"), "%"),
    ("green_sapwood", N_("green moisture, sapwood"), "%"),
    ("basic_gravity", N_("specific gravity, oven-dry on green"), ""),
    ("gravity_12", N_("specific gravity at 12 % MC"), ""),
    ("shrink_radial", N_("shrinkage across, radial"), "%"),
    ("shrink_tangential", N_("shrinkage across, tangential"), "%"),
    ("shrink_volumetric", N_("shrinkage of the volume"), "%"),
    ("coefficient_radial", N_("change per % MC, radial"), ""),
    ("coefficient_tangential", N_("change per % MC, tangential"), ""),
)


@click.command(
    "species",
    cls=Command,
    short_help="The woods it knows, with their numbers.",
)
@click.argument("word", nargs=-1)
@yard_option
@output_options
def command(
    word: tuple[str, ...],
    yard_file: Path | None,
    as_json: bool,
    csv_file: Path | None,
    units: str | None,
) -> None:
    """List the woods with WORD in any of their names, or all of them.

    One wood is shown with its other names and the source of every number.
    """
    asked = " ".join(word)
    found, note = _find(asked, common.own_woods(yard_file))
    rows = [_row(species) for species in found]
    text = _one(found[0]) if len(found) == 1 else _table(found)
    common.give(
        Answer(
            "species",
            {"word": asked},
            {"species": [_entry(species) for species in found], "note": note or None},
            text,
            rows,
            warnings=(note,) if note else (),
        ),
        as_json=as_json,
        csv_file=csv_file,
    )


def _find(asked: str, own: "dict[str, Species]") -> tuple[tuple["Species", ...], str]:
    """Return the woods a word means, and how a general name is read."""
    from emcforecast.errors import SpeciesError
    from emcforecast.report.names import name_note
    from emcforecast.wood.species import all_species, resolve_species, search_species
    from emcforecast.wood.species_names import key

    if not asked:
        return (*own.values(), *all_species()), ""
    mine = tuple(wood for name, wood in own.items() if asked.lower() in name.lower())
    listed = (*mine, *(search_species(asked) if key(asked) else ()))
    try:
        read = resolve_species(asked, own)
    except SpeciesError:
        if not listed:
            raise
        return listed, ""
    if not read.note:
        return (read.species,), ""
    rest = tuple(species for species in listed if species != read.species)
    return (read.species, *rest), name_note(read)


def _entry(species: "Species") -> dict[str, Any]:
    """Return everything about a wood for JSON."""
    from emcforecast.report.weather import figure_source
    from emcforecast.wood.species_names import names_of

    green = species.green_moisture()
    return {
        "name": species.name,
        "spoken": species.spoken,
        "other_names": names_of(species.name),
        "scientific": species.scientific,
        "kind": species.kind,
        "region": species.region,
        **{name: getattr(species, name) for name, _, _ in _FIGURES},
        "green_moisture": {"value": green.value, "source": figure_source(green)},
        "shrinkage_starts": species.shrinkage_starts,
        "sources": dict(species.sources),
    }


def _row(species: "Species") -> dict[str, Any]:
    return {
        "species": species.name,
        "scientific": species.scientific,
        "kind": species.kind,
        "region": species.region,
        **{name: getattr(species, name) for name, _, _ in _FIGURES},
    }


def _table(found: tuple["Species", ...]) -> str:
    """Return one line a wood, 80 columns or a phone's 40."""
    from emcforecast.report.words import is_narrow, wrapped

    first = found[0].spoken
    if is_narrow():
        head = _(
            "{count} woods: green moisture of heart and sap, %, and specific gravity "
            "(oven-dry on green)",
            count=len(found),
        )
        return "\n".join(
            [
                wrapped(head),
                "",
                *(
                    f"{_listed_name(species)[:19]:20}"
                    f"{_cell(species.green_heartwood, 0):>5}"
                    f"{_cell(species.green_sapwood, 0):>5}"
                    f"{_cell(species.basic_gravity, 2):>7}"
                    for species in found
                ),
                "",
                wrapped(
                    _("More and the sources: `emcforecast species {wood}`.", wood=first)
                ),
            ]
        )
    lines = [
        _(
            "{count} woods. Moisture and shrinkage in %, gravity oven-dry on green.",
            count=len(found),
        ),
        "",
        " " * 32
        + _("green moisture").rjust(16)
        + _("specific").rjust(11)
        + _("shrinkage").rjust(18),
        _("species").ljust(32)
        + _("heart").rjust(8)
        + _("sap").rjust(8)
        + _("gravity").rjust(11)
        + _("radial").rjust(8)
        + _("tang.").rjust(10),
    ]
    lines += [
        f"{_listed_name(species)[:31]:32}"
        f"{_cell(species.green_heartwood, 0):>8}{_cell(species.green_sapwood, 0):>8}"
        f"{_cell(species.basic_gravity, 2):>11}"
        f"{_cell(species.shrink_radial, 1):>8}{_cell(species.shrink_tangential, 1):>10}"
        for species in found
    ]
    lines += [
        "",
        _("Other names are known too: `emcforecast species tulipwood`."),
        _("For sources ask for one: `emcforecast species {wood}`.", wood=first),
    ]
    return "\n".join(lines)


def _one(species: "Species") -> str:
    """Return one wood with its names and the source of every number."""
    from emcforecast.report.names import wood_name
    from emcforecast.report.weather import figure_source
    from emcforecast.report.words import is_narrow, wrapped
    from emcforecast.wood.species_names import names_of

    others = names_of(species.name)
    latin = f" ({species.scientific})" if species.scientific else ""
    green = species.green_moisture()
    lines = [
        wrapped(
            f"{wood_name(species.spoken)}{latin}, "
            + p_("kind of wood", species.kind)
            + ", "
            + p_("region", species.region)
        ),
        wrapped(_("also: {names}", names=", ".join(others)))
        if others
        else _("no other names listed"),
        "",
    ]
    codes: list[str] = []
    for name, words, unit in _FIGURES:
        value = getattr(species, name)
        if value is None:
            lines.append(
                wrapped(": ".join((_(words), _("not published"))), rest="  ")
                if is_narrow()
                else "  " + _(words).ljust(38) + _("not published").rjust(14)
            )
            continue
        source = species.sources.get(name, "")
        if source not in codes:
            codes.append(source)
        digits = ".2f" if "gravity" in name else "g"
        shown = f"{number(value, digits)} {unit}".strip()
        mark = f"[{codes.index(source) + 1}]"
        lines.append(
            wrapped(": ".join([_(words), f"{shown} {mark}"]), rest="  ")
            if is_narrow()
            else "  " + _(words).ljust(38) + f"{shown:>14}  {mark}"
        )
    lines += [
        "",
        wrapped(
            _(
                "Taken as green if you give no other: {mc:.0f} % of oven-dry mass "
                "({source}).",
                mc=green.value,
                source=figure_source(green).partition(";")[0],
            )
        ),
        "",
        *(wrapped(f"[{mark}] {source}") for mark, source in enumerate(codes, 1)),
    ]
    return "\n".join(lines)


def _cell(value: float | None, digits: int) -> str:
    return "-" if value is None else number(value, f".{digits}f")


def _listed_name(species: "Species") -> str:
    """Name a wood in a list; in English its group first: oaks stand together."""
    from emcforecast.report.names import wood_name

    if spoken_language() == ENGLISH:
        return species.name
    return wood_name(species.spoken)
