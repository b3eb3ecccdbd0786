"""What a phone keeps, and the stylesheet."""

from pathlib import Path

from flask import Flask, Response, jsonify, render_template, send_from_directory

from emcforecast.charts.style import LIGHT
from emcforecast.web.rendered import stylesheet
from emcforecast.web.site import this_site

STATIC = Path(__file__).parent.parent / "static"


def add_to(app: Flask) -> None:
    """Add these addresses to an application."""
    app.add_url_rule("/manifest.webmanifest", view_func=manifest)
    app.add_url_rule("/worker.js", view_func=worker)
    app.add_url_rule("/session.json", view_func=session)
    app.add_url_rule("/offline", view_func=offline)
    app.add_url_rule("/style.css", view_func=style)


def manifest() -> Response:
    """Tell a phone how the pages stand on its home screen."""
    answer = jsonify(
        name="emcforecast: your wood",
        short_name="Wood",
        start_url="/yard" if this_site().yard is not None else "/",
        scope="/",
        display="standalone",
        background_color=LIGHT.paper,
        theme_color=LIGHT.paper,
        icons=[
            {
                "src": f"/static/icon-{size}.png",
                "sizes": f"{size}x{size}",
                "type": "image/png",
                "purpose": "any maskable",
            }
            for size in (192, 512)
        ],
    )
    answer.mimetype = "application/manifest+json"
    return answer


def worker() -> Response:
    """Give the worker from the root, so that it serves every page."""
    answer = send_from_directory(STATIC, "worker.js")
    answer.mimetype = "text/javascript"
    answer.headers["Cache-Control"] = "no-cache"
    return answer


def session() -> Response:
    """Give the key that queued readings must send with them."""
    answer = jsonify(form_key=this_site().guard.form_key())
    answer.headers["Cache-Control"] = "no-store"
    return answer


def offline() -> str:
    """Show what can be opened without a network."""
    return render_template("offline.html")


def style() -> Response:
    """Give the stylesheet of the answers, which the report has too."""
    answer = Response(stylesheet(), mimetype="text/css")
    answer.headers["Cache-Control"] = "private, max-age=600"
    return answer
