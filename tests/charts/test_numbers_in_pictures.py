"""The numbers that a picture draws are the numbers of the answer."""

from typing import Any

import numpy as np
import pytest
from matplotlib.dates import date2num

from emcforecast import dry, floor, plan, read_weather
from emcforecast.charts.dry import dry_figure
from emcforecast.charts.floor import floor_figure
from emcforecast.charts.plan import plan_figure
from emcforecast.forecast.targets import target_for_use


@pytest.fixture(scope="module")
def weather() -> Any:
    return read_weather("demo").sel(time=slice("2009", "2012"))


def dots(axes: Any) -> list[tuple[float, float]]:
    """Return the places of the dots, in data."""
    return [
        (float(line.get_xdata()[0]), float(line.get_ydata()[0]))
        for line in axes.get_lines()
        if line.get_marker() == "o" and len(line.get_xdata()) == 1
    ]


def test_floor_draws_the_lows_that_it_says(weather: Any) -> None:
    found = floor(weather)
    figure = floor_figure(found, dict.fromkeys(found.settings, "place"), targets=[])
    drawn = sorted(level for _, level in dots(figure.axes[0]))
    lows = [setting.lowest.p50 for setting in found.settings.values()]
    assert drawn == pytest.approx(sorted(lows))
    title = figure.axes[0].get_title(loc="left")
    assert all(f"{low:.0f} %" in title for low in lows)
    bars = [
        sorted(float(y) for y in line.get_ydata())
        for line in figure.axes[0].get_lines()
        if line.get_marker() == "_"
    ]
    places = [setting.lowest.place for setting in found.settings.values()]
    assert sorted(bars) == sorted(sorted([p.low, p.high]) for p in places)


def test_dry_draws_the_dates_that_it_says(weather: Any) -> None:
    found = dry(weather, "white oak", 27, stacked="2026-04-01", setting="shed",
                target=15.0)  # fmt: skip
    figure = dry_figure(found, "shed")
    drawn = dots(figure.axes[0])
    steps = {step.mc: step for step in (*found.steps, found.target)}
    wanted = [(float(date2num(s.p50)), mc) for mc, s in steps.items() if s.p50]
    assert len(drawn) == len(wanted)
    assert np.allclose(sorted(drawn), sorted(wanted))
    for mc, step in steps.items():
        spans = [
            line.get_xdata()
            for line in figure.axes[0].get_lines()
            if np.allclose(line.get_ydata(), mc) and line.get_marker() == "None"
        ]
        ends = sorted(float(date2num(day)) for day in (step.p10, step.p90) if day)
        assert any(np.allclose(sorted(span)[: len(ends)], ends) for span in spans), mc


def test_plan_draws_the_curve_or_the_nearest_date(weather: Any) -> None:
    use = target_for_use("furniture")
    words = {"stacked": "2026-04-01", "target": use, "have": ["shed", "indoor"],
             "members": 4}  # fmt: skip
    good = plan(weather, "yellow-poplar", 27, need="2027-02-01", **words)
    axes = plan_figure(good).axes[0]
    curve = axes.get_lines()[0]
    assert np.allclose(curve.get_ydata(), 100.0 * good.curve)
    assert f"{100 * good.probability_by_need:.0f} in 100" in axes.get_title(
        loc="left"
    ) or (good.probability_by_need > 0.99)
    late = plan(weather, "white oak", 54, need="2026-07-01", **words)
    later = late.earliest or late.earliest_even
    assert later is not None
    figure = plan_figure(late)
    assert len(figure.axes) == 1
    said = " ".join(text.get_text() for text in figure.axes[0].texts)
    assert f"{later.ready.day} {later.ready:%b %Y}" in said
    assert "needed, 1 Jul 2026" in said
