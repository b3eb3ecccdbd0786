"""The words of a label pinned to a stack: what it is, and what is next."""

from emcforecast.dates import spoken
from emcforecast.language import N_, _
from emcforecast.report.names import place_title, target_words, wood_name
from emcforecast.report.words import capital, sentence
from emcforecast.report.yard_actions import next_words
from emcforecast.units import UnitSystem
from emcforecast.yard.result import StackState, YardState

READINGS = N_("Readings (date, % MC): __________  __________")


def label_lines(one: StackState, state: YardState, system: UnitSystem) -> list[str]:
    """Return what a label says below the name.

    Parameters
    ----------
    one : StackState
        The stack.
    state : YardState
        Its yard on the day the labels are printed.
    system : {"us", "si"}
        Units of the thickness.
    """
    stack = one.stack
    lines = [
        f"{capital(wood_name(stack.species.spoken))}, {stack.thickness.label(system)}",
        _(
            "Stacked {date}; now: {place}",
            date=spoken(stack.stacked),
            place=place_title(one.storage.kind),
        ),
    ]
    if one.target is not None:
        lines.append(
            _(
                N_("For {use}")
                if stack.need is None
                else N_("For {use}, needed {date}"),
                use=target_words(one.target),
                date="" if stack.need is None else spoken(stack.need),
            )
        )
    words = next_words(one.next, one, state.yard, state.today)
    lines.append(_("Next: {do}", do=sentence(words)))
    lines.append(
        _(
            "{date}: {mc:.0f} % (shell {shell:.0f}, core {core:.0f}) by forecast",
            date=spoken(state.today),
            mc=one.mean.p50,
            shell=one.shell.p50,
            core=one.core.p50,
        )
    )
    return [*lines, _(READINGS)]
