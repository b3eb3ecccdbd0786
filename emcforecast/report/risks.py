"""The words of a risk: why it is at its level."""

from collections.abc import Callable

from emcforecast.units import format_temperature
from emcforecast.wood.risks.checking import LIMITS, NO_LONGER_BELOW
from emcforecast.wood.risks.mould import HARDLY, MOULD_LIMITS
from emcforecast.wood.risks.rewetting import HALF_DRY
from emcforecast.wood.risks.stain import DECAY_LIMITS, STAIN_LIMITS
from emcforecast.wood.risks.week import Cause, Risk, RiskWeek


def risk_reason(week: RiskWeek) -> str:
    """Say why a risk is at its level, with the number behind it."""
    return _REASONS[week.risk](week)


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
    if safe is None or size is None:
        return pace
    owner = {
        "published": "",
        "stand-in": f", a figure for {safe.wood}",
        "density": ", a figure for hardwoods of its density; none is published for it",
    }[safe.basis]
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


def _ends(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.SEALED_ENDS:
        return "the ends are sealed"
    if week.cause is Cause.NOT_GREEN:
        return f"the core is down to {m.core_mc:.0f} %: ends that held will hold"
    air = f"air with an EMC of {m.air_emc_pct:.1f} %"
    if week.cause is Cause.MILD_AIR:
        return f"{air} is no drier than green ends stand"
    return (
        f"{air} against a core at {m.core_mc:.0f} %: ends dry about ten times faster "
        "than faces"
    )


def _hot(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.HARDLY_COLLAPSES:
        return f"{m.species} is not known to collapse in air drying"
    if week.cause is Cause.NOT_GREEN:
        return f"the core is down to {m.core_mc:.0f} %, past this risk"
    if week.cause is Cause.DEEP_CHECKS:
        return (
            f"severe surface checks with the core at {m.core_mc:.0f} %: they run deep, "
            "then close on the face"
        )
    limit = (
        f"{format_temperature(m.heat_limit_c)} "
        f"({format_temperature(m.heat_limit_c, 'us')})"
    )
    if week.cause is Cause.MILD_AIR:
        return f"the core is at {m.core_mc:.0f} %, but it stays below {limit}"
    return (
        f"{week.measure:.0f} hours of the week above {limit} with the core at "
        f"{m.core_mc:.0f} %"
    )


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
        old = "; what grew before may still show" if shown else ""
        return f"none or hardly any grows: {air}{old}"
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
    "end checks": _ends,
    "honeycomb": _hot,
    "collapse": _hot,
    "stain": _stain,
    "mould": _mould,
    "decay": _decay,
    "insects": _insects,
    "rain on half-dry wood": _rain,
    "regain": _regain,
}
