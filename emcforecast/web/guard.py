"""What stands before every page: whose request it is, and what it may do.

In order: the Host is one of ours, the visitor has shown the token, a write carries the
key of its session's forms and comes from a page of ours.
"""

from urllib.parse import urlsplit

from flask import Flask, Request, Response, abort, g, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from emcforecast.language import N_
from emcforecast.web.keys import Guesses, Keys, same
from emcforecast.web.serving import LARGEST_FORM, LARGEST_UPLOAD, Serving

COOKIE = "emcforecast"
YEAR_SECONDS = 365 * 24 * 3600
OPEN = frozenset({"static", "enter", "calendar", "manifest", "worker"})
"""Pages that need no token: they hold nothing of anybody's."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not no-referrer: browsers would then send no Origin with a form.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
OPENER = {"Cross-Origin-Opener-Policy": "same-origin"}
"""Browsers heed it on this computer and through https, and complain elsewhere."""


class Guard:
    """Lets in who may come in, and says who it is."""

    def __init__(self, app: Flask, serving: Serving, keys: Keys) -> None:
        """Stand before every page of an application."""
        self.serving, self.keys, self.guesses = serving, keys, Guesses()
        app.before_request(self._check)
        app.after_request(self._dress)

    def enter(self, token: str) -> AnyResponse:
        """Take a token and give a session for it, or refuse it."""
        address = request.remote_addr or ""
        if self.guesses.wait(address):
            abort(429)
        if self.serving.token is None or not same(
            token.strip().lower(), self.serving.token
        ):
            self.guesses.wrong(address)
            abort(
                403, N_("This token is not right. The server prints it when it starts.")
            )
        answer = redirect("/", 303)
        self._give(answer, self.keys.new_session())
        return answer

    def calendar_opens(self, key: str) -> bool:
        """Tell whether a key opens the calendar; wrong ones are counted."""
        address = request.remote_addr or ""
        if self.guesses.wait(address):
            abort(429)
        if same(key, self.keys.calendar_key()):
            return True
        self.guesses.wrong(address)
        return False

    def form_key(self) -> str:
        """Return what the forms of this visitor must send."""
        return self.keys.form_key(g.session)

    def _check(self) -> AnyResponse | None:
        request.max_content_length = (
            LARGEST_UPLOAD + 10_000 if request.path == "/upload" else LARGEST_FORM
        )
        if not self._host_is_ours(request):
            abort(421, N_("This server does not answer to that name."))
        cookie = request.cookies.get(COOKIE)
        session = self.keys.session_of(cookie)
        g.new_cookie = None
        is_open = request.endpoint in OPEN
        if session is None and self.serving.token is None and not is_open:
            g.new_cookie = self.keys.new_session()
            session = self.keys.session_of(g.new_cookie)
        g.session = session or ""
        if is_open:
            return None
        if session is None:
            if request.method == "GET" and "text/html" in request.headers.get(
                "Accept", ""
            ):
                return redirect("/enter", 303)
            abort(403, N_("Show the token first: open the address the server printed."))
        if request.method not in ("GET", "HEAD"):
            self._check_write()
        return None

    def _check_write(self) -> None:
        origin = request.headers.get("Origin")
        if origin is not None and urlsplit(origin).netloc != request.host:
            abort(403, N_("This form was not sent from a page of this server."))
        if request.headers.get("Sec-Fetch-Site", "same-origin") not in (
            "same-origin",
            "none",
        ):
            abort(403, N_("This form was not sent from a page of this server."))
        sent = request.headers.get("X-Form-Key") or request.form.get("form_key")
        if not same(sent, self.form_key()):
            abort(
                403, N_("This form is too old. Load the page again and send it again.")
            )

    def _host_is_ours(self, asked: Request) -> bool:
        text = asked.headers.get("Host", "")
        try:
            name = urlsplit(f"//{text}").hostname
        except ValueError:
            return False
        return name is not None and name in self.serving.hosts

    def _dress(self, answer: Response) -> Response:
        answer.headers.update(HEADERS)
        if self.serving.secure or self.serving.token is None:
            answer.headers.update(OPENER)
        if "Cache-Control" not in answer.headers:
            answer.headers["Cache-Control"] = "private, no-cache"
        new = g.get("new_cookie")
        if new:
            self._give(answer, new)
        return answer

    def _give(self, answer: AnyResponse, session: str) -> None:
        answer.set_cookie(
            COOKIE,
            session,
            max_age=YEAR_SECONDS,
            httponly=True,
            samesite="Strict",
            secure=self.serving.secure,
        )
