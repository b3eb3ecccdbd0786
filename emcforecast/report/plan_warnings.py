"""What a plan says before its answer: a start that is forced, and severe risks."""

from datetime import date

from emcforecast.dates import spoken_span
from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.risk_weeks import Danger
from emcforecast.language import N_, _
from emcforecast.report.names import (
    place_title,
    wood_name,
)
from emcforecast.report.plan_words import day_words
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import risk_name
from emcforecast.report.words import in_hundred, listed


def forced_start(found: Plan) -> str:
    """Say first that green wood begins where it should not."""
    if not found.forced_start:
        return ""
    return _(
        "Nothing airier is at hand, so green {wood} begins in the {place}, where it "
        "checks and moulds: put it under a roof in the open first if you can.",
        wood=wood_name(found.board.wood.spoken),
        place=place_title(found.route[0].kind, "in the place"),
    )


def severe_risks(found: Plan) -> list[str]:
    """Say first what is severe on the route, and which way is gentler."""
    if not found.dangers:
        return []
    named = [
        f"{risk_name(danger.risk)} ({spoken_span(*_span(danger))})"
        for danger in found.dangers
    ]
    first = _("Severe risk on this route: {risks}.", risks=listed(named))
    if found.gentler is None:
        advice = risk_advice(found.dangers[0].worst)
        said = _("No way through these places is gentler: {advice}.", advice=advice)
        return [first, said]
    other = found.gentler
    stays = [
        _(
            "the {place} from {date}",
            place=place_title(leg.kind, "the place"),
            date=day_words(leg.start),
        )
        for leg in other.route
    ]
    left = [risk_name(danger.risk) for danger in other.dangers]
    said = _(
        N_("Gentler: {stays}: {share}, with severe {risks} left.")
        if left
        else N_("Gentler: {stays}: {share}."),
        stays=listed(stays, "then"),
        share=in_hundred(other.chance),
        risks=listed(left),
    )
    return [first, said]


def _span(danger: Danger) -> tuple[date, date]:
    first, last = danger.worst_start, danger.worst_last
    return date.fromisoformat(str(first)), date.fromisoformat(str(last))
