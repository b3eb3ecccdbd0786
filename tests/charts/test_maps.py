"""Maps: equal areas, coasts in their place, colours told apart, words apart too.

Sources: the land of the earth is 148.9 million km² (29 % of it; CIA World Factbook,
from memory); colours as in `test_palette`.
"""

import re
from itertools import combinations
from xml.etree import ElementTree

import numpy as np
import pytest
import xarray as xr
from colorspacious import cspace_convert
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

from emcforecast.charts.cells import place_cells
from emcforecast.charts.coast import coast_rings
from emcforecast.charts.drawn import drawn
from emcforecast.charts.map import ZERO_LINE, map_figure
from emcforecast.charts.map_labels import Name
from emcforecast.charts.projection import Projection
from emcforecast.charts.ramp import MOST_COLOURS, colours, whole_levels
from emcforecast.charts.style import DARK, LIGHT, Look
from emcforecast.errors import InputError

pytest.importorskip("pyproj")
LEAST_STEP = 4.0
"""Of CIECAM02 lightness between neighbours of twelve colours; our choice, no source."""
EARTH_KM = 6370.997
REGIONS = {
    "world": Projection(-180.0, 180.0, -90.0, 90.0),
    "continent": Projection(-12.0, 42.0, 34.0, 72.0),
    "across the date line": Projection(150.0, 215.0, -50.0, 5.0),
    "across the equator": Projection(-20.0, 55.0, -38.0, 38.0),
    "a region": Projection(-1.0, 1.0, 51.0, 52.5),
    "round a pole": Projection(-180.0, 180.0, 50.0, 90.0),
}


def grid(
    north: np.ndarray, east: np.ndarray, values: np.ndarray | None = None
) -> xr.Dataset:
    if values is None:
        values = 12.0 + 6.0 * np.sin(north / 20.0)[:, None] * np.cos(east / 30.0)
    return xr.Dataset(
        {"year_lowest_p50": (("latitude", "longitude"), values)},
        coords={"latitude": north, "longitude": east},
        attrs={"source": "an invented grid", "attribution": "nobody"},
    )


WORLD = grid(np.arange(87.5, -90.0, -5.0), np.arange(-177.5, 180.0, 5.0))
EUROPE = grid(np.arange(70.0, 34.0, -2.5), np.arange(-10.0, 41.0, 2.5))


@pytest.mark.parametrize("region", REGIONS)
def test_areas_are_true_everywhere(region: str) -> None:
    p = REGIONS[region]
    for share in ((0.5, 0.5), (0.2, 0.7), (0.8, 0.3)):
        east = p.west + share[0] * (p.east - p.west)
        north = p.south + share[1] * (p.north - p.south)
        d = 1e-3
        x, y = p.xy(
            [east, east + d, east + d, east], [north, north, north + d, north + d]
        )
        drawn_area = 0.5 * abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1)))
        ground = (
            (EARTH_KM * 1e3) ** 2
            * np.radians(d)
            * (np.sin(np.radians(north + d)) - np.sin(np.radians(north)))
        )
        assert drawn_area == pytest.approx(ground, rel=1e-3), (region, share)


def shoelace(ring: np.ndarray) -> float:
    x, y = ring.T
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def test_the_land_of_the_earth() -> None:
    land = REGIONS["world"].land(coast_rings())
    assert land is not None
    # Rings of lakes turn the other way round.
    area = abs(sum(shoelace(part) for part in land.to_polygons())) * 1e-12
    # Coasts drawn at 1 to 110 million leave out small islands: within 2 %.
    assert area == pytest.approx(148.9, rel=0.02)


@pytest.mark.parametrize(
    ("place", "north", "east", "is_land"),
    [
        ("Madrid", 40.4, -3.7, True),
        ("Moscow", 55.8, 37.6, True),
        ("Adriatic", 43.0, 15.2, False),
        ("North Sea", 56.5, 3.0, False),
        ("Gulf of Bothnia", 62.5, 19.5, False),
    ],
)
@pytest.mark.parametrize("region", ["world", "continent"])
def test_land_and_sea_are_in_their_place(
    region: str, place: str, north: float, east: float, is_land: bool
) -> None:
    p = REGIONS[region]
    land = p.land(coast_rings())
    assert land is not None
    x, y = p.xy(east, north)
    assert land.contains_point((float(x), float(y))) == is_land, place


