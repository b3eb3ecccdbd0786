"""The words of a risk: why it is at its level, and what to do about it."""

from collections.abc import Callable

from emcforecast.units import format_temperature
from emcforecast.wood.risks.checking import LIMITS, NO_LONGER_BELOW
from emcforecast.wood.risks.mould import HARDLY, MOULD_LIMITS
from emcforecast.wood.risks.rewetting import AIR_DRY, HALF_DRY
from emcforecast.wood.risks.stain import DECAY_LIMITS, STAIN_LIMITS
from emcforecast.wood.risks.week import Cause, Level, Risk, RiskWeek

_ADVICE: dict[Risk, dict[Level, str]] = {
    "surface checks": {
        "unknown": "look at the faces and ends, and shade the stack if checks start",
        "moderate": "shade the stack and seal the ends",
        "high": "shade it, hang cloth on the windward side and seal the ends",
        "severe": "move it out of sun and wind, or saw this wood in autumn",
    },
    "stain": {
        "moderate": "sticker the day it is sawn and keep the sides open",
        "high": "sticker at once, open the stack to the wind, tarp the top only",
        "severe": (
            "saw and sticker the same day, spread the stack, or saw when it is cold"
        ),
    },
    "mould": {
        "moderate": "open the sides and lift tarps off the ground",
        "high": (
            "move air through the stack; wear a fitted respirator when brushing it off"
        ),
        "severe": (
            "restack with thicker stickers in moving air; wear a fitted respirator"
        ),
    },
    "decay": {
        "moderate": "open the stack to the wind; decay stops at 20 %",
        "high": "get it below 20 % soon: wider stickers, a roof, moving air",
        "severe": "open the stack and look for soft or bleached wood",
    },
    "rain on half-dry wood": {
        "moderate": "cover the top with a sloping roof, sides open",
        "high": "roof it now, or move it under one",
        "severe": "move it under a roof; look for checks that open and close",
    },
    "regain": {
        "moderate": (
            "its driest weeks are over here: move it on if it needs to be drier"
        ),
        "high": "bring it in, or dead-stack and wrap what is meant to stay dry",
        "severe": "keep the wet out and count its drying from this moisture again",
    },
}
_ADVICE_BY_CAUSE = {
    Cause.GREEN_SAPWOOD: (
        "take the bark off and dry it fast: they leave drying wood alone"
    ),
    Cause.POWDERPOST: (
        "keep old wood and dust away and look for pinholes; 56 °C in the core for 30 "
        "minutes kills them; hot enough is not certified"
    ),
}


def risk_reason(week: RiskWeek) -> str:
    """Say why a risk is at its level, with the number behind it."""
    return _REASONS[week.risk](week)


def risk_advice(week: RiskWeek) -> str:
    """Say what to do about a risk; "" where nothing needs doing."""
    if not week.calls_for_action:
        return ""
    if week.cause in _ADVICE_BY_CAUSE:
        return _ADVICE_BY_CAUSE[week.cause]
    wet = week.measured.mean_mc >= AIR_DRY
    if week.risk == "regain" and week.level == "high" and wet:
        return "keep the wet off it: roof it, or move it under a roof"
    return _ADVICE[week.risk][week.level]


def _checks(week: RiskWeek) -> str:
    m = week.measured
    pace = f"dries up to {week.measure:.1f} % MC a day"
    if week.cause is Cause.PAST_CHECKING:
        return f"below {NO_LONGER_BELOW:g} % most of this risk is past"
    if week.cause is Cause.DRY_AIR:
        return (
            f"green inside while the air brings the faces to {m.air_emc_pct:.1f} % "
            f"(its EMC), sun and wind sooner; the mean {pace}"
        )
    safe, size = m.safe_rate, m.thickness
    if safe is None or safe.rate is None or size is None:
        return f"{pace}; no safe rate is published for {m.species}"
    owner = "" if safe.basis == "published" else f", a figure for {safe.wood}"
    tail = (
        "; a side in sun or wind dries faster than the board's mean"
        if week.level in ("moderate", "high")
        else ""
    )
    return (
        f"{pace}, {_beside(week.measure / safe.rate)} the {safe.rate:.1f} published as "
        f"safe for {m.species} {size.nominal or f'{size.actual_mm:.0f} mm'} (FOR-128"
        f"{owner}){tail}"
    )


def _beside(share: float) -> str:
    """Compare a day's drying with the published rate."""
    if share >= LIMITS[2]:
        return "above"
    if share >= LIMITS[1]:
        return "close to"
    if share >= LIMITS[0]:
        return f"{100.0 * share:.0f} % of"
    return "well below"


