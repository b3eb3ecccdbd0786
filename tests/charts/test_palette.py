"""The three colours of places are told apart in grey and by eyes that lack a colour.

Source: CIECAM02 lightness and the deficiency model of Machado and others (2009), both
as the library `colorspacious` computes them; contrast as WCAG 2.2 defines it (from
memory: 3 to 1 for lines, 4.5 to 1 for words).
"""

from itertools import combinations

import numpy as np
import pytest
from colorspacious import cspace_convert

from emcforecast.charts.style import DARK, DASHES, LIGHT, Look

PLACES = ("outdoor", "shed", "indoor")
LEAST_LIGHTNESS = 12.0
"""Steps of lightness between two places; our choice, no source."""


def rgb(colour: str) -> np.ndarray:
    return np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0


def luminance(colour: str) -> float:
    part = rgb(colour)
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("sight", [None, "deuteranomaly", "protanomaly", "tritanomaly"])
def test_places_differ_in_lightness(look: Look, sight: str | None) -> None:
    seen = {}
    for place in PLACES:
        colour = rgb(look.of(place))
        if sight is not None:
            space = {"name": "sRGB1+CVD", "cvd_type": sight, "severity": 100}
            colour = np.clip(cspace_convert(colour, space, "sRGB1"), 0.0, 1.0)
        seen[place] = float(cspace_convert(colour, "sRGB1", "JCh")[0])
    for one, other in combinations(PLACES, 2):
        assert abs(seen[one] - seen[other]) >= LEAST_LIGHTNESS, (one, other, seen)


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
def test_lines_and_words_stand_out(look: Look) -> None:
    for place in PLACES:
        assert contrast(look.of(place), look.paper) >= 3.0, place
    assert contrast(look.ink, look.paper) >= 4.5
    assert contrast(look.mark, look.paper) >= 4.5


def test_places_differ_in_stroke_too() -> None:
    assert len({str(DASHES[place]) for place in PLACES}) == 3
