"""Floor, dry and plan: a form whose address holds every input, and the answer."""

from datetime import date

from flask import Flask, Response, g, jsonify, render_template, request
from werkzeug.exceptions import NotFound

from emcforecast.errors import InputError
from emcforecast.storage.kinds import SETTINGS
from emcforecast.web.jobs import Job
from emcforecast.web.levers import place_forms
from emcforecast.web.questions import (
    DEFAULTS,
    FIELDS,
    Question,
    fields_asked,
    question,
)
from emcforecast.web.site import Site
from emcforecast.web.store import Kept
from emcforecast.web.views.choices import choices

TITLES = {
    "floor": "How dry can it get?",
    "dry": "When is it dry?",
    "plan": "Where next, and when in?",
}


def add_to(app: Flask, site: Site) -> None:
    """Add these pages to an application."""

    def asked(command: str) -> tuple[dict[str, str], Question]:
        if command not in FIELDS:
            raise NotFound
        fields = fields_asked(command, request.args.to_dict(flat=False))
        units = site.serving.units
        return fields, question(command, fields, site.sources, units, date.today())

    @app.get("/<any(floor, dry, plan):command>")
    def ask(command: str) -> tuple[str, int]:
        fields = fields_asked(command, request.args.to_dict(flat=False))
        if not request.args or "form" in request.args:
            return _page(site, command, fields), 200
        try:
            _, found = asked(command)
            answer = site.find(found.key, found.answer)
        except InputError as error:
            return _page(site, command, fields, refused=str(error)), 422
        if isinstance(answer, Kept):
            return _page(site, command, fields, found, kept=answer), 200
        if answer.state in ("refused", "failed"):
            return _page(site, command, fields, refused=refusal(answer)), 422
        return _page(site, command, fields, found, job=answer), 202

    @app.get("/<any(floor, dry, plan):command>.<any(json, csv):kind>")
    def file(command: str, kind: str) -> Response:
        _, found = asked(command)
        return as_file(site.now(found.key, found.answer), command, kind)

    @app.get("/job/<key>.json")
    def job(key: str) -> Response:
        found = site.pool.find(key)
        if found is None:
            raise NotFound
        return jsonify(
            state=found.state,
            fraction=round(found.fraction, 3),
            what=found.what,
            message=refusal(found) if found.ended.is_set() else "",
        )

    @app.post("/job/<key>/stop")
    def stop(key: str) -> str:
        site.pool.leave(key, g.session)
        return render_template("stopped.html")


def refusal(job: Job) -> str:
    """Say why a job gave no answer."""
    if job.state == "failed":
        return "Something went wrong in the program; the server's window tells more."
    if job.state == "stopped":
        return "This was stopped. Ask again to begin anew."
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


def _page(
    site: Site,
    command: str,
    fields: dict[str, str],
    found: Question | None = None,
    *,
    kept: Kept | None = None,
    job: Job | None = None,
    refused: str = "",
) -> str:
    return render_template(
        f"{command}.html",
        command=command,
        title=TITLES[command] if kept is None else kept.title,
        heading=TITLES[command],
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
