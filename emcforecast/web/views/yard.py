"""The yard's pages: how it stands, a reading, a stack, a move, and taking them back."""

import secrets
from collections.abc import Mapping
from datetime import date

from flask import Flask, Response, jsonify, redirect, render_template, request, url_for
from werkzeug.exceptions import NotFound
from werkzeug.wrappers import Response as AnyResponse

from emcforecast.dates import parse_date
from emcforecast.errors import InputError
from emcforecast.web.jobs import Job
from emcforecast.web.site import this_site
from emcforecast.web.store import Kept
from emcforecast.web.views.answers import as_file, page_to_keep, refusal
from emcforecast.web.views.choices import choices, typed
from emcforecast.web.yards import READING, STACK, ServedYard
from emcforecast.yard.model import Yard
from emcforecast.yard.reading import KINDS

Page = str | tuple[str | Response, int] | AnyResponse


def add_to(app: Flask) -> None:
    """Add these pages to an application that serves a yard."""
    app.add_url_rule("/yard", view_func=yard)
    app.add_url_rule("/yard.<any(json, csv):kind>", view_func=yard_file)
    app.add_url_rule("/yard/report.html", "yard_report", report)
    app.add_url_rule("/calendar/<key>.ics", view_func=calendar)
    app.add_url_rule("/yard/reading", view_func=reading)
    app.add_url_rule("/yard/add", view_func=add)
    app.add_url_rule("/yard/move", view_func=move)
    app.add_url_rule("/yard/changed", view_func=changed)
    for path, view in (
        ("/yard/reading", note_reading),
        ("/yard/reading/undo", undo_reading),
        ("/yard/add", add_now),
        ("/yard/move", move_now),
        ("/yard/changed/undo", undo_change),
    ):
        app.add_url_rule(path, view_func=view, methods=["POST"])


def yard() -> Page:
    """Show how the yard stands."""
    now = served().read()
    if not now.stacks:
        return _yard_page(now), 200
    now, found = _stands()
    if isinstance(found, Kept):
        return _yard_page(now, kept=found), 200
    if found.state in ("refused", "failed"):
        return _yard_page(now, refused=refusal(found)), 422
    return _yard_page(now, job=found), 202


def yard_file(kind: str) -> Response:
    """Give the yard's answer as a file."""
    return as_file(_stands(as_file=True)[1], "yard", kind)


def report() -> Response:
    """Give the one page of the yard, to keep and print."""
    ours = served()
    now, today = ours.read(), date.today()
    system = ours.system(now, typed(request.args.get("units")))
    key = ours.key(now, today, system, "report")
    return page_to_keep(this_site().now(key, ours.report(now, today, system)), "yard")


def calendar(key: str) -> Response:
    """Give what is due as a calendar, to whoever has the key."""
    if not this_site().guard.calendar_opens(key):
        raise NotFound
    found = _stands(as_file=True)[1]
    if isinstance(found, Job):
        raise InputError(refusal(found))
    answer = Response(found.calendar, content_type="text/calendar; charset=utf-8")
    answer.headers["Content-Disposition"] = "attachment; filename=yard.ics"
    return answer


def reading() -> str:
    """Show the form for a reading, and the one that was just noted."""
    entry = request.args.get("done", "")
    noted = served().reading_words(entry) if entry else None
    given = {"stack": typed(request.args.get("stack"))}
    return _reading_page(served().read(), given, noted=noted, entry=entry)


def note_reading() -> Page:
    """Write a reading to the log."""
    given = _given(READING)
    entry = request.form.get("entry", "") or secrets.token_hex(8)
    try:
        new = served().note_reading(given, entry)
    except InputError as error:
        if _wants_json():
            return jsonify(refused=str(error)), 422
        return _reading_page(served().read(), given, refused=str(error)), 422
    if _wants_json():
        return jsonify(stored=entry, new=new)
    return redirect(url_for("reading", done=entry, stack=given["stack"]), 303)


def undo_reading() -> Page:
    """Take a reading back."""
    served().take_back(request.form.get("entry", ""))
    return redirect(url_for("reading", undone="yes"), 303)


def add() -> str:
    """Show the form for a new stack."""
    return _stack_page({})


def add_now() -> Page:
    """Add a stack to the yard file."""
    given = _given(STACK)
    try:
        _, code = served().add(given)
    except InputError as error:
        return _stack_page(given, refused=str(error)), 422
    return redirect(url_for("changed", code=code, what="stack"), 303)


def move() -> str:
    """Show the form for a move."""
    return _move_page(served().read(), {"stack": typed(request.args.get("stack"))})


def move_now() -> Page:
    """Note a move in the yard file."""
    given = _given(("stack", "setting", "date"))
    try:
        day = parse_date(given["date"]) if given["date"] else date.today()
        stack = served().read().stack(given["stack"]).name
        _, code = served().move(stack, day, given["setting"])
    except InputError as error:
        return _move_page(served().read(), given, refused=str(error)), 422
    return redirect(url_for("changed", code=code, what="move"), 303)


def changed() -> str:
    """Say that the yard file was changed, and how to undo it."""
    return render_template(
        "changed.html",
        code=typed(request.args.get("code")),
        is_move=request.args.get("what") == "move",
    )


def undo_change() -> Page:
    """Put the yard file back."""
    served().undo(request.form.get("code", ""))
    return redirect(url_for("yard"), 303)


def served() -> ServedYard:
    """Return the yard of this server; its pages exist only where there is one."""
    found = this_site().yard
    if found is None:
        raise NotFound
    return found


def _stands(*, as_file: bool = False) -> tuple[Yard, Kept | Job]:
    site, ours = this_site(), served()
    now = ours.read()
    system = ours.system(now, request.args.get("units"))
    today = date.today()
    key = ours.key(now, today, system)
    answer = ours.answer(now, today, system)
    return now, site.now(key, answer) if as_file else site.find(key, answer)


def _given(names: tuple[str, ...]) -> dict[str, str]:
    return {name: typed(request.form.get(name)) for name in names}


def _wants_json() -> bool:
    types = request.accept_mimetypes
    return types.best_match(["text/html", "application/json"]) == "application/json"


def _yard_page(
    yard: Yard,
    *,
    kept: Kept | None = None,
    job: Job | None = None,
    refused: str = "",
) -> str:
    key = this_site().guard.keys.calendar_key()
    return render_template(
        "yard.html",
        yard=yard,
        title=yard.name,
        system=served().system(yard, typed(request.args.get("units"))),
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


def _stack_page(given: Mapping[str, str], *, refused: str = "") -> str:
    yard = served().read()
    return render_template(
        "stack.html", yard=yard, given=given, refused=refused, **choices(this_site())
    )


def _move_page(yard: Yard, given: Mapping[str, str], *, refused: str = "") -> str:
    return render_template(
        "move.html",
        yard=yard,
        given=given,
        refused=refused,
        today=date.today().isoformat(),
    )
