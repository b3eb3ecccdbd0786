"""The whole answer of `plan` for a person: sentences, route, places, what to mind."""

from datetime import date

from emcforecast.cautions import Caution
from emcforecast.forecast.plan.result import Drawback, Leg, Plan
from emcforecast.forecast.plan.success import EVENS
from emcforecast.forecast.targets import Target
from emcforecast.language import N_, _
from emcforecast.report.boards import board_warnings, board_words
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.names import (
    place_title,
    target_words,
    use_name,
    wood_name,
)
from emcforecast.report.plan_sentences import plan_sentences
from emcforecast.report.plan_words import day_words, leg_words, place_of
from emcforecast.report.storage import fallback_words
from emcforecast.report.tables import alone_lines, stay_lines
from emcforecast.report.updates import air_warnings
from emcforecast.report.words import in_hundred, is_narrow, wrapped
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem

STILL_WET = 18.0
"""% MC above which wood coming into a closed place needs watching."""
THICK_MM = 45.0
TOO_DRY = 0.5
"""% MC below the target's lower end that is worth a word."""
WARM_MONTHS = {True: (4, 5, 6, 7, 8, 9), False: (10, 11, 12, 1, 2, 3)}
"""By whether the place is north of the equator."""


def plan_text(
    found: Plan, risks: list[str], based_on: list[str], system: UnitSystem
) -> str:
    """Lay out the answer for 80 columns.

    Parameters
    ----------
    found : Plan
        What `plan` found.
    risks : list of str
        From `plan_risks`.
    based_on : list of str
        What weather it rests on.
    system : {"us", "si"}
        Units of the thickness.
    """
    nearest = found.probability_by_need < EVENS
    parts = [wrapped(line) for line in plan_sentences(found)]
    title = _(
        N_("What comes nearest by then: {board}, stacked {date}")
        if nearest
        else N_("Route: {board}, stacked {date}"),
        board=board_words(found.board, system),
        date=day_words(found.stacked),
    )
    parts += ["", wrapped(title)]
    narrow = is_narrow()
    *stays, need = stay_lines(found)
    parts += [_row(stay.day, stay.place, stay.then) for stay in stays]
    last = f"{need.day}: " if narrow else f"{need.day:<19}"
    parts.append(wrapped(f"{last}{need.then}"))
    first = found.earliest or found.earliest_even
    if first is not None and nearest:
        ready = _(
            "Route to be ready on {date} ({share})",
            date=day_words(first.ready),
            share=in_hundred(first.chance),
        )
        parts += ["", wrapped(ready)]
        parts += [_leg(found, leg) for leg in first.route]
    parts += ["", wrapped(_("Left in one place the whole time, ready by then"))]
    for alone in alone_lines(found):
        parts.append(f"{alone.place:<30}{alone.chance:>17}")
        if narrow:
            parts[-1] = wrapped(f"{alone.place}: {alone.chance}", rest="  ")
        if alone.drawback:
            parts.append(wrapped(alone.drawback, first="  ", rest="  "))
    if found.known_to is not None:
        parts += ["", wrapped(_until_now(found))]
    if risks:
        parts += [
            "",
            _("Mind"),
            *(wrapped(risk, first="- ", rest="  ") for risk in risks),
        ]
    return "\n".join([*parts, "", *(wrapped(line) for line in based_on)])


def _until_now(found: Plan) -> str:
    return _(
        "The weather is the actual one up to {date}, and nothing is moved before; "
        "until then it is assumed to be in the {place}. If it is elsewhere, name with "
        "--have only that place and those it may go to.",
        date=day_words(found.known_to),
        place=place_of(found, found.route[0].setting, "in the place"),
    )


def _leg(found: Plan, leg: Leg) -> str:
    return _row(day_words(leg.start), place_title(leg.kind), leg_words(found, leg))


def _row(day: str, title: str, why: str) -> str:
    if is_narrow():
        return wrapped(f"{day}: {title}, {why}", rest="  ")
    return wrapped(f"{day:<19}{title:<26}{why}", rest=" " * 45)


def plan_risks(found: Plan, north: bool = True) -> list[str]:
    """Name what can go wrong with each stay and move, with what to do.

    Parameters
    ----------
    found : Plan
        What `plan` found.
    north : bool
        Whether the place is north of the equator: which months are warm.
    """
    return [
        risk
        for risk in (
            *_first_stay(found, north),
            *_moves(found),
            *_at_the_end(found),
        )
        if risk
    ]


