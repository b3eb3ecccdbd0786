"""The other ways to ask `meter`: a pair of readings, the oven, a sample board."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from emcforecast.errors import InputError
from emcforecast.language import _

if TYPE_CHECKING:
    from emcforecast.units import UnitSystem


MORE_THAN_RAIN = 0.1
"""A sample board this much heavier than at first, as a share, has not only been rained
on (an assumption)."""


@dataclass(frozen=True)
class Said:
    """What one way of asking answers."""

    result: Mapping[str, Any]
    headline: str
    steps: tuple[str, ...]


def result_of(
    reading: float | None,
    corrected: float | None,
    steps: tuple[str, ...],
    valid: bool,
    verdict: str,
    **more: Any,
) -> dict[str, Any]:
    """Return the stable keys of `meter` in JSON, and more for the case."""
    return {
        "reading": reading,
        "corrected": corrected,
        "steps": list(steps),
        "valid": valid,
        "verdict": verdict,
        **more,
    }


def judge_shell_and_core(options: Mapping[str, Any]) -> Said:
    """Judge a board by its shell and core readings."""
    from emcforecast.report.meter import pair_reason, pair_verdict
    from emcforecast.wood.sample_board import judge_pair

    shell, core = options["shell"], options["core"]
    if shell is None or core is None:
        raise InputError(
            _("a pair needs both --shell and --core. Give the other one too.")
        )
    found = judge_pair(shell, core, _target(options["target"]))
    verdict = pair_verdict(found)
    steps = (
        _(
            "Shell {shell:g} %, core {core:g} %: about {mc:.1f} % on average.",
            shell=shell,
            core=core,
            mc=found.mean,
        ),
        pair_reason(found),
    )
    return Said(
        result_of(
            None,
            found.mean,
            steps,
            True,
            verdict,
            shell=shell,
            core=core,
            ready=found.ready,
        ),
        f"{verdict[:1].upper()}{verdict[1:]}.",
        steps,
    )


def _target(text: str | None) -> tuple[float, float] | None:
    """Read "7:9", "7-9" or "8" (one either side) as a range of % MC."""
    if text is None:
        return None
    parts = text.replace("%", "").replace("-", ":").split(":")
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) == 1:
        numbers = [numbers[0] - 1.0, numbers[0] + 1.0]
    if len(numbers) != 2 or not 0.0 <= numbers[0] <= numbers[1] <= 100.0:
        raise InputError(
            _(
                "target {text!r} cannot be read. Write the lowest and "
                "highest % MC: 7:9.",
                text=text,
            )
        )
    return numbers[0], numbers[1]


def weigh_oven_dry(weights: tuple[str, str]) -> Said:
    """Reckon the moisture of a piece from its weights wet and oven-dry."""
    from emcforecast.wood.sample_board import oven_dry_moisture, wet_basis

    wet, dry = _same_units(weights)
    moisture = oven_dry_moisture(wet, dry)
    steps = (
        _(
            "Wet {wet}, oven-dry {dry}: the water is {mc:.1f} % of the oven-dry mass.",
            wet=weights[0],
            dry=weights[1],
            mc=moisture,
        ),
        _(
            "On the wet basis, of the whole weight, it would be {share:.1f} %: not "
            "what meters and this program mean.",
            share=wet_basis(moisture),
        ),
    )
    return Said(
        result_of(None, moisture, steps, True, _("{mc:.1f} %", mc=moisture)),
        _("The piece held {mc:.1f} % of oven-dry mass.", mc=moisture),
        steps,
    )


def _same_units(weights: tuple[str, str]) -> tuple[float, float]:
    """Read two weights; bare numbers are any one unit, as only their ratio counts."""
    from emcforecast.conversions import measure
    from emcforecast.units import parse_mass

    read = [measure(weight) for weight in weights]
    bare = [one is not None and one[1] == "" for one in read]
    if all(bare):
        first, second = (parse_mass(weight, "si") for weight in weights)
        return first, second
    if any(bare):
        raise InputError(
            _(
                "weights {first!r} and {second!r}: one has a unit and the "
                "other none. Write both the same way: 136g 100g.",
                first=weights[0],
                second=weights[1],
            )
        )
    first, second = (parse_mass(weight, None) for weight in weights)
    return first, second


def weigh_sample_board(
    given: tuple[str, str, str], bare: "UnitSystem | None", system: "UnitSystem"
) -> Said:
    """Work out a sample board: first weight, % MC then, weight now."""
    from emcforecast.units import format_mass, parse_mass
    from emcforecast.wood.sample_board import (
        oven_dry_moisture,
        oven_dry_weight,
        weight_at_moisture,
    )

    first, now = parse_mass(given[0], bare), parse_mass(given[2], bare)
    try:
        start = float(given[1].replace("%", ""))
    except ValueError as error:
        raise InputError(
            _(
                "moisture {given!r} is not a number. Write --sample 4.46lb 62.2 4.14lb",
                given=given[1],
            )
        ) from error
    dry = oven_dry_weight(first, start)
    moisture = oven_dry_moisture(now, dry)
    heavier = now / first - 1.0
    steps: tuple[str, ...] = (
        _(
            "{weight} at {mc:g} % MC would weigh {dry} oven-dry.",
            weight=given[0],
            mc=start,
            dry=format_mass(dry, system),
        ),
        _("Now {weight}: {mc:.1f} % of oven-dry mass.", weight=given[2], mc=moisture),
        _(
            "It will weigh {first} at 20 % and {second} at 15 %.",
            first=format_mass(weight_at_moisture(dry, 20.0), system),
            second=format_mass(weight_at_moisture(dry, 15.0), system),
        ),
    )
    said = _("The sample board is at {mc:.1f} % of oven-dry mass.", mc=moisture)
    if heavier > 0.0:
        steps = (
            _(
                "It is {share:.0f} % heavier than at first. A drying board gets "
                "lighter: rained on, another board, or two numbers changed about?",
                share=100 * heavier,
            ),
            *steps,
        )
    believed = heavier <= MORE_THAN_RAIN
    if not believed:
        said = _(
            "Not to be believed: {now} now against {first} at first would be "
            "{mc:.0f} %. Weigh it again.",
            now=given[2],
            first=given[0],
            mc=moisture,
        )
    return Said(
        result_of(
            None,
            moisture if believed else None,
            steps,
            believed,
            _("{mc:.1f} %", mc=moisture)
            if believed
            else _("not believed: heavier than at first"),
            ovendry_kg=dry,
        ),
        said,
        steps,
    )
