"""Floor, dry and plan: a form whose address holds every input, and the answer."""

from datetime import date

from flask import Flask, Response, g, jsonify, render_template, request
from werkzeug.exceptions import NotFound

from emcforecast.errors import InputError
from emcforecast.language import N_, _
from emcforecast.storage.kinds import SETTINGS
from emcforecast.web.jobs import Job
from emcforecast.web.levers import place_forms
from emcforecast.web.questions import (
    DEFAULTS,
    Question,
    fields_asked,
    question,
)
from emcforecast.web.site import this_site
from emcforecast.web.store import Kept
from emcforecast.web.views.choices import choices

TITLES = {
    "floor": N_("How dry can it get?"),
    "dry": N_("When is it dry?"),
    "plan": N_("Where next, and when in?"),
}


def add_to(app: Flask) -> None:
    """Add these pages to an application."""
    app.add_url_rule("/<any(floor, dry, plan):command>", view_func=ask)
    app.add_url_rule(
        "/<any(floor, dry, plan):command>.<any(json, csv):kind>", view_func=file
    )
    app.add_url_rule("/report.html", view_func=report)
    app.add_url_rule("/job/<key>.json", view_func=job)
    app.add_url_rule("/job/<key>/stop", view_func=stop, methods=["POST"])


def ask(command: str) -> tuple[str, int]:
    """Show the form, and where it says anything the answer."""
    fields = _fields(command)
    if not request.args or "form" in request.args:
        return _page(command, fields), 200
    try:
        found = _question(command, fields)
        answer = this_site().find(found.key, found.answer)
    except InputError as error:
        return _page(command, fields, refused=str(error)), 422
    if isinstance(answer, Kept):
        return _page(command, fields, found, kept=answer), 200
    if answer.state in ("refused", "failed"):
        return _page(command, fields, refused=refusal(answer)), 422
    return _page(command, fields, found, job=answer), 202


def file(command: str, kind: str) -> Response:
    """Give an answer as a file."""
    found = _question(command, _fields(command))
    return as_file(this_site().now(found.key, found.answer), command, kind)


def report() -> Response:
    """Give the one page of a place, to keep and print."""
    found = _question("report", _fields("report"))
    return page_to_keep(this_site().now(found.key, found.answer), "place")


def job(key: str) -> Response:
    """Tell how far an answer is."""
    found = this_site().pool.find(key)
    if found is None:
        raise NotFound
    return jsonify(
        state=found.state,
        fraction=round(found.fraction, 3),
        what=found.what,
        message=refusal(found) if found.ended.is_set() else "",
    )


def stop(key: str) -> str:
    """Wait no longer for an answer."""
    this_site().pool.leave(key, g.session)
    return render_template("stopped.html")


def _fields(command: str) -> dict[str, str]:
    return fields_asked(command, request.args.to_dict(flat=False))


def _question(command: str, fields: dict[str, str]) -> Question:
    site = this_site()
    units = site.serving.units
    return question(command, fields, site.sources, units, date.today())


def refusal(job: Job) -> str:
    """Say why a job gave no answer."""
    if job.state == "failed":
        return _("Something went wrong in the program; the server's window tells more.")
    if job.state == "stopped":
        return _("This was stopped. Ask again to begin anew.")
    return job.message


def as_file(found: Kept | Job, name: str, kind: str) -> Response:
    """Return an answer as a file to keep.

    Raises
    ------
    InputError
        When the question was refused.
    """
    if isinstance(found, Job):
        raise InputError(refusal(found))
    text = found.json if kind == "json" else found.csv
    mime = "application/json" if kind == "json" else "text/csv; charset=utf-8"
    answer = Response(text, mimetype=None, content_type=mime)
    if kind == "csv":
        answer.headers["Content-Disposition"] = f"attachment; filename={name}.csv"
    return answer


def page_to_keep(found: Kept | Job, name: str) -> Response:
    """Return a whole page as a file to keep; it is not opened here.

    Raises
    ------
    InputError
        When the question was refused.
    """
    if isinstance(found, Job):
        raise InputError(refusal(found))
    answer = Response(found.html, mimetype="text/html")
    answer.headers["Content-Disposition"] = f"attachment; filename={name}.html"
    return answer


def _page(
    command: str,
    fields: dict[str, str],
    found: Question | None = None,
    *,
    kept: Kept | None = None,
    job: Job | None = None,
    refused: str = "",
) -> str:
    site = this_site()
    return render_template(
        f"{command}.html",
        command=command,
        title=_(TITLES[command]) if kept is None else kept.title,
        heading=_(TITLES[command]),
        asked={**DEFAULTS, "units": site.serving.units, **fields},
        address="" if found is None else found.address,
        kept=kept,
        job=job,
        refused=refused,
        places=place_forms(fields),
        settings=list(SETTINGS),
        today=date.today().isoformat(),
        **choices(site),
    )
