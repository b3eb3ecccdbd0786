"""What a phone keeps: the manifest, the worker, and the form key for queued readings."""

from pathlib import Path

from flask import Flask, Response, jsonify, render_template, send_from_directory

from emcforecast.web.site import Site

STATIC = Path(__file__).parent.parent / "static"
INK, PAPER = "#1f1b16", "#f6f1e6"


def add_to(app: Flask, site: Site) -> None:
    """Add these addresses to an application."""

    @app.get("/manifest.webmanifest", endpoint="manifest")
    def manifest() -> Response:
        answer = jsonify(
            name="emcforecast: your wood",
            short_name="Wood",
            start_url="/yard" if site.yard is not None else "/",
            scope="/",
            display="standalone",
            background_color=PAPER,
            theme_color=PAPER,
            icons=[
                {"src": f"/static/icon-{size}.png", "sizes": f"{size}x{size}",
                 "type": "image/png", "purpose": "any maskable"}
                for size in (192, 512)
            ],
        )  # fmt: skip
        answer.mimetype = "application/manifest+json"
        return answer

    @app.get("/worker.js", endpoint="worker")
    def worker() -> Response:
        # From the root, so that it serves every page.
        answer = send_from_directory(STATIC, "worker.js")
        answer.mimetype = "text/javascript"
        answer.headers["Cache-Control"] = "no-cache"
        return answer

    @app.get("/session.json")
    def session() -> Response:
        answer = jsonify(form_key=site.guard.form_key())
        answer.headers["Cache-Control"] = "no-store"
        return answer

    @app.get("/offline")
    def offline() -> str:
        return render_template("offline.html")
