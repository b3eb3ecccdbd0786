"""The board an answer is about: for JSON, and what weakens an answer about it."""

from typing import Any

from emcforecast.language import _, p_
from emcforecast.report.names import wood_name
from emcforecast.units import UnitSystem, format_length
from emcforecast.wood.board import THICKEST_PUBLISHED_MM, Board


def board_result(board: Board) -> dict[str, Any]:
    """Return the JSON of a board; sizes in mm, as stated or a typical board's."""
    thickness, width, length = board.sizes_mm
    return {
        "species": board.species,
        "thickness_mm": thickness,
        "width_mm": width,
        "length_mm": length,
        "sealed_ends": board.sealed_ends,
        "extrapolated": board.extrapolated,
    }


def board_words(board: Board, system: UnitSystem) -> str:
    """Name the board: "27 mm (4/4) white oak"."""
    return _(
        "{thickness} {wood}",
        thickness=board.size.label(system),
        wood=wood_name(board.wood.spoken),
    )


def board_warnings(board: Board, system: UnitSystem = "si") -> list[str]:
    """Say what makes the pace of a board less certain."""
    lines = []
    if not board.factor.published:
        lines.append(
            _(
                "No drying time is published for {wood} (its pace: {how}), so dates "
                "may well be out by half again.",
                wood=wood_name(board.wood.spoken),
                how=p_("pace", board.factor.how),
            )
        )
    if board.extrapolated:
        lines.append(extrapolated_words(system))
    return lines


def extrapolated_words(system: UnitSystem, boards: str = "") -> str:
    """Say that boards are thicker than those whose drying is published."""
    return _(
        "Hardly any drying time is published above {most}: for {boards} dates are "
        "carried over from thinner stock and may well be out by half again.",
        most=format_length(THICKEST_PUBLISHED_MM - 0.5, system),
        boards=boards or _("these boards"),
    )