def test_each_cell_lies_within_its_own_edges() -> None:
    for ds in (WORLD, EUROPE, EUROPE.isel(latitude=[3]), EUROPE.isel(longitude=[1])):
        cells = place_cells(ds["year_lowest_p50"])
        low = np.minimum(cells.x_edges[:-1, :-1], cells.x_edges[1:, :-1])
        high = np.maximum(cells.x_edges[:-1, 1:], cells.x_edges[1:, 1:])
        assert (low <= cells.x).all()
        assert (cells.x <= high).all()


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("sight", [None, "deuteranomaly", "protanomaly", "tritanomaly"])
def test_damp_is_darker_for_every_eye_and_in_grey(
    look: Look, sight: str | None
) -> None:
    for count in (2, 5, MOST_COLOURS):
        ramp, _ = colours(list(range(count + 1)), look)
        tones = ramp(np.arange(count))[:, :3]
        if sight is not None:
            space = {"name": "sRGB1+CVD", "cvd_type": sight, "severity": 100}
            tones = np.clip(cspace_convert(tones, space, "sRGB1"), 0.0, 1.0)
        light = cspace_convert(tones, "sRGB1", "JCh")[:, 0]
        assert (np.diff(light) < -LEAST_STEP).all(), (count, light)


def test_levels_are_whole_per_cent_and_few() -> None:
    for low, high in ((3.2, 4.1), (0.0, 21.0), (7.0, 7.0), (5.5, 60.0)):
        levels = whole_levels(low, high)
        assert levels[0] <= low
        assert levels[-1] >= high
        assert len(levels) - 1 <= MOST_COLOURS
        assert all(level == int(level) for level in levels)


def boxes(figure: Figure) -> list[tuple[str, object]]:
    canvas = FigureCanvasAgg(figure)
    figure.draw_without_rendering()
    found = []
    for text in figure.findobj(Text):
        words = text.get_text().strip()
        if words and text.get_visible():
            found.append((words, text.get_window_extent(canvas.get_renderer())))
    return found


