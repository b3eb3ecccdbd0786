"""The words of storage places: what stood in for weather, what a logger taught."""

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from emcforecast.language import N_, _, number
from emcforecast.report.names import parameter_meaning
from emcforecast.report.words import is_narrow, wrapped
from emcforecast.storage.calibrate import Calibration
from emcforecast.storage.drivers import Fallback, FallbackKind
from emcforecast.storage.parameters import PARAMETERS
from emcforecast.units import UnitSystem


def fallback_words(fallbacks: Iterable[Fallback]) -> list[str]:
    """Say what stands in for missing weather, a sentence each."""
    return [_fallback(one) for one in fallbacks]


def _fallback(one: Fallback) -> str:
    taken = 0.0 if one.taken is None else one.taken
    said = {
        FallbackKind.PLACE: (
            N_("The place is not known: the sun is taken at {latitude:.0f}° south.")
            if taken < 0.0
            else N_(
                "The place is not known: the sun is taken at {latitude:.0f}° north."
            )
        ),
        FallbackKind.SUN: N_(
            "No sun in the weather: a clear sky's sun is scaled by the daily range of "
            "temperature."
        ),
        FallbackKind.SUN_HOURS: N_(
            "Sun is missing in {hours} hours: there a clear sky's sun is scaled by the "
            "daily range of temperature."
        ),
        FallbackKind.WIND: N_(
            "No wind in the weather: {wind:g} m/s is taken throughout."
        ),
        FallbackKind.WIND_HOURS: N_(
            "Wind is missing in {hours} hours: its mean, {wind:.1f} m/s, is taken "
            "there."
        ),
        FallbackKind.SNOW: N_(
            "No precipitation in the weather: roofs are taken as bare of snow."
        ),
        FallbackKind.RAIN: N_(
            "No rain in the weather: the uncovered stack is worked out as if none fell."
        ),
        FallbackKind.SHORT_SERIES: N_(
            "The series is shorter than a year: ground temperature is the mean of the "
            "past month, and the season is read off it."
        ),
    }[one.kind]
    return _(said, latitude=abs(taken), hours=one.hours, wind=taken)


def calibration_notes(found: Calibration) -> list[str]:
    """Say what to make of a calibration."""
    shift, notes = found.shift, []
    if shift.is_thermal_lag and shift.correlation > shift.unshifted:
        notes.append(
            _(
                "The logger's days come {hours} h late with {swing:.0f} % of the "
                "expected swing: that is a building that stores heat, not a clock.",
                hours=shift.hours,
                swing=100 * shift.swing,
            )
        )
    elif shift.hours != 0 and not math.isnan(shift.correlation):
        notes.append(
            _(
                "The days match best with the logger moved by {hours} h; the clock is "
                "taken as it is.",
                hours=-shift.hours,
            )
        )
    if found.used:
        notes.append(
            _(
                "Tuned to this window only: expect the held-out error at best in other "
                "seasons."
            )
        )
    else:
        notes.append(
            _(
                "No tuning does better than the setting as stated on days it has not "
                "seen: the setting is left as it was."
            )
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
        said = N_(
            "Tuned to {days} days, {start} to {end}: on days it had not seen, the "
            "error in EMC goes from {before:.1f} to {after:.1f} % MC."
        )
    else:
        said = N_(
            "{days} days, {start} to {end}: the setting is left as stated, which no "
            "tuning betters on days it has not seen (error in EMC {before:.1f} % MC)."
        )
    first = _(
        said,
        days=found.days,
        start=found.start,
        end=found.end,
        before=found.held_out_before.rmse_emc,
        after=found.held_out.rmse_emc,
    )
    lines = [wrapped(first)]
    if humidity_offset is not None:
        said = _(
            N_(
                "Salt test: the logger reads {rh:.1f} % RH too high; every reading is "
                "corrected by that."
            )
            if humidity_offset > 0.0
            else N_(
                "Salt test: the logger reads {rh:.1f} % RH too low; every reading is "
                "corrected by that."
            ),
            rh=abs(humidity_offset),
        )
        lines.append(wrapped(said))
    lines.append("")
    for name, value in found.levers.items():
        parameter = PARAMETERS[name]
        low, high = found.setting.likely[name]
        lines += [
            wrapped(
                f"{name:18}{number(value, '8.3g')} {parameter.unit:14} "
                + _(
                    "range {low:.3g} to {high:.3g}, usual {usual:g}",
                    low=low,
                    high=high,
                    usual=stated[name],
                ),
                rest="    ",
            ),
            wrapped(parameter_meaning(parameter.name), first="    ", rest="    "),
        ]
    lines += [
        *([""] if found.levers else []),
        _("error of daily means")
        if is_narrow()
        else _("error of daily means").ljust(26)
        + _("temperature").rjust(12)
        + _("EMC").rjust(10),
    ]
    degree, unit = (1.8, "°F") if system == "us" else (1.0, "°C")
    for label, errors in (
        (N_("as stated"), found.before),
        (N_("tuned"), found.after),
        (N_("as stated, days held out"), found.held_out_before),
        (N_("tuned, days held out"), found.held_out),
    ):
        warmth = f"{number(errors.rmse_t * degree, '.1f')} {unit}"
        emc = number(errors.rmse_emc, ".1f")
        if is_narrow():
            of_both = _("{temperature}, EMC {emc} %", temperature=warmth, emc=emc)
            lines += [_(label), f"  {of_both}"]
            continue
        lines.append(_(label).ljust(26) + f"{warmth:>12}{emc:>8} %")
    if found.used:
        written = output if output is not None else _("FILE (say -o FILE)")
        use = f"--setting {found.setting.name}={written}"
        lines += ["", wrapped(_("Use it: {option}", option=use))]
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
