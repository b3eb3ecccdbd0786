"""The application: everything one server needs, put together."""

import logging
from pathlib import Path

from flask import Flask, Response, jsonify, render_template, request
from werkzeug.exceptions import HTTPException

from emcforecast.errors import EmcforecastError
from emcforecast.language import N_, _
from emcforecast.web import languages
from emcforecast.web.guard import Guard
from emcforecast.web.jobs import BusyError, Pool
from emcforecast.web.keys import Keys, keys_kept_in
from emcforecast.web.serving import LARGEST_UPLOAD, Serving
from emcforecast.web.site import SITE, Site
from emcforecast.web.sources import Sources
from emcforecast.web.store import Store
from emcforecast.web.views import answers, files, start, yard
from emcforecast.web.yards import ServedYard

RETRY_SECONDS = 10


def create_app(serving: Serving, keys: Keys | None = None) -> Flask:
    """Return the application of one server.

    Parameters
    ----------
    serving : Serving
        How it is set up.
    keys : Keys, optional
        Made from the secret in its folder where left out.

    Raises
    ------
    InputError
        When its folder cannot be used.
    """
    serving.keep.mkdir(parents=True, exist_ok=True)
    keys = keys or keys_kept_in(serving.keep)
    app = Flask("emcforecast.web", root_path=str(Path(__file__).parent))
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_UPLOAD + 10_000
    app.config["MAX_FORM_MEMORY_SIZE"] = 200_000
    app.config["MAX_FORM_PARTS"] = 100
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    app.jinja_env.filters["capfirst"] = lambda text: text[:1].upper() + text[1:]
    languages.add_to(app)
    guard = Guard(app, serving, keys)
    yard_served = (
        None
        if serving.yard is None
        else ServedYard(serving.yard, serving.keep, serving.units)
    )
    site = Site(
        serving=serving,
        guard=guard,
        pool=Pool(serving.workers, serving.waiting),
        store=Store(serving.keep / "answers"),
        sources=Sources(serving),
        yard=yard_served,
    )
    app.extensions[SITE] = site
    app.jinja_env.globals["form_key"] = guard.form_key
    app.jinja_env.globals["has_yard"] = yard_served is not None
    for views in (start, answers, files, yard):
        views.add_to(app)
    _add_refusals(app)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    return app


def _add_refusals(app: Flask) -> None:
    def shown(message: str, code: int) -> tuple[str | Response, int]:
        best = request.accept_mimetypes.best_match(["text/html", "application/json"])
        if best == "application/json":
            return jsonify(refused=message), code
        return render_template("refused.html", message=message, code=code), code

    @app.errorhandler(HTTPException)
    def http(error: HTTPException) -> tuple[str | Response, int]:
        code = error.code or 500
        return shown(_(SPOKEN.get(code) or str(error.description)), code)

    @app.errorhandler(EmcforecastError)
    def refused(error: EmcforecastError) -> tuple[str | Response, int]:
        return shown(str(error), 422)

    @app.errorhandler(BusyError)
    def busy(_error: BusyError) -> Response:
        message = _("Too many questions wait already. Try again in a minute.")
        answer = app.make_response(shown(message, 503))
        answer.headers["Retry-After"] = str(RETRY_SECONDS)
        return answer


SPOKEN = {
    404: N_("There is no such page here."),
    405: N_("This page cannot be used like that."),
    413: N_(
        "That is larger than this server takes: 64 MB of a file, 0.2 MB of a form."
    ),
    429: N_("Too many wrong tokens. Wait ten minutes and try again."),
    500: N_("Something went wrong in the program; the server's window tells more."),
}
"""What is said instead of the library's own words."""
