"""The words of a risk: why it is at its level."""

from collections.abc import Callable

from emcforecast.dates import spoken
from emcforecast.language import N_, NP_, _, n_, p_
from emcforecast.report.names import wood_name
from emcforecast.units import format_temperature
from emcforecast.wood.risks.checking import LIMITS, NO_LONGER_BELOW
from emcforecast.wood.risks.mould import HARDLY, MOULD_LIMITS
from emcforecast.wood.risks.rewetting import HALF_DRY
from emcforecast.wood.risks.stain import DECAY_LIMITS, STAIN_LIMITS
from emcforecast.wood.risks.week import Cause, Level, Risk, RiskWeek

NAMES: dict[Risk, str] = {
    "surface checks": NP_("risk", "surface checks"),
    "end checks": NP_("risk", "end checks"),
    "honeycomb": NP_("risk", "honeycomb"),
    "collapse": NP_("risk", "collapse"),
    "stain": NP_("risk", "blue stain"),
    "mould": NP_("risk", "mould"),
    "decay": NP_("risk", "rot"),
    "insects": NP_("risk", "insects"),
    "rain on half-dry wood": NP_("risk", "rain on half-dry wood"),
    "regain": NP_("risk", "moisture taken up again"),
}
"""Words for a risk by its key in JSON."""
_LEVELS: dict[Level, str] = {
    "low": NP_("level", "low"),
    "moderate": NP_("level", "moderate"),
    "high": NP_("level", "high"),
    "severe": NP_("level", "severe"),
    "unknown": NP_("level", "unknown"),
}


def risk_name(risk: Risk) -> str:
    """Name a risk as the trade does: "blue stain"."""
    return p_("risk", NAMES[risk])


def level_name(level: Level) -> str:
    """Say how pressing a risk is: "severe"."""
    return p_("level", _LEVELS[level])


def risk_reason(week: RiskWeek) -> str:
    """Say why a risk is at its level, with the number behind it."""
    return _REASONS[week.risk](week)


