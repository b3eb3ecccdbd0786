"""The sentences of `plan`: the answer first, then what it takes."""

from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.plan.success import EVENS, NEARLY
from emcforecast.language import N_, _
from emcforecast.physics.sorption import equilibrium_humidity
from emcforecast.report.names import (
    place_title,
    target_words,
)
from emcforecast.report.plan_unmet import earliest, elsewhere, why_not
from emcforecast.report.plan_warnings import forced_start, severe_risks
from emcforecast.report.plan_words import (
    BEYOND,
    NEAR_IN_TIME,
    chance_words,
    day_words,
    place_of,
)
from emcforecast.report.words import in_hundred, listed

GAIN = 0.05
"""A year more must raise the chance by this to be worth telling as a gain."""


ROOM_C = 20.0
"""A heated room, °C."""


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
    lines = [forced_start(found), *severe_risks(found), ready]
    if found.probability_by_need >= EVENS:
        lines += [_bring_in(found), _ready(found), earliest(found)]
    elif _lost_again(found):
        lines[-1:] = [
            _ready_earlier(found),
            ready,
            why_not(found),
            earliest(found),
        ]
    else:
        lines += [
            why_not(found),
            earliest(found),
            _bring_in(found),
            _ready(found),
        ]
    lines += [
        _too_dry(found),
        elsewhere(found),
        _no_move(found),
        _simpler(found),
        _waiting(found),
        _recent(found),
    ]
    return [line for line in lines if line]


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
