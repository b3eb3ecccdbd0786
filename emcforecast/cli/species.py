"""`emcforecast species`: the woods it knows, with their numbers and sources."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from emcforecast.cli import common, group
from emcforecast.cli.options import output_options, yard_option
from emcforecast.report.answer import Answer

if TYPE_CHECKING:
    from emcforecast.wood.species import Species

_FIGURES = (
    ("green_heartwood", "green moisture, heartwood", "%"),
    ("green_sapwood", "green moisture, sapwood", "%"),
    ("basic_gravity", "specific gravity, oven-dry on green", ""),
    ("gravity_12", "specific gravity at 12 % MC", ""),
    ("shrink_radial", "shrinkage across, radial", "%"),
    ("shrink_tangential", "shrinkage across, tangential", "%"),
    ("shrink_volumetric", "shrinkage of the volume", "%"),
    ("coefficient_radial", "change per % MC, radial", ""),
    ("coefficient_tangential", "change per % MC, tangential", ""),
)


@click.command(
    "species",
    cls=group.Command,
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
    return (read.species, *rest), f"{read.note}."


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
        head = (
            f"{len(found)} woods: green moisture of heart and sap, %, and specific "
            "gravity (oven-dry on green)"
        )
        return "\n".join(
            [
                wrapped(head),
                "",
                *(
                    f"{species.name[:19]:20}{_cell(species.green_heartwood, 0):>5}"
                    f"{_cell(species.green_sapwood, 0):>5}"
                    f"{_cell(species.basic_gravity, 2):>7}"
                    for species in found
                ),
                "",
                wrapped(f"More and the sources: `emcforecast species {first}`."),
            ]
        )
    lines = [
        f"{len(found)} woods. Moisture and shrinkage in %, gravity oven-dry on green.",
        "",
        f"{'':32}{'green moisture':>16}{'specific':>11}{'shrinkage':>18}",
        f"{'species':32}{'heart':>8}{'sap':>8}{'gravity':>11}{'radial':>8}{'tang.':>10}",
    ]
    lines += [
        f"{species.name[:31]:32}"
        f"{_cell(species.green_heartwood, 0):>8}{_cell(species.green_sapwood, 0):>8}"
        f"{_cell(species.basic_gravity, 2):>11}"
        f"{_cell(species.shrink_radial, 1):>8}{_cell(species.shrink_tangential, 1):>10}"
        for species in found
    ]
    lines += [
        "",
        "Other names are known too: `emcforecast species tulipwood`.",
        f"For sources ask for one: `emcforecast species {first}`.",
    ]
    return "\n".join(lines)


def _one(species: "Species") -> str:
    """Return one wood with its names and the source of every number."""
    from emcforecast.report.weather import figure_source
    from emcforecast.report.words import is_narrow, wrapped
    from emcforecast.wood.species_names import names_of

    others = names_of(species.name)
    latin = f" ({species.scientific})" if species.scientific else ""
    green = species.green_moisture()
    lines = [
        wrapped(f"{species.spoken}{latin}, {species.kind}, {species.region}"),
        wrapped(f"also: {', '.join(others)}") if others else "no other names listed",
        "",
    ]
    codes: list[str] = []
    for name, words, unit in _FIGURES:
        value = getattr(species, name)
        if value is None:
            lines.append(
                wrapped(f"{words}: not published", rest="  ")
                if is_narrow()
                else f"  {words:38}{'not published':>14}"
            )
            continue
        source = species.sources.get(name, "")
        if source not in codes:
            codes.append(source)
        digits = ".2f" if "gravity" in name else "g"
        shown = f"{value:{digits}} {unit}".strip()
        mark = f"[{codes.index(source) + 1}]"
        lines.append(
            wrapped(f"{words}: {shown} {mark}", rest="  ")
            if is_narrow()
            else f"  {words:38}{shown:>14}  {mark}"
        )
    lines += [
        "",
        wrapped(
            f"Taken as green if you give no other: {green.value:.0f} % of oven-dry "
            f"mass ({figure_source(green).partition(';')[0]})."
        ),
        "",
        *(wrapped(f"[{number}] {source}") for number, source in enumerate(codes, 1)),
    ]
    return "\n".join(lines)


def _cell(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{value:.{digits}f}"
