"""The first page: which weather, and what to ask."""

from flask import Flask, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from emcforecast.errors import ArchiveError, InputError
from emcforecast.web.serving import LONGEST_FIELD
from emcforecast.web.site import Site
from emcforecast.web.sources import HINTS
from emcforecast.web.uploads import drop_upload, inspect_upload, keep_upload
from emcforecast.web.views.choices import choices


def add_to(app: Flask, site: Site) -> None:
    """Add these pages to an application."""

    @app.get("/")
    def start() -> str:
        return render_template("start.html", asked={}, **choices(site))

    @app.get("/enter")
    def enter() -> str | Response:
        token = request.args.get("token")
        if token is not None:
            return site.guard.enter(token)
        if g.session:
            return redirect("/", 303)
        return render_template("enter.html")

    @app.get("/places")
    def places() -> tuple[str, int]:
        name = request.args.get("name", "")[:LONGEST_FIELD]
        archive = request.args.get("archive", "")
        found, refused = [], ""
        if name:
            try:
                found = _places_called(name)
            except ArchiveError as error:
                refused = str(error)
            else:
                if not found:
                    refused = (
                        "No place of that name was found. Try another spelling, or "
                        "give latitude and longitude."
                    )
        page = render_template(
            "places.html",
            name=name,
            archive=archive,
            found=found,
            refused=refused,
            **choices(site),
        )
        return page, 422 if refused else 200

    @app.post("/upload")
    def upload() -> tuple[str, int] | Response:
        folder = site.serving.keep / "uploads"
        asked = {
            name: text
            for name in HINTS
            if (text := request.form.get(name, "").strip()[:LONGEST_FIELD])
        }
        code = request.form.get("upload", "")
        given = request.files.get("file")
        try:
            if given is not None and given.filename:
                code = keep_upload(folder, given.filename, given.read())
            path = site.sources.uploaded(code)
            found = inspect_upload(path, asked)
        except InputError as error:
            return _uploaded(site, asked, code, str(error)), 422
        if found.refused or found.short:
            return _uploaded(site, asked, code, found.refused or found.short or ""), 422
        return redirect(url_for("ask", command="floor", weather=f"upload:{code}", **asked), 303)

    @app.post("/upload/drop")
    def drop() -> Response:
        code = request.form.get("upload", "")
        site.sources.uploaded(code)
        drop_upload(site.serving.keep / "uploads", code)
        return redirect("/", 303)


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
