"""From what there is to do in the yard to the entries of its calendar."""

from datetime import timedelta

from emcforecast.report.yard_actions import action_why, action_words
from emcforecast.yard.calendar import Entry
from emcforecast.yard.result import StackState, YardState

READ_BEFORE_DAYS = 10
"""A reading is asked for so many days before wood is brought in or used."""


def entries_of(state: YardState) -> tuple[Entry, ...]:
    """Return one entry for each step of each stack.

    Parameters
    ----------
    state : YardState

    Returns
    -------
    tuple of Entry
        Never two with the same stack and action.
    """
    return tuple(entry for one in state.stacks for entry in _of_stack(one, state))


def _of_stack(one: StackState, state: YardState) -> list[Entry]:
    found: dict[str, Entry] = {}
    name, wood = one.stack.name, one.stack.species.spoken
    for action in one.actions:
        if not action.in_calendar or action.kind in found:
            continue
        words = action_words(action, one, state.yard, state.today)
        found[action.kind] = Entry(
            name,
            action.kind,
            action.day,
            f"{name} ({wood}): {words}",
            action_why(action, one, state.today),
            action.remind_days,
        )
    carried = [found[kind] for kind in ("bring-in", "ready") if kind in found]
    if carried and "reading" not in found:
        first = min(carried, key=lambda entry: entry.day)
        day = max(first.day - timedelta(days=READ_BEFORE_DAYS), state.today)
        if day < first.day:
            found["reading"] = Entry(
                name,
                "reading",
                day,
                f"{name} ({wood}): take a reading, a quarter of the thickness deep",
                f"Before this: {first.summary}",
            )
    return list(found.values())
