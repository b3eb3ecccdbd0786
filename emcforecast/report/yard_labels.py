"""The words of a label pinned to a stack: what it is, and what is next."""

from emcforecast.dates import spoken
from emcforecast.report.words import capital, sentence
from emcforecast.report.yard_actions import next_words
from emcforecast.units import UnitSystem
from emcforecast.yard.result import StackState, YardState

READINGS = "Readings (date, % MC): __________  __________"


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
        f"{capital(stack.species.spoken)}, {stack.thickness.label(system)}",
        f"Stacked {spoken(stack.stacked)}; now: {one.storage.about.title}",
    ]
    if one.target is not None:
        need = "" if stack.need is None else f", needed {spoken(stack.need)}"
        lines.append(f"For {one.target.words}{need}")
    words = next_words(one.next, one, state.yard, state.today)
    lines.append(f"Next: {sentence(words)}")
    lines.append(
        f"{spoken(state.today)}: {one.mean.p50:.0f} % (shell {one.shell.p50:.0f}, core "
        f"{one.core.p50:.0f}) by forecast"
    )
    return [*lines, READINGS]
