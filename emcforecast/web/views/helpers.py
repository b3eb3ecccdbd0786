"""The stylesheet of the answers, which the report has too."""

from flask import Flask, Response

from emcforecast.web.rendered import stylesheet
from emcforecast.web.site import Site


def add_to(app: Flask, site: Site) -> None:
    """Add this address to an application."""
    text = stylesheet()

    @app.get("/style.css", endpoint="style")
    def style() -> Response:
        answer = Response(text, mimetype="text/css")
        answer.headers["Cache-Control"] = "private, max-age=600"
        return answer
