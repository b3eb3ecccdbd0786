"""The words, the rows and the JSON of `movement`."""

from collections.abc import Sequence
from typing import Any

from emcforecast.conversions import mm_to_inches
from emcforecast.language import N_, _, number
from emcforecast.report.names import wood_name
from emcforecast.report.weather import formula_words
from emcforecast.report.words import is_narrow, wrapped
from emcforecast.units import UnitSystem, format_length
from emcforecast.wood.board_moves import BoardMoves
from emcforecast.wood.movement import Grain

GRAIN_WORDS: dict[Grain, str] = {
    "flat": N_("flatsawn"),
    "quarter": N_("quartersawn"),
    "rift": N_("rift-sawn"),
}
SIDES: dict[str, str] = {"width": N_("width"), "thickness": N_("thickness")}


def movement_sentences(found: BoardMoves, system: UnitSystem) -> list[str]:
    """Say how a board moves, how wide to saw it, and what that rests on.

    Parameters
    ----------
    found : BoardMoves
        What was worked out.
    system : {"us", "si"}
        Units of the sizes.

    Returns
    -------
    list of str
        Three whole sentences or pairs of them: the move, the width to saw, the source.
    """
    change, wood, grain = found.change, found.species, found.grain
    width = format_length(found.width_mm, system)
    said = (
        N_(
            "A {wood} board {width} wide does not move from {start:g} to {end:g} % MC: "
            "above about {starts:g} % wood keeps its size."
        )
        if abs(change.change_mm) < 1e-9
        else N_(
            "A {sawn} {wood} board {width} wide shrinks by {change} from {start:g} to "
            "{end:g} % MC."
        )
        if change.change_mm < 0
        else N_(
            "A {sawn} {wood} board {width} wide grows by {change} from {start:g} to "
            "{end:g} % MC."
        )
    )
    sawn = _(GRAIN_WORDS[grain])
    return [
        _(
            said,
            sawn=sawn,
            wood=wood_name(wood.spoken),
            width=width,
            change=change_words(abs(change.change_mm), system),
            start=found.from_mc,
            end=found.to_mc,
            starts=wood.shrinkage_starts,
        ),
        _(
            N_(
                "To end {width} wide at {mc:g} %, saw it {size} green ({sawn} and "
                "{allowance} for planing)."
            )
            if found.allowance_mm
            else N_("To end {width} wide at {mc:g} %, saw it {size} green ({sawn})."),
            width=width,
            mc=found.driest_mc,
            size=change_words(found.saw_green_mm, system),
            sawn=sawn,
            allowance=format_length(found.allowance_mm, system),
        ),
        _(
            "Based on: {formula} (% of oven-dry mass). One board may move a quarter "
            "more or less. Along the grain it hardly moves.",
            formula=formula_words(change),
        ),
    ]


def movement_text(
    found: BoardMoves, sentences: Sequence[str], system: UnitSystem
) -> str:
    """Lay out the whole answer for a person."""
    cells = [(_("sawn"), _("side"), _("size"), _("change"))]
    cells += [
        (
            _(GRAIN_WORDS[row.grain]),
            _(SIDES[row.side]),
            format_length(row.size_mm, system),
            change_words(row.change_mm, system, signed=True),
        )
        for row in found.ways
    ]
    table = [
        f"{sawn:12}{side:10}{change:>16}"
        if is_narrow()
        else f"{sawn:16}{side:12}{size:>12}{change:>18}"
        for sawn, side, size, change in cells
    ]
    first, *others = (wrapped(line) for line in sentences)
    return "\n".join([first, "", *table, "", *others])


def movement_rows(found: BoardMoves) -> list[dict[str, Any]]:
    """Return the change of every grain and side asked for."""
    return [
        {
            "grain": row.grain,
            "side": row.side,
            "size_mm": row.size_mm,
            "change_mm": row.change_mm,
            "change_in": None if row.change_mm is None else mm_to_inches(row.change_mm),
        }
        for row in found.ways
    ]


def movement_result(found: BoardMoves) -> dict[str, Any]:
    """Return the JSON result."""
    change = found.change
    return {
        "change_mm": change.change_mm,
        "change_in": change.change_in,
        "from_mc": found.from_mc,
        "to_mc": found.to_mc,
        "width_mm": found.width_mm,
        "final_mm": change.final_mm,
        "grain": found.grain,
        "species": found.species.name,
        "how": formula_words(change),
        "saw_green_mm": found.saw_green_mm,
        "all_grains": movement_rows(found),
    }


def change_words(
    change_mm: float | None, system: UnitSystem, *, signed: bool = False
) -> str:
    """Return a small size, mm, with the digits a caliper shows."""
    if change_mm is None:
        return _("not published")
    sign = "+" if signed else ""
    if system == "us":
        return f"{number(mm_to_inches(change_mm), f'{sign}.2f')} in"
    return f"{number(change_mm, f'{sign}.1f')} mm"
