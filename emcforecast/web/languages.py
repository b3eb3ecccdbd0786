"""Which language a visitor is answered in: as picked, else as the browser prefers.

Every page has a line with the other languages; a pick is remembered on the device. An
answer is kept under the language it was said in (`questions.key_of`), and a worker of
the pool speaks the language of who asked first.
"""

from urllib.parse import urlsplit

from flask import Flask, abort, g, redirect, request
from werkzeug.wrappers import Response

from emcforecast.language import (
    LANGUAGES,
    chosen_of,
    in_template,
    own_name,
    speaking,
    spoken_language,
)
from emcforecast.report.names import place_title

COOKIE = "language"
YEAR_SECONDS = 365 * 24 * 3600


def add_to(app: Flask) -> None:
    """Answer every request of an application in its language; offer the switch."""
    app.before_request(_begin)
    app.teardown_request(_end)
    app.add_url_rule("/language/<code>", view_func=pick)
    app.jinja_env.globals.update(
        in_template(),
        languages=LANGUAGES,
        own_name=own_name,
        place_title=place_title,
        spoken_language=spoken_language,
    )


def pick(code: str) -> Response:
    """Remember a language on this device and go back to the page it was picked on."""
    if code not in LANGUAGES:
        abort(404)
    answer = redirect(_page_of_ours(request.args.get("back", "/")), 303)
    answer.set_cookie(
        COOKIE, code, max_age=YEAR_SECONDS, httponly=True, samesite="Strict"
    )
    return answer


def _page_of_ours(back: str) -> str:
    """Return a path of this server; anything else is its first page.

    Examples
    --------
    >>> _page_of_ours("/floor?weather=demo"), _page_of_ours("//elsewhere.example/")
    ('/floor?weather=demo', '/')
    """
    plain = back.isprintable() and "\\" not in back
    if not plain or not back.startswith("/") or back.startswith("//"):
        return "/"
    parts = urlsplit(back)
    return "/" if parts.scheme or parts.netloc else back


def _begin() -> None:
    picked = request.cookies.get(COOKIE)
    wished = chosen_of(request.headers.get("Accept-Language", ""))
    g.speaking = speaking(picked if picked in LANGUAGES else wished)
    g.speaking.__enter__()


def _end(_error: BaseException | None) -> None:
    spoken = g.pop("speaking", None)
    if spoken is not None:
        spoken.__exit__(None, None, None)
