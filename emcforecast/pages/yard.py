"""The page of a yard: what is to do, then a sheet a stack, then labels to cut out."""

from dataclasses import replace
from typing import Any

from markupsafe import Markup

from emcforecast.answers.answered import Answered
from emcforecast.answers.yard import labels_answered, yard_answered
from emcforecast.dates import spoken
from emcforecast.language import _, spoken_language
from emcforecast.pages.look import stylesheet
from emcforecast.pages.pictures import Picture, picture
from emcforecast.pages.place import made_words, why_section
from emcforecast.pages.rendering import InBoth, Section, render
from emcforecast.pages.sections import notes_section
from emcforecast.report.names import place_title, reading_kind, target_words
from emcforecast.report.words import capital, sentence
from emcforecast.report.yard import is_due, next_sentences, reach_words, wood_words
from emcforecast.report.yard_actions import action_words as words_of
from emcforecast.report.yard_actions import effect_words, place_words
from emcforecast.report.yard_readings import pair_words, questioned_words
from emcforecast.report.yard_reasons import action_why
from emcforecast.units import SYSTEMS, UnitSystem
from emcforecast.yard.result import StackState, YardState


def yard_page(answered: Answered[YardState], system: UnitSystem) -> str:
    """Return the whole page of a yard, one HTML document that needs nothing else.

    Parameters
    ----------
    answered : Answered
        The yard, worked out with the paths of its stacks.
    system : {"us", "si"}
        The units shown first.
    """
    state, weather = answered.found, answered.answer.weather
    if weather is None:
        raise TypeError("the answer of a yard holds its weather")
    return str(
        render(
            "yard",
            language=spoken_language(),
            title=state.yard.name,
            over=spoken(state.today),
            style=Markup(stylesheet()),
            system=system,
            overview=overview_section(answered, "overview"),
            sheets=[
                stack_section(one, answered, f"stack-{k}")
                for k, one in enumerate(state.stacks, 1)
            ],
            sections=[
                notes_section(
                    "notes", answered.answer.warnings, cautions_in_both(answered)
                ),
                why_section(weather, "why"),
                labels_section(answered, "labels"),
            ],
            made=made_words(state.today),
        )
    )


def cautions_in_both(answered: Answered[YardState]) -> list[InBoth]:
    """Return the cautions; the weight on a floor is said in both units."""
    si, us = (answered.in_units(system).answer.cautions for system in SYSTEMS)
    return [InBoth(*pair) for pair in zip(si, us, strict=True)]


def overview_section(answered: Answered[YardState], name: str) -> Section:
    """Show what is to do, the most urgent stack first."""
    state = answered.found
    lines = [
        {
            "due": is_due(one, state),
            "sheet": f"stack-{k}",
            "name": one.stack.name,
            "mean": f"{one.mean.p50:.0f}",
            "shell": f"{one.shell.p50:.0f}",
            "core": f"{one.core.p50:.0f}",
            "next": next_sentences(one, state),
        }
        for k, one in enumerate(state.stacks, 1)
    ]
    return Section(name, "overview", {"answer": answered.sentences[0], "lines": lines})


def stack_section(one: StackState, answered: Answered[YardState], name: str) -> Section:
    """Show one stack: now, what is next and why, the fan, dates, readings, risks.

    Parameters
    ----------
    one : StackState
        One of the yard's.
    answered : Answered
        The yard.
    name : str
        The part's id on the page.
    """
    state = answered.found
    return Section(
        name,
        "stack",
        {
            "stack": one.stack.name,
            "wood": capital(wood_words(one)),
            "place": place_title(one.storage.kind),
            "where": place_words(one.setting, state.yard, "place"),
            "stacked": spoken(one.stack.stacked),
            "target": target_words(one.target) if one.target else "",
            "need": spoken(one.stack.need) if one.stack.need else "",
            "due": is_due(one, state),
            "next": next_sentences(one, state),
            "why": _said(action_why(one.next, one, state.today)),
            "now": [
                (part, f"{value.p50:.0f}", _range(value))
                for part, value in (
                    (_("average"), one.mean),
                    (_("shell"), one.shell),
                    (_("core"), one.core),
                )
            ],
            "steps": [
                {
                    "day": spoken(action.day),
                    "words": sentence(words_of(action, one, state.yard, state.today)),
                    "why": _said(action_why(action, one, state.today)),
                }
                for action in one.actions[1:]
            ],
            "reaches": [capital(words) for words in reach_words(one, state)],
            "readings": _readings(one),
            "effect": _said(effect_words(one)),
            "pair": pair_words(one),
            "questioned": [
                InBoth(*(questioned_words(r, state.today, s) for s in SYSTEMS))
                for r in one.effect.readings
                if not r.used
            ],
            "picture": stack_picture(one, answered, name),
        },
    )  # fmt: skip


def _said(words: str) -> str:
    return sentence(words) if words else ""


def _range(value: Any) -> str:
    if value.p10 is None or value.p90 is None:
        return ""
    return _("{low:.0f} to {high:.0f}", low=value.p10, high=value.p90)


def _readings(one: StackState) -> list[dict[str, str]]:
    return [
        {
            "day": spoken(r.reading.day),
            "kind": reading_kind(r.reading.kind),
            "shown": r.shown if r.mc is not None or not r.used else _("over"),
            "used": _("used") if r.used else _("questioned"),
            "note": r.reading.note or "",
        }
        for r in one.effect.readings
    ]


def stack_picture(
    one: StackState, answered: Answered[YardState], name: str
) -> Picture | None:
    """Draw the fan of one stack; None where its path was not kept."""
    if one.path is None or answered.answer.weather is None:
        return None
    alone = replace(answered.found, stacks=(one,))
    said = {
        system: yard_answered(alone, answered.answer.weather, system=system)
        for system in SYSTEMS
    }
    title = f"{one.stack.name}: {next_sentences(one, answered.found)}"
    return picture(said, name, one_shape=True, title=title)


def labels_section(answered: Answered[YardState], name: str) -> Section:
    """Show a label of each stack, to cut out."""
    state, weather = answered.found, answered.answer.weather
    if weather is None:
        raise TypeError("the answer of a yard holds its weather")
    si, us = (labels_answered(state, weather, system=s).found for s in SYSTEMS)
    labels = [
        (stack, [InBoth(*pair) for pair in zip(lines, others, strict=True)])
        for (stack, lines), (_stack, others) in zip(si, us, strict=True)
    ]
    return Section(name, "labels", {"labels": labels})
