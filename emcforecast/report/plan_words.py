"""The sentences of `plan`: the answer first, then what it takes."""

from datetime import date

from emcforecast.dates import spoken, spoken_span
from emcforecast.forecast.plan.result import Drawback, Earliest, Leg, Plan
from emcforecast.forecast.plan.success import EVENS, NEARLY, SURE
from emcforecast.forecast.risk_weeks import Danger
from emcforecast.forecast.targets import ranges_of
from emcforecast.physics.sorption import equilibrium_humidity
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import risk_name
from emcforecast.report.words import in_hundred, listed
from emcforecast.storage.kinds import KINDS

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


def day_words(day: date | None, missing: str = "not reached") -> str:
    """Return a date as people say it: "12 October 2026"."""
    return missing if day is None else spoken(day)


def chance_words(chance: float) -> str:
    """Return a chance in words and in hundreds.

    Examples
    --------
    >>> chance_words(0.88)
    'probably, 88 in 100'
    """
    steps = (
        (CERTAIN, "almost surely"),
        (PROBABLE, "probably"),
        (EVENS, "an even chance or better"),
    )
    word = next((word for least, word in steps if chance >= least), "")
    word = word or (
        "almost surely not"
        if chance <= HARDLY
        else "probably not"
        if chance <= IMPROBABLE
        else "uncertain"
    )
    return f"{word}, {in_hundred(chance)}"


def place(kind: str) -> str:
    """Name a kind of place with its article."""
    return f"the {KINDS[kind].title}"


def drawback_words(found: Plan, name: str) -> str | None:
    """Say what speaks against leaving the wood in one place, or None."""
    drawback = found.drawbacks.get(name)
    if drawback is None:
        return None
    if drawback is Drawback.RAIN_UNKNOWN:
        return "as if no rain fell: the weather has none"
    return f"green wood straight into the {found.places[name]} checks and moulds"