def _checks(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.PAST_CHECKING:
        return _("below {mc:g} % most of this risk is past", mc=NO_LONGER_BELOW)
    if week.cause is Cause.DRY_AIR:
        return _(
            "green inside while the air brings the faces to {emc:.1f} % (its EMC), sun "
            "and wind sooner; the mean dries up to {rate:.1f} % MC a day",
            emc=m.air_emc_pct,
            rate=week.measure,
        )
    safe, size = m.safe_rate, m.thickness
    if safe is None or size is None:
        return _("dries up to {rate:.1f} % MC a day", rate=week.measure)
    source = {
        "published": "FOR-128",
        "stand-in": _("FOR-128, a figure for {wood}", wood=wood_name(safe.wood)),
        "density": _(
            "FOR-128, a figure for hardwoods of its density; none is published for it"
        ),
    }[safe.basis]
    said = _(
        _beside(week.measure / safe.rate),
        rate=week.measure,
        share=100.0 * week.measure / safe.rate,
        safe=safe.rate,
        wood=wood_name(m.species),
        thickness=size.nominal or f"{size.actual_mm:.0f} mm",
        source=source,
    )
    if week.level not in ("moderate", "high"):
        return said
    return _(
        "{pace}; a side in sun or wind dries faster than the board's mean", pace=said
    )


def _beside(share: float) -> str:
    """Compare a day's drying with the published rate."""
    if share >= LIMITS[2]:
        return N_(
            "dries up to {rate:.1f} % MC a day, above the {safe:.1f} published as safe "
            "for {wood} {thickness} ({source})"
        )
    if share >= LIMITS[1]:
        return N_(
            "dries up to {rate:.1f} % MC a day, close to the {safe:.1f} published as "
            "safe for {wood} {thickness} ({source})"
        )
    if share >= LIMITS[0]:
        return N_(
            "dries up to {rate:.1f} % MC a day, {share:.0f} % of the {safe:.1f} "
            "published as safe for {wood} {thickness} ({source})"
        )
    return N_(
        "dries up to {rate:.1f} % MC a day, well below the {safe:.1f} published as "
        "safe for {wood} {thickness} ({source})"
    )


def _ends(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.SEALED_ENDS:
        return _("the ends are sealed")
    if week.cause is Cause.NOT_GREEN:
        return _(
            "the core is down to {mc:.0f} %: ends that held will hold", mc=m.core_mc
        )
    if week.cause is Cause.MILD_AIR:
        return _(
            "air with an EMC of {emc:.1f} % is no drier than green ends stand",
            emc=m.air_emc_pct,
        )
    return _(
        "air with an EMC of {emc:.1f} % against a core at {mc:.0f} %: ends dry about "
        "ten times faster than faces",
        emc=m.air_emc_pct,
        mc=m.core_mc,
    )


def _hot(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.HARDLY_COLLAPSES:
        return _(
            "{wood} is not known to collapse in air drying", wood=wood_name(m.species)
        )
    if week.cause is Cause.NOT_GREEN:
        return _("the core is down to {mc:.0f} %, past this risk", mc=m.core_mc)
    if week.cause is Cause.DEEP_CHECKS:
        return _(
            "severe surface checks with the core at {mc:.0f} %: they run deep, then "
            "close on the face",
            mc=m.core_mc,
        )
    limit = _both_degrees(m.heat_limit_c)
    if week.cause is Cause.MILD_AIR:
        return _(
            "the core is at {mc:.0f} %, but it stays below {temperature}",
            mc=m.core_mc,
            temperature=limit,
        )
    return _(
        "{hours:.0f} hours of the week above {temperature} with the core at {mc:.0f} %",
        hours=week.measure,
        temperature=limit,
        mc=m.core_mc,
    )


def _both_degrees(temperature_c: float) -> str:
    """Say a temperature in both units: "20 °C (68 °F)"."""
    return (
        f"{format_temperature(temperature_c)} "
        f"({format_temperature(temperature_c, 'us')})"
    )


def _stain(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.TOO_DRY:
        return _("at {mc:.0f} % the wood is too dry for blue stain", mc=m.mean_mc)
    if week.cause is Cause.DRY_SHELL:
        return _(
            "the outside is down to {mc:.0f} %, too dry for blue stain", mc=m.shell_mc
        )
    air = _(
        "{temperature} and {rh:.0f} % RH",
        temperature=_both_degrees(m.air_temperature_c),
        rh=m.air_rh_pct,
    )
    if week.cause is Cause.ADVERSE_AIR:
        return _("wet, but the air is too cold or dry for blue stain: {air}", air=air)
    return _(
        "outside at {mc:.0f} %, air at {air}: this week's growth is that of "
        "{days:.1f} days of ideal weather; blue stain shows from about {shows:.0f}, in "
        "sapwood only",
        mc=m.shell_mc,
        air=air,
        days=week.measure,
        shows=STAIN_LIMITS[2],
    )


def _mould(week: RiskWeek) -> str:
    m, highest = week.measured, week.measure
    air = _(
        "the air at the surface is at {rh:.0f} % RH on average", rh=m.surface_rh_pct
    )
    if week.cause is Cause.NO_GROWTH:
        shown = highest >= MOULD_LIMITS[0]
        return _(
            N_("none or hardly any grows: {air}; what grew before may still show")
            if shown
            else N_("none or hardly any grows: {air}"),
            air=air,
        )
    if highest < MOULD_LIMITS[0]:
        return _(
            "mould index up to {index:.1f} of 6 (none yet); {air}",
            index=highest,
            air=air,
        )
    stage = (
        _("beginning, under the microscope")
        if highest < MOULD_LIMITS[1]
        else _("seen by eye from 3")
    )
    falling = m.index_at_end < highest - HARDLY
    return _(
        N_("mould index up to {index:.1f} of 6 ({stage}) and falling; {air}")
        if falling
        else N_(
            "mould index up to {index:.1f} of 6 ({stage}) and holding or rising; {air}"
        ),
        index=highest,
        stage=stage,
        air=air,
    )


def _decay(week: RiskWeek) -> str:
    m = week.measured
    if week.cause is Cause.TOO_DRY:
        return _("at {mc:.0f} % inside it is too dry for rot", mc=m.core_mc)
    if week.cause is Cause.DRY_SHELL:
        return _(
            "{core:.0f} % inside, but a dry outside ({shell:.0f} %) keeps it out",
            core=m.core_mc,
            shell=m.shell_mc,
        )
    return _(
        "{mc:.0f} % inside, and growth so far is that of {days:.0f} days of ideal "
        "weather; rot shows from about {shows:.0f}, in sapwood first",
        mc=m.core_mc,
        days=week.measure,
        shows=DECAY_LIMITS[0],
    )


def _insects(week: RiskWeek) -> str:
    m = week.measured
    return {
        Cause.TOO_COLD: _("too cold for beetles to fly"),
        Cause.DRY_SHELL: _(
            "the outside, down to {mc:.0f} %, puts beetles off", mc=m.shell_mc
        ),
        Cause.GREEN_SAPWOOD: _(
            "warm, and green at {mc:.0f} %: bark and ambrosia beetles bore into "
            "sapwood",
            mc=m.mean_mc,
        ),
        Cause.DRYING_SOFTWOOD: _(
            "at {mc:.0f} % few beetles start in drying softwood", mc=m.mean_mc
        ),
        Cause.OUTSIDE_BREEDING_RANGE: _(
            "at {mc:.0f} % powderpost beetles do not breed", mc=m.mean_mc
        ),
        Cause.FINE_PORES: _(
            "{wood} has pores too fine for most powderpost beetles",
            wood=wood_name(m.species),
        ),
        Cause.POWDERPOST: _(
            "warm, and {mc:.0f} % suits powderpost beetles in the sapwood",
            mc=m.mean_mc,
        ),
    }[week.cause]


def _rain(week: RiskWeek) -> str:
    now, count = week.measured.mean_mc, round(week.measure)
    if week.cause is Cause.UNDER_ROOF:
        return _("under a roof")
    if week.cause is Cause.NOT_HALF_DRY:
        return _(
            N_("at {mc:.0f} % it is still wet")
            if now > HALF_DRY[1]
            else N_("at {mc:.0f} % it is past half dry"),
            mc=now,
        )
    if week.cause is Cause.NO_RAIN:
        return _("half dry at {mc:.0f} %, no rain on a dry outside", mc=now)
    return n_(
        "rained on {count} day at {mc:.0f} %, with a dry outside: it swells, then "
        "checks as it dries again",
        "rained on {count} days at {mc:.0f} %, with a dry outside: it swells, then "
        "checks as it dries again",
        count,
        mc=now,
    )


def _regain(week: RiskWeek) -> str:
    m, when = week.measured, week.measured.driest_week
    if week.cause is Cause.NEAR_DRIEST or when is None:
        return _("{mc:.1f} %, at or near its driest so far", mc=m.mean_mc)
    return _(
        "{mc:.1f} %, {above:.1f} above its driest, {driest:.1f} % in the week of "
        "{date}",
        mc=m.mean_mc,
        above=week.measure,
        driest=m.driest_mc,
        date=spoken(when),
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
