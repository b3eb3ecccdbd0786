"""The yard's pages: how it stands, a reading, a stack, a move, and taking them back."""

import secrets
from collections.abc import Mapping
from datetime import date

from flask import Flask, Response, jsonify, redirect, render_template, request, url_for
from werkzeug.exceptions import NotFound
from werkzeug.wrappers import Response as AnyResponse

from emcforecast.errors import InputError
from emcforecast.web.jobs import Job
from emcforecast.web.serving import LONGEST_FIELD
from emcforecast.web.site import Site
from emcforecast.web.store import Kept
from emcforecast.web.views.answers import as_file, refusal
from emcforecast.web.views.choices import choices
from emcforecast.web.yards import READING, STACK
from emcforecast.yard.model import Yard
from emcforecast.yard.reading import KINDS

Page = tuple[str, int] | AnyResponse


def add_to(app: Flask, site: Site) -> None:
    """Add these pages to an application that serves a yard."""
    served = site.yard
    if served is None:
        return

    def stands(seconds: float | None = None) -> tuple[Yard, Kept | Job]:
        yard = served.read()
        system = served.system(yard, request.args.get("units"))
        today = date.today()
        key = served.key(yard, today, system)
        answer = served.answer(yard, today, system)
        found = site.find(key, answer) if seconds is None else site.now(key, answer)
        return yard, found

    @app.get("/yard")
    def yard() -> Page:
        now = served.read()
        if not now.stacks:
            return _yard_page(site, now), 200
        now, found = stands()
        if isinstance(found, Kept):
            return _yard_page(site, now, kept=found), 200
        if found.state in ("refused", "failed"):
            return _yard_page(site, now, refused=refusal(found)), 422
        return _yard_page(site, now, job=found), 202

    @app.get("/yard.<any(json, csv):kind>")
    def yard_file(kind: str) -> Response:
        return as_file(stands(0.0)[1], "yard", kind)

    @app.get("/calendar/<key>.ics", endpoint="calendar")
    def calendar(key: str) -> Response:
        if not site.guard.calendar_opens(key):
            raise NotFound
        found = stands(0.0)[1]
        if isinstance(found, Job):
            raise InputError(refusal(found))
        answer = Response(found.calendar, content_type="text/calendar; charset=utf-8")
        answer.headers["Content-Disposition"] = "attachment; filename=yard.ics"
        return answer

    @app.get("/yard/reading")
    def reading() -> Page:
        entry = request.args.get("done", "")
        noted = served.reading_words(entry) if entry else None
        given = {"stack": request.args.get("stack", "")[:LONGEST_FIELD]}
        page = _reading_page(served.read(), given, noted=noted, entry=entry)
        return page, 200

    @app.post("/yard/reading")
    def note_reading() -> Page:
        given = _given(READING)
        entry = request.form.get("entry", "") or secrets.token_hex(8)
        try:
            new = served.note_reading(given, entry)
        except InputError as error:
            if _wants_json():
                return jsonify(refused=str(error)), 422  # type: ignore[return-value]
            return _reading_page(served.read(), given, refused=str(error)), 422
        if _wants_json():
            return jsonify(stored=entry, new=new)
        return redirect(url_for("reading", done=entry, stack=given["stack"]), 303)

    @app.post("/yard/reading/undo")
    def undo_reading() -> Page:
        served.take_back(request.form.get("entry", ""))
        return redirect(url_for("reading", undone="yes"), 303)

    @app.get("/yard/add")
    def add() -> str:
        return _stack_page(site, {})

    @app.post("/yard/add")
    def add_now() -> Page:
        given = _given(STACK)
        try:
            _, code = served.add(given)
        except InputError as error:
            return _stack_page(site, given, refused=str(error)), 422
        return redirect(url_for("changed", code=code, what="stack"), 303)

    @app.get("/yard/move")
    def move() -> str:
        return _move_page(served.read(), {"stack": request.args.get("stack", "")})

    @app.post("/yard/move")
    def move_now() -> Page:
        from emcforecast.dates import parse_date

        given = _given(("stack", "setting", "date"))
        try:
            day = parse_date(given["date"]) if given["date"] else date.today()
            stack = served.read().stack(given["stack"]).name
            _, code = served.move(stack, day, given["setting"])
        except InputError as error:
            return _move_page(served.read(), given, refused=str(error)), 422
        return redirect(url_for("changed", code=code, what="move"), 303)

    @app.get("/yard/changed")
    def changed() -> str:
        return render_template(
            "changed.html",
            code=request.args.get("code", "")[:LONGEST_FIELD],
            is_move=request.args.get("what") == "move",
        )

    @app.post("/yard/changed/undo")
    def undo_change() -> AnyResponse:
        served.undo(request.form.get("code", ""))
        return redirect(url_for("yard"), 303)


def _given(names: tuple[str, ...]) -> dict[str, str]:
    return {name: request.form.get(name, "").strip()[:LONGEST_FIELD] for name in names}


def _wants_json() -> bool:
    types = request.accept_mimetypes
    return types.best_match(["text/html", "application/json"]) == "application/json"


def _yard_page(
    site: Site,
    yard: Yard,
    *,
    kept: Kept | None = None,
    job: Job | None = None,
    refused: str = "",
) -> str:
    key = site.guard.keys.calendar_key()
    return render_template(
        "yard.html",
        yard=yard,
        title=yard.name,
        kept=kept,
        job=job,
        refused=refused,
        calendar=url_for("calendar", key=key, _external=True),
    )


def _reading_page(
    yard: Yard,
    given: Mapping[str, str],
    *,
    noted: tuple[str, list[str]] | None = None,
    entry: str = "",
    refused: str = "",
) -> str:
    return render_template(
        "reading.html",
        yard=yard,
        given=given,
        kinds=KINDS,
        noted=noted,
        undone="undone" in request.args,
        entry=entry,
        new_entry=secrets.token_hex(8),
        refused=refused,
    )


def _stack_page(site: Site, given: Mapping[str, str], *, refused: str = "") -> str:
    yard = site.yard.read() if site.yard is not None else None
    return render_template(
        "stack.html", yard=yard, given=given, refused=refused, **choices(site)
    )


def _move_page(yard: Yard, given: Mapping[str, str], *, refused: str = "") -> str:
    return render_template(
        "move.html",
        yard=yard,
        given=given,
        refused=refused,
        today=date.today().isoformat(),
    )
