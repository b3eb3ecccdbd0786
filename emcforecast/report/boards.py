"""The board an answer is about: for JSON, and what weakens an answer about it."""

from typing import Any

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


def board_warnings(board: Board, system: UnitSystem = "si") -> list[str]:
    """Say what makes the pace of a board less certain."""
    lines = []
    if not board.factor.published:
        lines.append(
            f"No drying time is published for {board.species} (its pace: "
            f"{board.factor.how}), so dates may well be out by half again."
        )
    if board.extrapolated:
        lines.append(extrapolated_words(system))
    return lines


def extrapolated_words(system: UnitSystem, boards: str = "these boards") -> str:
    """Say that boards are thicker than those whose drying is published."""
    most = format_length(THICKEST_PUBLISHED_MM - 0.5, system)
    return (
        f"Hardly any drying time is published above {most}: for {boards} dates are "
        "carried over from thinner stock and may well be out by half again."
    )