def _first_stay(found: Plan, north: bool) -> list[str]:
    first, risks = found.route[0], []
    if (
        not KINDS[first.kind].covered
        and found.drawbacks.get(first.setting) is Drawback.RAIN_UNKNOWN
    ):
        risks.append(
            _(
                "The weather has no rain, so the uncovered stack is worked out as if "
                "none fell on it: cover the top, or every date here is too early."
            )
        )
    elif not KINDS[first.kind].covered:
        risks.append(
            _(
                "An uncovered stack is rewetted by every rain: cover the top and let "
                "the sides breathe."
            )
        )
    if found.green and not KINDS[first.kind].open_air:
        risks.append(
            _(
                "Green {wood} straight into the {place}: hot still air checks it, its "
                "damp moulds there, and wet wood weighs half as much again on the "
                "floor. Better keep it under a roof in the open until it is at about "
                "25 %.",
                wood=wood_name(found.board.wood.spoken),
                place=place_title(first.kind, "into the place"),
            )
        )
    if (
        first.start.month in WARM_MONTHS[north]
        and KINDS[first.kind].takes_green
        and found.green
    ):
        risks.append(
            _(
                "Green wood stacked in warm months: watch for surface and end checks "
                "in dry wind, blue stain in damp heat; seal the ends, shade the stack."
            )
        )
    return risks


def _moves(found: Plan) -> list[str]:
    risks = []
    for before, after in zip(found.route, found.route[1:], strict=False):
        mc = before.moisture_at_end
        if mc is not None and mc > STILL_WET and not KINDS[after.kind].takes_green:
            risks.append(
                _(
                    "Still about {mc:.0f} % when it goes into the {place}: keep the "
                    "stickers in, warm it slowly and watch the core.",
                    mc=mc,
                    place=place_title(after.kind, "into the place"),
                )
            )
        if after.kind in ("loft", "attic"):
            risks.append(
                _(
                    "A loft is a window, not a place: its driest weeks are in late "
                    "summer, and what stays takes moisture up again."
                )
            )
    return risks


def _at_the_end(found: Plan) -> list[str]:
    risks = []
    low = found.target.low
    if low is not None and found.moisture_by_need < low - TOO_DRY:
        risks.append(
            _(
                "Drier than the target by then, about {mc:.1f} %: let it settle where "
                "it will live before you work it.",
                mc=found.moisture_by_need,
            )
        )
    if (
        found.equilibrium_by_need > found.target.high
        and found.probability_by_need >= EVENS
    ):
        risks.append(
            _(
                "Dry boards there settle at about {mc:.1f} % when it is needed: work "
                "it or wrap it once it is ready.",
                mc=found.equilibrium_by_need,
            )
        )
    if found.board.thickness_mm >= THICK_MM:
        risks.append(_("Thick stock: judge it by its core, never by one number."))
    return risks


def plan_warnings(
    found: Plan, today: date | None, system: UnitSystem = "si"
) -> list[str]:
    """Return what weakens the answer: what the weather lacked, days already past.

    Parameters
    ----------
    found : Plan
        What `plan` found.
    today : date or None
        As the person said it.
    system : {"us", "si"}
        Units of lengths.
    """
    lines = [*fallback_words(found.fallbacks), *air_warnings(found.air)]
    lines += board_warnings(found.board, system)
    now = date.today()
    if today is None and any(leg.start < now for leg in found.route[1:]):
        lines.append(
            _(
                "Some of these moves are in the past: to plan from where it is now, "
                "say --today {date} (and with --have where it is and where it may go).",
                date=now,
            )
        )
    return lines


def target_note(target: Target, region: str | None) -> str:
    """Say that a use has no range of its own for a region, "" where it has one."""
    if region is None or not target.is_general:
        return ""
    return _(
        "No range for {use} in {region} is listed: {target} is used.",
        use=use_name(target),
        region=region,
        target=target_words(target),
    )


def plan_cautions(found: Plan) -> tuple[str, ...]:
    """Return the safety lines that apply."""
    return caution_words(
        cautions_for(
            (leg.kind for leg in found.route),
            stacked=True,
            thickness_mm=found.board.thickness_mm,
            also=[Caution.METER],
        )
    )
