"""Words in pictures: none over another, none cut off, wide and narrow, both units."""

from itertools import combinations
from typing import Any

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text
from matplotlib.transforms import Bbox

from emcforecast import dry, floor, read_weather
from emcforecast.charts import style
from emcforecast.charts.dry import dry_figure
from emcforecast.charts.floor import floor_figure
from emcforecast.ensemble.route import Cut
from emcforecast.forecast.targets import target_for_use, target_of_number
from emcforecast.report.dry import places
from emcforecast.storage.kinds import KINDS
from emcforecast.storage.setting_text import parse_setting

SLACK = 2.0
"""Pixels by which type may touch."""


@pytest.fixture(scope="module")
def weather() -> Any:
    return read_weather("demo").sel(time=slice("2010", "2012"))


def boxes(figure: Figure) -> dict[str, Bbox]:
    """Return where each word beside a line stands, in pixels."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    found = {}
    for axes in figure.axes:
        for text in axes.texts:
            if isinstance(text, Annotation) and text.get_text():
                renderer = canvas.get_renderer()
                # The words alone, without the line that leads to them.
                found[text.get_text()] = Text.get_window_extent(text, renderer)
    return found


def check(figure: Figure) -> None:
    found = boxes(figure)
    assert found
    page = figure.bbox
    for word, box in found.items():
        assert box.x0 >= page.x0 - SLACK, word
        assert box.x1 <= page.x1 + SLACK, word
        assert box.y1 <= page.y1 + SLACK, word
    for (one, a), (other, b) in combinations(found.items(), 2):
        wide = min(a.x1, b.x1) - max(a.x0, b.x0)
        high = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert wide <= SLACK or high <= SLACK, f"{one!r} over {other!r}"


@pytest.fixture(
    scope="module",
    params=[
        (),
        ("shed=loft,roof=metal", "indoor=house-cooled"),
        ("shed=attic", "outdoor=stack-roof", "indoor=dry-room"),
    ],
)
def floors(weather: Any, request: pytest.FixtureRequest) -> Any:
    settings = [parse_setting(text) for text in request.param]
    return floor(weather, "red oak", "4/4", settings)


@pytest.mark.parametrize("narrow", [False, True])
def test_floor_words_stand_clear(floors: Any, narrow: bool) -> None:
    answer = floors
    titles = {name: KINDS[s.kind].title for name, s in answer.settings.items()}
    for targets in (
        [target_for_use("furniture")],
        [target_of_number(8.0), target_of_number(12.0)],
    ):
        check(
            floor_figure(
                answer, titles, targets=targets, system="us", narrow=narrow,
                source="a place, an archive", look=style.DARK,
            )
        )  # fmt: skip


@pytest.fixture(scope="module")
def moved(weather: Any) -> Any:
    return dry(
        weather, "white oak", "4/4", "2026-04-01", "outdoor=stack-roof", 10.0,
        moves=[("2026-09-01", "indoor")],
    )  # fmt: skip


@pytest.mark.parametrize("narrow", [False, True])
def test_dry_words_stand_clear(moved: Any, narrow: bool) -> None:
    figure = dry_figure(moved, places(moved), system="us", narrow=narrow)
    check(figure)
    legend = figure.axes[0].get_legend()
    assert legend is not None
    named = {text.get_text() for text in legend.get_texts()}
    assert {"likely", "core", "shell", "EMC of the air", "to the heated house"} <= named


def test_a_cut_is_drawn_on_its_day(weather: Any) -> None:
    day = np.datetime64("2026-11-01", "D")
    answer = dry(
        weather, "white oak", "8/4", "2026-04-01", "shed", 14.0,
        cuts=[Cut(day, 24.0, "resaw")],
    )  # fmt: skip
    figure = dry_figure(answer, places(answer))
    check(figure)
    lines = {line.get_label(): line for line in figure.axes[0].get_lines()}
    drawn = lines["resawn to 24 mm"].get_xdata()
    assert list(drawn) == [float(date2num(day))] * 2
