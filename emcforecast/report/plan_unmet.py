"""What a plan says of a date that cannot be kept: why, when instead, where else."""

from emcforecast.forecast.plan.result import Earliest, Plan
from emcforecast.forecast.plan.success import EVENS, SURE
from emcforecast.forecast.targets import ranges_of
from emcforecast.language import N_, _
from emcforecast.report.names import (
    place_title,
)
from emcforecast.report.plan_words import NEAR_IN_TIME, day_words
from emcforecast.report.words import listed

SETTLED = 0.5
"""Wood no wetter than this above the settled boards of its place is settled, % MC."""


def why_not(found: Plan) -> str:
    """Say what stands in the way where success is less than even."""
    if found.probability_by_need >= EVENS:
        return ""
    last, high = found.route[-1].kind, found.target.high
    on_it, mean, rest = (
        day_words(found.need),
        found.moisture_by_need,
        found.equilibrium_by_need,
    )
    if found.target.least is not None and mean < found.target.least:
        return _("It is too dry by then: about {mc:.1f} % of oven-dry mass.", mc=mean)
    if mean > rest + SETTLED:
        if mean > high:
            return _(
                "The time is too short: about {mc:.1f} % of oven-dry mass on {date}, "
                "the middle of all runs.",
                mc=mean,
                date=on_it,
            )
    elif mean > high or rest > high:
        return _(
            N_(
                "The place is in the way, not the time: boards settled in the {place} "
                "are at about {mc:.1f} % on {date}, on the very edge."
            )
            if rest <= high + SETTLED
            else N_(
                "The place is in the way, not the time: boards settled in the {place} "
                "are at about {mc:.1f} % on {date}."
            ),
            place=place_title(last, "in the place"),
            mc=rest,
            date=on_it,
        )
    return _(
        "The core is in the way: dry enough on average by then, but not yet even from "
        "shell to core."
    )


def earliest(found: Plan) -> str:
    """Say when it could be ready at the earliest, and how."""
    if found.probability_by_need >= SURE:
        return ""
    sure, even = found.earliest, found.earliest_even
    if sure is None and even is None:
        return _(
            N_(
                "No later day within three years gives an even chance, by any way "
                "through these places: it takes {what}."
            )
            if found.probability_by_need < EVENS
            else N_(
                "No later day within three years gives 90 %, by any way through these "
                "places: it takes {what}."
            ),
            what=_what_it_takes(found),
        )
    said = []
    if even is not None and (
        sure is None or (sure.ready - even.ready).days > NEAR_IN_TIME
    ):
        said.append(
            _(
                "The earliest it could be ready with an even chance is {date}: {how}.",
                date=day_words(even.ready),
                how=_how(found, even),
            )
        )
    if sure is not None:
        what = _(
            N_("The earliest to be 90 % sure is {date}: {how}.")
            if said
            else N_("The earliest it could be ready, 90 % sure, is {date}: {how}."),
            date=day_words(sure.ready),
            how=_how(found, sure),
        )
        said.append(what)
    elif even is not None:
        said.append(_("No day within three years is 90 % sure."))
    return " ".join(said)


def _what_it_takes(found: Plan) -> str:
    """Name what would help: where boards settle too damp, thin ones do as well."""
    if found.equilibrium_by_need > found.target.high:
        return _("another place or another use")
    return _("another place, thinner boards or another use")


def elsewhere(found: Plan) -> str:
    """Point to the published range of another region, where boards settle in it."""
    rest, target = found.equilibrium_by_need, found.target
    said = ranges_of(target.label)
    mine = (target.low, target.high)
    if not said or target.low is None or mine != next(iter(said.values())):
        return ""
    if target.low - SETTLED <= rest <= target.high:
        return ""
    fits = [(name, low, high) for name, (low, high) in said.items() if low and high]
    fits = [one for one in fits if one[1] <= rest <= one[2] and one[1:] != mine]
    if not fits:
        return ""
    fits.sort(key=lambda one: (not one[0].startswith("us"), one[1] + one[2]))
    name, low, high = fits[0]
    others = [
        _("{region} for {low:g} to {high:g} %", region=one[0], low=one[1], high=one[2])
        for one in fits[1:3]
    ]
    return _(
        N_(
            "If that room is where it will live, wood there settles at about "
            "{mc:.1f} %: --region {region} asks for {low:g} to {high:g} % (also "
            "{others}). --old-piece takes what an old piece there reads."
        )
        if others
        else N_(
            "If that room is where it will live, wood there settles at about "
            "{mc:.1f} %: --region {region} asks for {low:g} to {high:g} %. --old-piece "
            "takes what an old piece there reads."
        ),
        mc=rest,
        region=name,
        low=low,
        high=high,
        others=listed(others),
    )


def _how(found: Plan, first: Earliest) -> str:
    last = first.route[-1].kind
    if first.move is None:
        return _("leave it in the {place}", place=place_title(last, "in the place"))
    into, by = place_title(last, "into the place"), day_words(first.move)
    if len(first.route) < 3 and first.route[0].kind == found.route[0].kind:
        return _("move it into the {place} by {date}", place=into, date=by)
    stays = [
        _("the {place}", place=place_title(leg.kind, "the place"))
        for leg in first.route[:-1]
    ]
    return _(
        "move it into the {place} by {date}, out of {places}",
        place=into,
        date=by,
        places=listed(stays, "and then"),
    )
