"""An answer made into what pages and files show, by the sections of the pages."""

from typing import Any

from emcforecast.answers.answered import Answered
from emcforecast.report.document import csv_text, to_json
from emcforecast.web.store import Kept


def kept_of(answered: Answered[Any]) -> Kept:
    """Return an answer as it is kept."""
    from markupsafe import escape

    said = answered.answer
    return Kept(
        title=answered.sentences[0] if answered.sentences else said.command,
        html=f"<pre>{escape(said.text)}</pre>",
        json=to_json(answered.document()),
        csv=csv_text(said.rows),
        calendar=_calendar(answered),
    )


def stylesheet() -> str:
    """Return the stylesheet of the answers."""
    return ""


def _calendar(answered: Answered[Any]) -> str:
    """Return a yard's steps as a calendar; "" for any other answer."""
    from datetime import datetime

    from emcforecast.report.yard_json import entries_of
    from emcforecast.yard.calendar import calendar_text
    from emcforecast.yard.result import YardState

    state = answered.found
    if not isinstance(state, YardState):
        return ""
    now = datetime.now().astimezone()
    return calendar_text(entries_of(state), state.yard.name, now)
