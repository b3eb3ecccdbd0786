"""What `dry` says of furniture, the core, what to read, the old rule, recent years."""

from emcforecast.dates import month
from emcforecast.forecast.dry_result import Dry
from emcforecast.forecast.plan.success import rain_unknown
from emcforecast.language import N_, NP_, _, p_
from emcforecast.report.dates import span, spoken
from emcforecast.report.names import place_title
from emcforecast.report.words import sentence

TEST_CORE = N_("Test the core, not the face.")


FINISH = N_("Finish it indoors: `emcforecast plan` says when to bring it in.")


_VERDICTS = (
    NP_("year per inch", "far too slow"),
    NP_("year per inch", "too slow"),
    NP_("year per inch", "about right"),
    NP_("year per inch", "too fast"),
    NP_("year per inch", "far too fast"),
    NP_("year per inch", "no guide"),
    NP_("year per inch", "coming to rest"),
)


FURNITURE = 9.0
"""Furniture wants 7 to 9 % (published targets)."""


WORTH_READING = 0.8
"""A reading is worth asking for that leaves this share of the range or less."""


WET_CORE = 3.0
"""Core over mean, % MC, at which the core is worth a warning."""


THICK_MM = 40.0


def drawn_without_rain(answer: Dry) -> bool:
    """Say whether an uncovered stack is worked out as if no rain fell."""
    places = answer.runs.ensemble.air.places
    return any(
        rain_unknown(answer.runs.ensemble.air, places.index(setting))
        for setting, _day in answer.route
    )


def furniture_sentence(answer: Dry) -> str:
    """Say whether furniture moisture is to be had here, and when."""
    rest = answer.equilibrium
    low, middle, high = rest.lowest
    dry_wood = _(
        N_(
            "dry wood there gets down to {mc:.1f} % ({low:.1f} to {high:.1f}), if no "
            "rain falls on it (the weather has no rain)"
        )
        if drawn_without_rain(answer)
        else N_("dry wood there gets down to {mc:.1f} % ({low:.1f} to {high:.1f})"),
        mc=middle,
        low=low,
        high=high,
    )
    said = (
        N_(
            "Furniture (7 to 9 %) is out of reach in the {place}: {dry_wood}, so "
            "finish it indoors."
        )
        if low > FURNITURE
        else N_(
            "Furniture (7 to 9 %) can be had in the {place}: {dry_wood}, mostly in "
            "{month}."
        )
        if high <= FURNITURE
        else N_(
            "Furniture (7 to 9 %) is reached in the {place} in most years: {dry_wood}, "
            "mostly in {month}. Go by a meter, or finish it indoors."
        )
        if middle <= FURNITURE
        else N_(
            "Furniture (7 to 9 %) is reached in the {place} only in the driest: "
            "{dry_wood}, mostly in {month}. Go by a meter, or finish it indoors."
        )
    )
    lines = [
        _(
            said,
            place=place_title(answer.route[-1][0].kind, "in the place"),
            dry_wood=dry_wood,
            month=month(rest.month),
        )
    ]
    if high <= FURNITURE < rest.high:
        lines.append(
            _(
                "It is back at {mc:.1f} % in the damp season, so take it from there "
                "in time.",
                mc=rest.high,
            )
        )
    return " ".join(lines)


def reading_sentence(answer: Dry) -> str:
    """Say which reading would narrow the date, where one is worth it."""
    one = answer.settling
    if one is None:
        return ""
    target, within = answer.target.mc, span(one.range_now)
    if one.range_then > WORTH_READING * one.range_now:
        return _(
            "The date of {mc:g} % is known only to within {span}; no single reading "
            "narrows that much: read it every month.",
            mc=target,
            span=within,
        )
    head = _(
        "The date of {mc:g} % is known only to within {span}.", mc=target, span=within
    )
    read = _(
        N_(
            "Read the core about {date}, {mc:.0f} % is expected: it narrows that to "
            "{span}."
        )
        if one.part == "core"
        else N_(
            "Read the average (pins a quarter deep) about {date}, {mc:.0f} % is "
            "expected: it narrows that to {span}."
        ),
        date=spoken(one.day),
        mc=one.expected,
        span=span(one.range_then),
    )
    return f"{head} {read}"


def core_sentence(answer: Dry) -> str:
    """Say where the core lags so far that a face tells nothing."""
    said = []
    for step in (*answer.steps, answer.target):
        if step.shell is None or step.core is None or step.mc > 20.0:
            continue
        if step.core - step.mc >= WET_CORE or answer.board.thickness_mm >= THICK_MM:
            said.append(
                _(
                    "at {mc:g} % on average the shell is at {shell:.0f} and the core "
                    "still at {core:.0f} %",
                    mc=step.mc,
                    shell=step.shell,
                    core=step.core,
                )
            )
    if not said:
        return ""
    return sentence("; ".join(dict.fromkeys(said)))


def rule_sentence(answer: Dry) -> str:
    """Say how a year an inch fares here."""
    rule = answer.rule
    if rule is None:
        return ""
    date, against = spoken(rule.date), rule.against
    if against in _VERDICTS:
        against = p_("year per inch", against)
    verdict = p_("year per inch", rule.verdict)
    if rule.days_over is None:
        return _(
            '"A year per inch" would say {date}: {verdict} here, as it never reaches '
            "{mc}.",
            date=date,
            verdict=verdict,
            mc=against,
        )
    if rule.verdict == "about right":
        return _(
            '"A year per inch" would say {date}: {verdict} here for {mc}.',
            date=date,
            verdict=verdict,
            mc=against,
        )
    return _(
        N_(
            '"A year per inch" would say {date}: {verdict} here, {span} too long for '
            "{mc}."
        )
        if rule.days_over > 0
        else N_(
            '"A year per inch" would say {date}: {verdict} here, {span} too short for '
            "{mc}."
        ),
        date=date,
        verdict=verdict,
        span=span(rule.days_over),
        mc=against,
    )


def recent_sentence(answer: Dry) -> str:
    """Say what the recent years alone would give, where they differ."""
    recent = answer.recent
    if recent is None:
        return ""
    said = _(
        N_(
            "The years {first} to {last} alone are drier: dry wood gets down to "
            "{recent:.1f} % in them, {all:.1f} % in all"
        )
        if recent.floor < answer.floor
        else N_(
            "The years {first} to {last} alone are damper: dry wood gets down to "
            "{recent:.1f} % in them, {all:.1f} % in all"
        ),
        first=recent.years[0],
        last=recent.years[-1],
        recent=recent.floor,
        all=answer.floor,
    )
    if recent.target.p50 is None:
        return sentence(said)
    return _(
        "{recent_years}; {mc:g} % by {date}.",
        recent_years=said,
        mc=recent.target.mc,
        date=spoken(recent.target.p50),
    )
