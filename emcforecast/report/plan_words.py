"""The sentences of `plan`: the answer first, then what it takes."""

from datetime import date

from emcforecast.dates import spoken, spoken_span
from emcforecast.forecast.plan.result import Drawback, Earliest, Leg, Plan
from emcforecast.forecast.plan.success import EVENS, NEARLY, SURE
from emcforecast.forecast.risk_weeks import Danger
from emcforecast.forecast.targets import ranges_of
from emcforecast.language import N_, _
from emcforecast.physics.sorption import equilibrium_humidity
from emcforecast.report.names import (
    Form,
    place_title,
    target_numbers,
    target_words,
    wood_name,
)
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import risk_name
from emcforecast.report.words import in_hundred, listed

PROBABLE, IMPROBABLE = 0.75, 0.25
CERTAIN, HARDLY = 0.95, 0.05
GAIN = 0.05
"""A year more must raise the chance by this to be worth telling as a gain."""
SETTLED = 0.5
"""Wood no wetter than this above the settled boards of its place is settled, % MC."""
ROOM_C = 20.0
"""A heated room, °C."""
NEAR_IN_TIME = 7
"""Days by which two dates must differ to be said apart."""


def day_words(day: date | None, missing: str = N_("not reached")) -> str:
    """Return a date as people say it: "12 October 2026"."""
    return _(missing) if day is None else spoken(day)


BEYOND = N_("not within the time looked at")


def chance_words(chance: float) -> str:
    """Return a chance in words and in hundreds.

    Examples
    --------
    >>> chance_words(0.88)
    'probably, 88 in 100'
    """
    steps = (
        (CERTAIN, N_("almost surely, {share}")),
        (PROBABLE, N_("probably, {share}")),
        (EVENS, N_("an even chance or better, {share}")),
    )
    words = next((words for least, words in steps if chance >= least), "")
    words = words or (
        N_("almost surely not, {share}")
        if chance <= HARDLY
        else N_("probably not, {share}")
        if chance <= IMPROBABLE
        else N_("uncertain, {share}")
    )
    return _(words, share=in_hundred(chance))


def place_of(found: Plan, name: str, form: Form = "place") -> str:
    """Name one of the places of a plan by its kind."""
    kinds = {setting.name: setting.kind for setting in found.air.places}
    return place_title(kinds[name], form)


def drawback_words(found: Plan, name: str) -> str | None:
    """Say what speaks against leaving the wood in one place, or None."""
    drawback = found.drawbacks.get(name)
    if drawback is None:
        return None
    if drawback is Drawback.RAIN_UNKNOWN:
        return _("as if no rain fell: the weather has none")
    return _(
        "green wood straight into the {place} checks and moulds",
        place=place_of(found, name, "into the place"),
    )


def leg_words(found: Plan, leg: Leg) -> str:
    """Say what a stay of a route leads to."""
    if leg.moisture_at_end is None:
        return _("to the target, {moisture}", moisture=target_numbers(found.target))
    return _("then about {mc:.0f} % on average", mc=leg.moisture_at_end)


def plan_sentences(found: Plan) -> list[str]:
    """Say whether it will be ready, by when to bring it in, and what waiting gains.

    Parameters
    ----------
    found : Plan
        What `plan` found.

    Returns
    -------
    list of str
        Whole sentences, the answer first.
    """
    ready = _(
        "Ready for {use} by {date}: {chance}.",
        use=target_words(found.target),
        date=day_words(found.need),
        chance=chance_words(found.probability_by_need),
    )
    lines = [_forced_start(found), *_severe(found), ready]
    if found.probability_by_need >= EVENS:
        lines += [_bring_in(found), _ready(found), _earliest(found)]
    elif _lost_again(found):
        lines[-1:] = [_ready_earlier(found), ready, _why_not(found), _earliest(found)]
    else:
        lines += [_why_not(found), _earliest(found), _bring_in(found), _ready(found)]
    lines += [
        _too_dry(found),
        _elsewhere(found),
        _no_move(found),
        _simpler(found),
        _waiting(found),
        _recent(found),
    ]
    return [line for line in lines if line]


def _forced_start(found: Plan) -> str:
    """Say first that green wood begins where it should not."""
    if not found.forced_start:
        return ""
    return _(
        "Nothing airier is at hand, so green {wood} begins in the {place}, where it "
        "checks and moulds: put it under a roof in the open first if you can.",
        wood=wood_name(found.board.wood.spoken),
        place=place_title(found.route[0].kind, "in the place"),
    )


def _severe(found: Plan) -> list[str]:
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
    first, last = danger.worst_start, danger.worst_end - 1
    return date.fromisoformat(str(first)), date.fromisoformat(str(last))


def _lost_again(found: Plan) -> bool:
    """Whether most runs are ready earlier, and no longer when it is needed."""
    return found.ready_earlier >= EVENS and found.ready.p50 is not None


def _ready_earlier(found: Plan) -> str:
    """Say what to do with wood that is ready earlier but not on the need date."""
    first, last = found.ready, found.route[-1]
    said = _(
        "It is ready earlier, about {date}, then takes moisture up again before "
        "{need}.",
        date=day_words(first.p50),
        need=day_words(found.need),
    )
    moves = len(found.route) > 1
    how = _(
        N_(
            "Move it into the {place} on {date}, and use it or wrap it tight when it "
            "is ready (early {early}, late {late})."
        )
        if moves
        else N_(
            "Leave it in the {place}, and use it or wrap it tight when it is ready "
            "(early {early}, late {late})."
        ),
        place=place_title(last.kind, "into the place" if moves else "in the place"),
        date=day_words(last.start),
        early=day_words(first.p10),
        late=day_words(first.p90, BEYOND),
    )
    return f"{said} {how}"