CASES = {
    "world": WORLD,
    "continent": EUROPE,
    "one row": EUROPE.isel(latitude=[4]),
    "one cell": EUROPE.isel(latitude=[4], longitude=[5]),
    "7 × 7": grid(51.0 + 0.125 * np.arange(7), -0.5 + 0.125 * np.arange(7)),
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("narrow", [False, True], ids=["wide", "narrow"])
def test_no_word_crosses_another_or_the_edge(case: str, narrow: bool) -> None:
    figure = map_figure(CASES[case], names=True, narrow=narrow, look=DARK)
    figure.set_dpi(100)
    held = boxes(figure)
    for (one, a), (other, b) in combinations(held, 2):
        assert not a.padded(-1.0).overlaps(b.padded(-1.0)), (one, other)  # type: ignore[attr-defined]
    whole = figure.bbox
    for words, box in held:
        assert whole.x0 <= box.x0 and box.x1 <= whole.x1, words  # type: ignore[attr-defined]  # noqa: PT018


def title_of(figure: Figure) -> str:
    assert figure.get_suptitle()
    return figure.get_suptitle().replace("\n", " ")


def test_the_title_says_the_numbers_of_the_map() -> None:
    rows, columns = np.array([60.0, 0.0]), np.array([10.0, 11.0, 12.0])
    # By area the row at the equator is twice the one at 60°.
    values = np.array([[6.0, 6.0, 6.0], [14.0, 14.0, 18.0]])
    figure = map_figure(grid(rows, columns, values), land_only=False)
    assert title_of(figure).startswith(
        "Wood dries to 14 % or less over half the area: 6 % where it is driest, 18 % "
        "where it is dampest"
    )
    same = map_figure(grid(rows, columns, np.full((2, 3), 9.2)), land_only=False)
    assert title_of(same).startswith("Wood dries to 9 % everywhere")
    own = map_figure(grid(rows, columns, values), title="A finding")
    assert title_of(own).startswith("A finding")


def test_a_panel_for_each_place_and_the_driest_month() -> None:
    north, east = np.arange(40.0, 60.0, 2.0), np.arange(0.0, 20.0, 2.0)
    months = 10.0 + np.arange(12.0)
    values = np.broadcast_to(months[None, :, None, None], (2, 12, 10, 10)).copy()
    values[1] -= 4.0
    ds = xr.Dataset(
        {"lowest_p50": (("place", "month", "latitude", "longitude"), values)},
        coords={"place": ["outdoor", "indoor"], "latitude": north, "longitude": east},
    )
    figure = map_figure(ds)
    assert title_of(figure).startswith(
        "How dry wood gets over half the area: outdoors 10 %, indoors 6 %"
    )
    titles = [axes.get_title(loc="left") for axes in figure.axes]
    assert titles[:2] == ["Outdoors", "Indoors"]


def test_own_places_are_marked_and_the_same_bytes_come_again() -> None:
    yard = [Name("The yard", 51.4, -0.2)]
    figure = map_figure(CASES["7 × 7"], names=yard)
    assert "The yard" in [words for words, _ in boxes(figure)]
    one, other = (drawn(map_figure(CASES["7 × 7"], names=yard)) for _ in range(2))
    assert one == other


def test_a_map_without_a_value_says_so() -> None:
    empty = EUROPE * np.nan
    figure = map_figure(empty)
    assert title_of(figure).startswith("No place of the grid has air")


def test_a_change_is_said_and_drawn_as_one():
    """Half the cells 1 % MC damper, half 0.4 % drier: the middle, the ends, a line at
    no change; of months the mean, not the driest."""
    area = {"latitude": [40.0, 41.0, 42.0], "longitude": [10.0, 11.0, 12.0, 13.0]}
    change = np.full((12, 3, 4), -0.4)
    change[:, :, 2:] = 1.0
    change[0] -= 1.2  # January alone: a twelfth of it counts.
    change[1] += 1.2
    grid = xr.Dataset(
        {
            "emc": (("month", *area), np.full((12, 3, 4), 12.0), {"long_name": "emc"}),
            "emc_change": (("month", *area), change, {"long_name": "change: emc"}),
        },
        coords={"month": np.arange(1, 13), **area},
        attrs={"periods": "1991 to 2020; 2041 to 2070"},
    )
    fig = map_figure(grid, variable="emc_change")
    said = fig.get_suptitle().replace("\n", " ")
    assert said.startswith("2041 to 2070 less 1991 to 2020:")
    assert "-0.4 to +1.0 % from place to place" in said
    assert "Change of the year's mean EMC" in said
    assert "dries" not in said
    widths = {
        round(float(w), 2)
        for c in fig.axes[0].collections
        for w in np.atleast_1d(c.get_linewidths())
    }
    assert ZERO_LINE in widths


def test_a_list_of_cells_is_refused_in_one_line() -> None:
    listed = xr.Dataset({"emc": (("list", "cell"), np.ones((1, 2)))}).assign_coords(
        latitude=(("list", "cell"), [[48.0, 48.5]]),
        longitude=(("list", "cell"), [[14.0, 15.0]]),
    )
    with pytest.raises(InputError, match="this grid is a list of cells"):
        map_figure(listed, variable="emc")


def lowest_point(shape: ElementTree.Element) -> float:
    """Lowest point of a path or a rectangle of an SVG, from its top."""
    if shape.tag.endswith("rect"):
        return float(shape.attrib["y"]) + float(shape.attrib["height"])
    numbers = re.findall(r"-?[\d.]+", shape.attrib["d"])
    return max(map(float, numbers[1::2]))


def test_no_shape_of_an_svg_reaches_under_the_map() -> None:
    """SVG cuts a shape by one clip alone, here the land or the drawing's edge."""
    figure = map_figure(WORLD)
    FigureCanvasAgg(figure).draw()
    edge = figure.axes[0].get_window_extent()
    root = ElementTree.fromstring(drawn(figure, "svg"))
    height = float(root.attrib["viewBox"].split()[3])
    clips = {c.attrib["id"]: lowest_point(c[0]) for c in root.findall(".//{*}clipPath")}
    (map_alone,) = root.findall(".//*[@id='axes_1']")
    shapes = map_alone.findall(".//*[@clip-path]")
    assert len(shapes) > 20
    for shape in shapes:
        clip = clips[shape.attrib["clip-path"].removeprefix("url(#").removesuffix(")")]
        seen = min(lowest_point(shape), clip)
        assert seen <= height - edge.y0 * 72.0 / figure.dpi + 1.0