def _stain(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.TOO_DRY:
        return f"at {m.mean_mc:.0f} % the wood is too dry for stain"
    if week.cause is Cause.DRY_SHELL:
        return f"the outside is down to {m.shell_mc:.0f} %, too dry for stain to enter"
    t = m.air_temperature_c
    warmth = f"{format_temperature(t)} ({format_temperature(t, 'us')})"
    air = f"{warmth} and {m.air_rh_pct:.0f} % RH"
    if week.cause is Cause.ADVERSE_AIR:
        return f"wet, but the air is too cold or dry for stain: {air}"
    return (
        f"outside at {m.shell_mc:.0f} %, air at {air}: this week's growth is "
        f"that of {week.measure:.1f} days of ideal weather; stain shows from "
        f"about {STAIN_LIMITS[2]:.0f}, in sapwood only"
    )


def _mould(week: RiskWeek) -> str:
    m, highest = week.measured, week.measure
    air = f"the air at the surface is at {m.surface_rh_pct:.0f} % RH on average"
    if week.cause is Cause.NO_GROWTH:
        shown = highest >= MOULD_LIMITS[0]
        return f"none grows: {air}" + ("; what grew before may still show" * shown)
    if highest < MOULD_LIMITS[0]:
        return f"mould index up to {highest:.1f} of 6 (none yet); {air}"
    stage = (
        "beginning, under the microscope"
        if highest < MOULD_LIMITS[1]
        else "seen by eye from 3"
    )
    falling = m.index_at_end < highest - HARDLY
    trend = "and falling" if falling else "and holding or rising"
    return f"mould index up to {highest:.1f} of 6 ({stage}) {trend}; {air}"


def _decay(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.TOO_DRY:
        return f"at {m.core_mc:.0f} % inside it is too dry for decay"
    if week.cause is Cause.DRY_SHELL:
        return (
            f"{m.core_mc:.0f} % inside, but a dry outside ({m.shell_mc:.0f} %) keeps "
            "it out"
        )
    return (
        f"{m.core_mc:.0f} % inside, and growth so far is that of "
        f"{week.measure:.0f} days of ideal weather; rot shows from about "
        f"{DECAY_LIMITS[0]:.0f}, in sapwood first"
    )


def _insects(week: RiskWeek) -> str:
    m = week.measured
    return {
        Cause.TOO_COLD: "too cold for beetles to fly",
        Cause.DRY_SHELL: f"the outside, down to {m.shell_mc:.0f} %, puts beetles off",
        Cause.GREEN_SAPWOOD: (
            f"warm, and green at {m.mean_mc:.0f} %: bark and ambrosia beetles bore "
            "into sapwood"
        ),
        Cause.DRYING_SOFTWOOD: (
            f"at {m.mean_mc:.0f} % few beetles start in drying softwood"
        ),
        Cause.OUTSIDE_BREEDING_RANGE: (
            f"at {m.mean_mc:.0f} % powderpost beetles do not breed"
        ),
        Cause.FINE_PORES: (
            f"{m.species} has pores too fine for most powderpost beetles"
        ),
        Cause.POWDERPOST: (
            f"warm, and {m.mean_mc:.0f} % suits powderpost beetles in the sapwood"
        ),
    }[week.cause]


def _rain(week: RiskWeek) -> str:
    now, count = week.measured.mean_mc, round(week.measure)
    if week.cause is Cause.UNDER_ROOF:
        return "under a roof"
    if week.cause is Cause.NOT_HALF_DRY:
        state = "still wet" if now > HALF_DRY[1] else "past half dry"
        return f"at {now:.0f} % it is {state}"
    if week.cause is Cause.NO_RAIN:
        return f"half dry at {now:.0f} %, no rain on a dry outside"
    return (
        f"rained on {count} {'day' if count == 1 else 'days'} at {now:.0f} %, with a "
        f"dry outside: it swells, then checks as it dries again"
    )


def _regain(week: RiskWeek) -> str:
    m, when = week.measured, week.measured.driest_week
    if week.cause is Cause.NEAR_DRIEST or when is None:
        return f"{m.mean_mc:.1f} %, at or near its driest so far"
    return (
        f"{m.mean_mc:.1f} %, {week.measure:.1f} above its driest, {m.driest_mc:.1f} % "
        f"in the week of {when.day} {when:%B %Y}"
    )


_REASONS: dict[Risk, Callable[[RiskWeek], str]] = {
    "surface checks": _checks,
    "stain": _stain,
    "mould": _mould,
    "decay": _decay,
    "insects": _insects,
    "rain on half-dry wood": _rain,
    "regain": _regain,
}