def leg_words(found: Plan, leg: Leg) -> str:
    """Say what a stay of a route leads to."""
    if leg.moisture_at_end is None:
        return f"to the target, {found.target.numbers}"
    return f"then about {leg.moisture_at_end:.0f} % on average"


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
    ready = (
        f"Ready for {found.target.words} by {day_words(found.need)}: "
        f"{chance_words(found.probability_by_need)}."
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
    return (
        f"Nothing airier is at hand, so green {found.board.species} begins in "
        f"{place(found.route[0].kind)}, where it checks and moulds: put it under a "
        "roof in the open first if you can."
    )


def _severe(found: Plan) -> list[str]:
    """Say first what is severe on the route, and which way is gentler."""
    if not found.dangers:
        return []
    named = [
        f"{risk_name(danger.risk)} ({spoken_span(*_span(danger))})"
        for danger in found.dangers
    ]
    lines = [f"Severe risk on this route: {listed(named)}."]
    if found.gentler is None:
        advice = risk_advice(found.dangers[0].worst)
        return [*lines, f"No way through these places is gentler: {advice}."]
    other = found.gentler
    stays = [f"{place(leg.kind)} from {day_words(leg.start)}" for leg in other.route]
    left = [risk_name(danger.risk) for danger in other.dangers]
    but = f", with severe {listed(left)} left" if left else ""
    share = in_hundred(other.chance)
    return [*lines, f"Gentler: {listed(stays, 'then')}: {share}{but}."]


def _span(danger: Danger) -> tuple[date, date]:
    first, last = danger.worst_start, danger.worst_end - 1
    return date.fromisoformat(str(first)), date.fromisoformat(str(last))


def _lost_again(found: Plan) -> bool:
    """Whether most runs are ready earlier, and no longer when it is needed."""
    return found.ready_earlier >= EVENS and found.ready.p50 is not None


def _ready_earlier(found: Plan) -> str:
    """Say what to do with wood that is ready earlier but not on the need date."""
    first, last = found.ready, found.route[-1]
    how = (
        f"Move it into {place(last.kind)} on {day_words(last.start)}, and use it"
        if len(found.route) > 1
        else f"Leave it in {place(last.kind)}, and use it"
    )
    return (
        f"It is ready earlier, about {day_words(first.p50)}, then takes moisture up "
        f"again before {day_words(found.need)}. {how} or wrap it tight when it is "
        f"ready (early {day_words(first.p10)}, late "
        f"{day_words(first.p90, 'not within the time looked at')})."
    )


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
        return f"It is too dry by then: about {mean:.1f} % of oven-dry mass."
    if mean > rest + SETTLED:
        if mean > high:
            return (
                f"The time is too short: about {mean:.1f} % of oven-dry mass on "
                f"{on_it}, the middle of all runs."
            )
    elif mean > high or rest > high:
        edge = ", on the very edge" if rest <= high + SETTLED else ""
        return (
            "The place is in the way, not the time: boards settled in "
            f"{place(last)} are at about {rest:.1f} % on {on_it}{edge}."
        )
    return (
        "The core is in the way: dry enough on average by then, but not yet even from "
        "shell to core."
    )


def _too_dry(found: Plan) -> str:
    """Say that boards left in the last place get too dry, and what room would fit."""
    low, high = found.target.low, found.target.high
    if not found.too_dry or low is None:
        return ""
    damp, wet = (float(equilibrium_humidity(ROOM_C, mc)) for mc in (low, high))
    return (
        f"Do not leave it in {place(found.route[-1].kind)}: boards there settle at "
        f"about {found.equilibrium_by_need:.1f} %, too dry for {found.target.words}. "
        f"A room at {ROOM_C:g} °C and {damp:.0f} to {wet:.0f} % RH fits."
    )


def _bring_in(found: Plan) -> str:
    if len(found.route) < 2:
        return ""
    last = found.route[-1]
    into, by, even = place(last.kind), found.bring_in_by, found.bring_in_even
    surest = day_words(last.start)
    chance = in_hundred(found.probability_by_need)
    if by is not None:
        also = (
            f", by {day_words(even)} for an even chance" if even and even != by else ""
        )
        line = f"Move it into {into} by {day_words(by)} to be 90 % sure{also}."
        if abs((by - last.start).days) > NEAR_IN_TIME:
            line += f" The chance is best, {chance}, up to {surest}."
        return line
    if even is not None:
        line = (
            f"No date makes it 90 % sure. The best is into {into} on {surest}: "
            f"{chance}; by {day_words(even)} it is an even chance."
        )
        until = found.little_lost_until
        if until is not None and (until - last.start).days > NEAR_IN_TIME:
            line += f" Up to {day_words(until)} that costs at most 5 in 100."
        return line
    if found.probability_by_need > NEARLY:
        return (
            f"No date of moving it gives an even chance; the best is into {into} on "
            f"{surest}."
        )
    return f"What comes nearest by then is to move it into {into} on {surest}."


def _ready(found: Plan) -> str:
    """Say when it is ready after the move that counts, and if that is lost again."""
    latest = found.latest
    ready = found.ready if latest is None else latest.ready
    days = (found.acclimate_days if latest is None else latest.acclimate_days)[0]
    if ready.p50 is None:
        return ""
    last = day_words(ready.p90, "not within the time looked at")
    took = f" about {days:.0f} days later," if days is not None else ""
    if days == 0:
        return "When it comes in it is mostly ready already."
    line = (
        f"Moved in then it is first ready{took} about {day_words(ready.p50)} "
        if len(found.route) > 1
        else f"It is first ready about {day_words(ready.p50)} "
    )
    line += f"(early {day_words(ready.p10)}, late {last})"
    return f"{line}. Below 20 % little is validated in public: allow twice as long."


def _earliest(found: Plan) -> str:
    """Say when it could be ready at the earliest, and how."""
    if found.probability_by_need >= SURE:
        return ""
    sure, even = found.earliest, found.earliest_even
    if sure is None and even is None:
        level = "an even chance" if found.probability_by_need < EVENS else "90 %"
        return (
            f"No later day within three years gives {level}, by any way through these "
            f"places: it takes {_what_it_takes(found)}."
        )
    said = []
    if even is not None and (
        sure is None or (sure.ready - even.ready).days > NEAR_IN_TIME
    ):
        said.append(
            "The earliest it could be ready with an even chance is "
            f"{day_words(even.ready)}: {_how(found, even)}."
        )
    if sure is not None:
        what = (
            "The earliest to be 90 % sure"
            if said
            else "The earliest it could be ready, 90 % sure,"
        )
        said.append(f"{what} is {day_words(sure.ready)}: {_how(found, sure)}.")
    elif even is not None:
        said.append("No day within three years is 90 % sure.")
    return " ".join(said)


def _what_it_takes(found: Plan) -> str:
    """Name what would help: where boards settle too damp, thin ones do as well."""
    if found.equilibrium_by_need > found.target.high:
        return "another place or another use"
    return "another place, thinner boards or another use"


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
    others = [f"{name} for {low:g} to {high:g} %" for name, low, high in fits[1:3]]
    also = f" (also {listed(others)})" if others else ""
    return (
        "If that room is where it will live, wood there settles at about "
        f"{rest:.1f} %: --region {name} asks for {low:g} to {high:g} %{also}. "
        "--old-piece takes what an old piece there reads."
    )


def _how(found: Plan, first: Earliest) -> str:
    last = place(first.route[-1].kind)
    if first.move is None:
        return f"leave it in {last}"
    how = f"move it into {last} by {day_words(first.move)}"
    if len(first.route) > 2 or first.route[0].kind != found.route[0].kind:
        stays = listed([place(leg.kind) for leg in first.route[:-1]], "and then")
        how += f", out of {stays}"
    return how


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
    return (
        f"Leaving it in the {found.places[name]} is nearly as sure: "
        f"{in_hundred(chance)}."
    )


def _simpler(found: Plan) -> str:
    """Say what fewer moves would cost."""
    if found.probability_by_need < EVENS:
        return ""
    ways = [
        f"{listed([f'the {found.places[name]}' for name in names], 'then')}: "
        f"{in_hundred(chance)}"
        for names, chance in found.simpler.items()
        if len(names) > 1
    ]
    return f"With one move fewer, {'; '.join(ways)}." if ways else ""


def _waiting(found: Plan) -> str:
    gain = found.another_year - found.probability_by_need
    if gain > GAIN:
        return (
            f"If it could wait a year longer: "
            f"{chance_words(found.another_year)} instead."
        )
    if found.probability_by_need >= EVENS:
        return "Waiting another year gains nothing here."
    return "Waiting a year for the same date is no better."


def _recent(found: Plan) -> str:
    """Say what the last years alone give, where they differ from all."""
    late = found.recent
    if late is None:
        return ""
    more = "damper" if late.change > 0 else "drier"
    return (
        f"In the last {len(late.years)} years of the record alone, "
        f"{late.years[0]} to {late.years[-1]}, it is {in_hundred(late.chance)}: dry "
        f"wood is {abs(late.change):.1f} % MC {more} there than over all years."
    )
