"""The first page: which weather, and what to ask."""

from contextlib import closing
from urllib.parse import urlencode

from flask import Flask, g, redirect, render_template, request
from werkzeug.wrappers import Response

from emcforecast.errors import ArchiveError, InputError
from emcforecast.language import N_, _
from emcforecast.weather.hints import SAID_OF_A_FILE
from emcforecast.web.site import Site, this_site
from emcforecast.web.uploads import inspect_upload, keep_upload
from emcforecast.web.views.choices import choices, typed

NOT_FOUND = N_(
    "No place of that name was found. Try another spelling, or give latitude and "
    "longitude."
)


def add_to(app: Flask) -> None:
    """Add these pages to an application."""
    app.add_url_rule("/", view_func=start)
    app.add_url_rule("/enter", view_func=enter)
    app.add_url_rule("/places", view_func=places)
    app.add_url_rule("/upload", view_func=upload, methods=["POST"])


def start() -> str:
    """Offer the weather to choose."""
    return render_template("start.html", asked={}, **choices(this_site()))


def enter() -> str | Response:
    """Take the token, once."""
    token = request.args.get("token")
    if token is not None:
        return this_site().guard.enter(token)
    if g.session:
        return redirect("/", 303)
    return render_template("enter.html")


def places() -> tuple[str, int]:
    """Look a place up by its name, or take its degrees."""
    name = typed(request.args.get("name"))
    found, refused = [], ""
    if name:
        try:
            found = _places_called(name)
        except ArchiveError as error:
            refused = str(error)
        else:
            refused = "" if found else _(NOT_FOUND)
    page = render_template(
        "places.html",
        name=name,
        archive=typed(request.args.get("archive")),
        found=found,
        refused=refused,
        **choices(this_site()),
    )
    return page, 422 if refused else 200


def upload() -> tuple[str, int] | Response:
    """Keep a weather file and look it through; a refusal is shown in place."""
    site = this_site()
    folder = site.serving.keep / "uploads"
    said = {name: typed(request.form.get(name)) for name in SAID_OF_A_FILE}
    asked = {name: text for name, text in said.items() if text}
    code = request.form.get("upload", "")
    given = request.files.get("file")
    try:
        if given is not None and given.filename:
            with closing(given):
                code = keep_upload(folder, given.filename, given.read())
        found = inspect_upload(site.sources.uploaded(code), asked)
        refused = found.refused or found.short
    except InputError as error:
        refused = str(error)
    if refused:
        return _uploaded(site, asked, code, refused), 422
    return redirect(f"/floor?{urlencode({'weather': f'upload:{code}', **asked})}", 303)


def _places_called(name: str) -> list[tuple[str, str]]:
    from emcforecast.weather.network.places import find_places, parse_degrees
    from emcforecast.weather.network.session import Session

    spot = parse_degrees(name)
    if spot is not None:
        where = f"{spot.latitude:g},{spot.longitude:g}"
        return [(where, where)]
    with Session() as session:
        return [
            (f"{one.latitude:.4f},{one.longitude:.4f}", one.label())
            for one in find_places(name, session)
        ]


def _uploaded(site: Site, asked: dict[str, str], code: str, refused: str) -> str:
    return render_template(
        "start.html", asked=asked, upload=code, upload_refused=refused, **choices(site)
    )
