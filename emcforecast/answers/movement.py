"""How much a board moves with its moisture."""

from collections.abc import Mapping
from typing import Any

from emcforecast.answers.answered import Answered
from emcforecast.report.answer import Answer
from emcforecast.report.movement import (
    movement_result,
    movement_rows,
    movement_sentences,
    movement_text,
)
from emcforecast.report.names import name_note
from emcforecast.units import UnitSystem
from emcforecast.wood.board_moves import BoardMoves, board_moves
from emcforecast.wood.movement import Grain
from emcforecast.wood.species import Found


def movement_answer(
    wood: Found,
    width_mm: float,
    from_mc: float = 14.0,
    to_mc: float = 8.0,
    *,
    grain: Grain = "flat",
    thickness_mm: float | None = None,
    allowance_mm: float = 0.0,
    system: UnitSystem = "si",
    inputs: Mapping[str, Any] | None = None,
) -> Answered[BoardMoves]:
    """Answer how much a board grows or shrinks across the grain.

    Parameters
    ----------
    wood : Found
        The species, with the note on how its name was read.
    width_mm : float
        Width before, mm.
    from_mc, to_mc : float
        Moisture content before and after, % of oven-dry mass.
    grain : {"flat", "quarter", "rift"}
        How the board is sawn.
    thickness_mm : float, optional
        Thickness before, mm, to be told too.
    allowance_mm : float
        What planing and edging take off, mm.
    system : {"us", "si"}
        Units of the words.
    inputs : mapping
        What was asked, as typed.

    Raises
    ------
    InputError
        When a number is out of range or the shrinkage is not published.
    """
    found = board_moves(
        wood.species,
        width_mm,
        from_mc,
        to_mc,
        grain=grain,
        thickness_mm=thickness_mm,
        allowance_mm=allowance_mm,
    )
    return movement_answered(found, system=system, note=name_note(wood), inputs=inputs)


def movement_answered(
    found: BoardMoves,
    *,
    system: UnitSystem = "si",
    note: str = "",
    inputs: Mapping[str, Any] | None = None,
) -> Answered[BoardMoves]:
    """Say how a board moves, in one system of units; parameters as above."""
    sentences = movement_sentences(found, system)
    return Answered(
        Answer(
            "movement",
            inputs or {},
            movement_result(found),
            movement_text(found, sentences, system),
            movement_rows(found),
            warnings=(note,) if note else (),
        ),
        found,
        tuple(sentences),
        say=lambda units: movement_answered(
            found, system=units, note=note, inputs=inputs
        ),
    )
