"""What to do about a risk, where the wood lies."""

from emcforecast.language import N_, _
from emcforecast.storage.kinds import KINDS
from emcforecast.wood.risks.rewetting import AIR_DRY
from emcforecast.wood.risks.week import Cause, Level, Risk, RiskWeek

_UNSEALED = N_("coat the ends within hours of sawing")
_ADVICE: dict[Risk, dict[Level, str]] = {
    "surface checks": {
        "moderate": N_("shade the stack and seal the ends"),
        "high": N_("shade it, hang cloth on the windward side and seal the ends"),
        "severe": N_("move it out of sun and wind, or saw this wood in autumn"),
    },
    "end checks": {
        "moderate": _UNSEALED,
        "high": N_("coat the ends within hours of sawing; keep sun and wind off them"),
        "severe": N_(
            "coat the ends within hours of sawing; keep sun and wind off them, and "
            "expect to trim"
        ),
    },
    "honeycomb": {
        "moderate": N_("keep it cooler until the core is below 30 %"),
        "high": N_(
            "keep it cooler until the core is below 30 %; cut one board to look"
        ),
        "severe": N_("take it out of the heat now; cut one board to look inside"),
    },
    "collapse": {
        "moderate": N_("keep it cooler until it is below 50 %"),
        "high": N_("dry it in the cool and shade until it is below 50 %"),
        "severe": N_("take it out of the heat now: sunken faces do not come back"),
    },
    "stain": {
        "moderate": N_("sticker the day it is sawn and keep the sides open"),
        "high": N_("sticker at once, open the stack to the wind, tarp the top only"),
        "severe": N_(
            "saw and sticker the same day, spread the stack, or saw when it is cold"
        ),
    },
    "mould": {
        "moderate": N_("open the sides and lift tarps off the ground"),
        "high": N_(
            "move air through the stack; wear a fitted respirator when brushing it off"
        ),
        "severe": N_(
            "restack with thicker stickers in moving air; wear a fitted respirator"
        ),
    },
    "decay": {
        "moderate": N_("open the stack to the wind; rot stops at 20 %"),
        "high": N_("get it below 20 % soon: wider stickers, a roof, moving air"),
        "severe": N_("open the stack and look for soft or bleached wood"),
    },
    "rain on half-dry wood": {
        "moderate": N_("cover the top with a sloping roof, sides open"),
        "high": N_("roof it now, or move it under one"),
        "severe": N_("move it under a roof; look for checks that open and close"),
    },
    "regain": {
        "moderate": N_(
            "its driest weeks are over here: move it on if it needs to be drier"
        ),
        "high": N_("bring it in, or dead-stack and wrap what is meant to stay dry"),
        "severe": N_("keep the wet out and count its drying from this moisture again"),
    },
}
_CLOSED_ADVICE: dict[Risk, dict[Level, str]] = {
    "surface checks": {
        "moderate": N_("turn heat and fans down and seal the ends"),
        "high": N_(
            "turn heat and fans down, hang cloth over the sides and seal the ends"
        ),
        "severe": N_(
            "take it to a cooler, damper place: green wood begins in open air"
        ),
    },
    "end checks": {
        "moderate": _UNSEALED,
        "high": N_("coat the ends within hours of sawing; keep fans and heat off them"),
        "severe": N_(
            "coat the ends within hours of sawing; keep fans and heat off them, and "
            "expect to trim"
        ),
    },
    "stain": {
        "moderate": N_("sticker the day it is sawn and air the room"),
        "high": N_(
            "sticker at once and move air through the stack, or take it outdoors"
        ),
        "severe": N_(
            "take it out under an open roof: wet wood stains in a closed place"
        ),
    },
    "mould": {
        "moderate": N_("air the room and keep the stack off the walls"),
        "high": N_(
            "run a fan or air the room; wear a fitted respirator when brushing it off"
        ),
        "severe": N_("take it out to moving air; wear a fitted respirator"),
    },
    "decay": {
        "moderate": N_("air the room; rot stops at 20 %"),
        "high": N_("get it below 20 % soon: wider stickers, moving air, drier air"),
        "severe": N_("open the stack and look for soft or bleached wood"),
    },
}
"""Where walls stand about the stack; what is not named is the same there."""
_ROOFED_ADVICE: dict[Risk, dict[Level, str]] = {
    "stain": {
        "high": N_("sticker at once and open the sides to the wind"),
    },
    "mould": {
        "moderate": N_("open the sides to the wind"),
    },
}
"""Under an open roof, which has no tarp."""
_ADVICE_BY_CAUSE = {
    Cause.GREEN_SAPWOOD: N_(
        "take the bark off and dry it fast: they leave drying wood alone"
    ),
    Cause.POWDERPOST: N_(
        "keep old wood and dust away and look for pinholes; 56 °C in the core for 30 "
        "minutes kills them; hot enough is not certified"
    ),
    Cause.DEEP_CHECKS: N_(
        "slow the first weeks; checks that close on the face stay open inside"
    ),
}


def risk_advice(week: RiskWeek) -> str:
    """Say what to do about a risk; "" where nothing needs doing."""
    if not week.calls_for_action:
        return ""
    if week.cause in _ADVICE_BY_CAUSE:
        return _(_ADVICE_BY_CAUSE[week.cause])
    wet = week.measured.mean_mc >= AIR_DRY
    if week.risk == "regain" and week.level == "high" and wet:
        return _("keep the wet off it: roof it, or move it under a roof")
    return _(_for_place(week) or _ADVICE[week.risk][week.level])


def _for_place(week: RiskWeek) -> str | None:
    """Return what the place of the wood calls for instead, where it does."""
    if not week.place or not KINDS[week.place].covered:
        return None
    special = _ROOFED_ADVICE if KINDS[week.place].open_air else _CLOSED_ADVICE
    return special.get(week.risk, {}).get(week.level)