def _why_not(found: Plan) -> str:
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


def _too_dry(found: Plan) -> str:
    """Say that boards left in the last place get too dry, and what room would fit."""
    low, high = found.target.low, found.target.high
    if not found.too_dry or low is None:
        return ""
    damp, wet = (float(equilibrium_humidity(ROOM_C, mc)) for mc in (low, high))
    return _(
        "Do not leave it in the {place}: boards there settle at about {mc:.1f} %, too "
        "dry for {use}. A room at {room:g} °C and {low:.0f} to {high:.0f} % RH fits.",
        place=place_title(found.route[-1].kind, "in the place"),
        mc=found.equilibrium_by_need,
        use=target_words(found.target),
        room=ROOM_C,
        low=damp,
        high=wet,
    )


def _bring_in(found: Plan) -> str:
    if len(found.route) < 2:
        return ""
    last = found.route[-1]
    into, by = place_title(last.kind, "into the place"), found.bring_in_by
    even, surest = found.bring_in_even, day_words(last.start)
    chance = in_hundred(found.probability_by_need)
    if by is not None:
        line = _(
            N_(
                "Move it into the {place} by {date} to be 90 % sure, by {even} for an "
                "even chance."
            )
            if even and even != by
            else N_("Move it into the {place} by {date} to be 90 % sure."),
            place=into,
            date=day_words(by),
            even=day_words(even),
        )
        if abs((by - last.start).days) > NEAR_IN_TIME:
            best = _(
                "The chance is best, {share}, up to {date}.", share=chance, date=surest
            )
            line = f"{line} {best}"
        return line
    if even is not None:
        line = _(
            "No date makes it 90 % sure. The best is into the {place} on {date}: "
            "{share}; by {even} it is an even chance.",
            place=into,
            date=surest,
            share=chance,
            even=day_words(even),
        )
        until = found.little_lost_until
        if until is not None and (until - last.start).days > NEAR_IN_TIME:
            cost = _("Up to {date} that costs at most 5 in 100.", date=day_words(until))
            line = f"{line} {cost}"
        return line
    return _(
        N_(
            "No date of moving it gives an even chance; the best is into the {place} "
            "on {date}."
        )
        if found.probability_by_need > NEARLY
        else N_("What comes nearest by then is to move it into the {place} on {date}."),
        place=into,
        date=surest,
    )


def _ready(found: Plan) -> str:
    """Say when it is ready after the move that counts, and if that is lost again."""
    latest = found.latest
    ready = found.ready if latest is None else latest.ready
    days = (found.acclimate_days if latest is None else latest.acclimate_days)[0]
    if ready.p50 is None:
        return ""
    if days == 0:
        return _("When it comes in it is mostly ready already.")
    said = (
        N_("It is first ready about {date} (early {early}, late {late}).")
        if len(found.route) < 2
        else N_(
            "Moved in then it is first ready about {date} (early {early}, late {late})."
        )
        if days is None
        else N_(
            "Moved in then it is first ready about {days:.0f} days later, about {date} "
            "(early {early}, late {late})."
        )
    )
    line = _(
        said,
        days=days,
        date=day_words(ready.p50),
        early=day_words(ready.p10),
        late=day_words(ready.p90, BEYOND),
    )
    loosely = _("Below 20 % little is validated in public: allow twice as long.")
    return f"{line} {loosely}"


def _earliest(found: Plan) -> str:
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


def _elsewhere(found: Plan) -> str:
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


def _no_move(found: Plan) -> str:
    """Name a place that does nearly as well with no move at all."""
    near = [
        (chance, name)
        for name, chance in found.feasible.items()
        if name not in found.drawbacks and chance >= found.probability_by_need - GAIN
    ]
    if len(found.route) < 2 or not near or found.probability_by_need < EVENS:
        return ""
    chance, name = max(near)
    return _(
        "Leaving it in the {place} is nearly as sure: {share}.",
        place=place_of(found, name, "in the place"),
        share=in_hundred(chance),
    )


def _simpler(found: Plan) -> str:
    """Say what fewer moves would cost."""
    if found.probability_by_need < EVENS:
        return ""
    ways = [
        f"{_stays(found, names)}: {in_hundred(chance)}"
        for names, chance in found.simpler.items()
        if len(names) > 1
    ]
    return _("With one move fewer, {ways}.", ways="; ".join(ways)) if ways else ""


def _stays(found: Plan, names: tuple[str, ...]) -> str:
    """Name places one after the other."""
    return listed(
        [_("the {place}", place=place_of(found, name, "the place")) for name in names],
        "then",
    )


def _waiting(found: Plan) -> str:
    gain = found.another_year - found.probability_by_need
    if gain > GAIN:
        return _(
            "If it could wait a year longer: {chance} instead.",
            chance=chance_words(found.another_year),
        )
    if found.probability_by_need >= EVENS:
        return _("Waiting another year gains nothing here.")
    return _("Waiting a year for the same date is no better.")


def _recent(found: Plan) -> str:
    """Say what the last years alone give, where they differ from all."""
    late = found.recent
    if late is None:
        return ""
    return _(
        N_(
            "In the last {years} years of the record alone, {first} to {last}, it is "
            "{share}: dry wood is {mc:.1f} % MC damper there than over all years."
        )
        if late.change > 0
        else N_(
            "In the last {years} years of the record alone, {first} to {last}, it is "
            "{share}: dry wood is {mc:.1f} % MC drier there than over all years."
        ),
        years=len(late.years),
        first=late.years[0],
        last=late.years[-1],
        share=in_hundred(late.chance),
        mc=abs(late.change),
    )
