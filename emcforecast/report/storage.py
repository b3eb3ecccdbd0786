"""The words of storage places: what stood in for weather, what a logger taught."""

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from emcforecast.report.words import is_narrow, wrapped
from emcforecast.storage.calibrate import Calibration
from emcforecast.storage.drivers import Fallback, FallbackKind
from emcforecast.storage.parameters import PARAMETERS
from emcforecast.units import UnitSystem

_SCALED = "sun is scaled by the daily range of temperature."


def fallback_words(fallbacks: Iterable[Fallback]) -> list[str]:
    """Say what stands in for missing weather, a sentence each."""
    return [_fallback(one) for one in fallbacks]


def _fallback(one: Fallback) -> str:
    taken = 0.0 if one.taken is None else one.taken
    return {
        FallbackKind.PLACE: (
            f"The place is not known: the sun is taken at {abs(taken):.0f}° "
            f"{'south' if taken < 0.0 else 'north'}."
        ),
        FallbackKind.SUN: f"No sun in the weather: a clear sky's {_SCALED}",
        FallbackKind.SUN_HOURS: (
            f"Sun is missing in {one.hours} hours: there a clear sky's {_SCALED}"
        ),
        FallbackKind.WIND: (
            f"No wind in the weather: {taken:g} m/s is taken throughout."
        ),
        FallbackKind.WIND_HOURS: (
            f"Wind is missing in {one.hours} hours: its mean, {taken:.1f} m/s, is "
            "taken there."
        ),
        FallbackKind.SNOW: (
            "No precipitation in the weather: roofs are taken as bare of snow."
        ),
        FallbackKind.RAIN: (
            "No rain in the weather: the uncovered stack is worked out as if none fell."
        ),
        FallbackKind.SHORT_SERIES: (
            "The series is shorter than a year: ground temperature is the mean of the "
            "past month, and the season is read off it."
        ),
    }[one.kind]


def calibration_notes(found: Calibration) -> list[str]:
    """Say what to make of a calibration."""
    shift, notes = found.shift, []
    if shift.is_thermal_lag and shift.correlation > shift.unshifted:
        notes.append(
            f"The logger's days come {shift.hours} h late with {100 * shift.swing:.0f} "
            "% of the expected swing: that is a building that stores heat, not a clock."
        )
    elif shift.hours != 0 and not math.isnan(shift.correlation):
        notes.append(
            f"The days match best with the logger moved by {-shift.hours} h; the "
            "clock is taken as it is."
        )
    if found.used:
        notes.append(
            "Tuned to this window only: expect the held-out error at best in other "
            "seasons."
        )
    else:
        notes.append(
            "No tuning does better than the setting as stated on days it has not seen: "
            "the setting is left as it was."
        )
    return notes


def calibration_text(
    found: Calibration,
    output: Path | None,
    system: UnitSystem,
    humidity_offset: float | None = None,
) -> str:
    """Lay out what a logger taught for a person.

    `humidity_offset` is how much too high it read in a salt test, % RH.
    """
    stated = {**found.setting.about.defaults}
    if found.used:
        first = (
            f"Tuned to {found.days} days, {found.start} to {found.end}: on days it "
            f"had not seen, the error in EMC goes from "
            f"{found.held_out_before.rmse_emc:.1f} to {found.held_out.rmse_emc:.1f} "
            f"% MC."
        )
    else:
        first = (
            f"{found.days} days, {found.start} to {found.end}: the setting is left as "
            f"stated, which no tuning betters on days it has not seen (error in EMC "
            f"{found.held_out_before.rmse_emc:.1f} % MC)."
        )
    lines = [wrapped(first)]
    if humidity_offset is not None:
        side = "high" if humidity_offset > 0.0 else "low"
        lines.append(
            wrapped(
                f"Salt test: the logger reads {abs(humidity_offset):.1f} % RH too "
                f"{side}; every reading is corrected by that."
            )
        )
    lines.append("")
    for name, value in found.levers.items():
        parameter = PARAMETERS[name]
        low, high = found.setting.likely[name]
        lines += [
            wrapped(
                f"{name:18}{value:8.3g} {parameter.unit:14} range {low:.3g} to "
                f"{high:.3g}, usual {stated[name]:g}",
                rest="    ",
            ),
            wrapped(parameter.meaning, first="    ", rest="    "),
        ]
    lines += [
        *([""] if found.levers else []),
        "error of daily means"
        if is_narrow()
        else f"{'error of daily means':26}{'temperature':>12}{'EMC':>10}",
    ]
    degree, unit = (1.8, "°F") if system == "us" else (1.0, "°C")
    for label, errors in (
        ("as stated", found.before),
        ("tuned", found.after),
        ("as stated, days held out", found.held_out_before),
        ("tuned, days held out", found.held_out),
    ):
        if is_narrow():
            lines += [
                label,
                f"  {errors.rmse_t * degree:.1f} {unit}, EMC {errors.rmse_emc:.1f} %",
            ]
            continue
        lines.append(
            f"{label:26}{errors.rmse_t * degree:>9.1f} {unit}{errors.rmse_emc:>8.1f} %"
        )
    if found.used:
        written = output if output is not None else "FILE (say -o FILE)"
        lines += ["", wrapped(f"Use it: --setting {found.setting.name}={written}")]
    return "\n".join(line.rstrip() for line in lines)


def calibration_rows(found: Calibration) -> list[dict[str, Any]]:
    """Return the tuned numbers, if any, and the errors with and without them."""
    rows = [
        _row(name, value, PARAMETERS[name].unit, found.setting.likely[name])
        for name, value in found.levers.items()
    ]
    for label, errors in (
        ("as stated", found.before),
        ("tuned", found.after),
        ("as stated, days held out", found.held_out_before),
        ("tuned, days held out", found.held_out),
    ):
        rows += [
            _row(f"error of temperature, {label}", errors.rmse_t, "K"),
            _row(f"error of EMC, {label}", errors.rmse_emc, "% MC"),
        ]
    return rows


def _row(
    what: str,
    value: float,
    unit: str,
    likely: tuple[float | None, float | None] = (None, None),
) -> dict[str, Any]:
    return {
        "what": what,
        "value": value,
        "unit": unit,
        "likely_low": likely[0],
        "likely_high": likely[1],
    }
