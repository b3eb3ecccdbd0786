"""Stack weight against practice and the definitions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast.errors import InputError
from emcforecast.report.weather import moisture_source
from emcforecast.units import kg_per_m2_to_pounds_per_ft2
from emcforecast.wood.species import all_species, find_species
from emcforecast.wood.weight import Stickers, board_density, stack_weight


@pytest.mark.parametrize("name", ["white oak", "northern red oak", "black oak"])
def test_green_oak_weighs_about_five_pounds(name):
    # Common practice, no source: green oak is about 5 lb/ft² per inch of layer.
    layer = stack_weight(find_species(name), 25.4, 1).layer_kg_per_m2
    assert kg_per_m2_to_pounds_per_ft2(layer) == pytest.approx(5.0, abs=0.5)


def test_eight_layers_of_green_oak_pass_forty():
    # Common practice, no source.
    assert stack_weight(find_species("red oak"), 27.0, 8).lb_per_ft2 > 40.0


# Wood Handbook FPL-GTR-190 ch. 4, density of wood by specific gravity and moisture:
# ρ = 1000 G (1 + M/100) on the volume at M; above fibre saturation that is green.
# Table 4-6a prints 1,120 kg/m³ at G 0.70 and 60 % (from memory).
def test_density():
    oak = find_species("white oak")
    assert board_density(oak, 60.0) == pytest.approx(1000 * 0.60 * 1.6)


def test_layers_and_stickers_by_hand():
    oak = find_species("white oak")
    strips = Stickers(thickness_mm=20, width_mm=40, spacing_mm=400, density=500)
    # One row: 0.020 m × 0.040 m / 0.400 m × 500 kg/m³ = 1.0 kg/m².
    assert strips.kg_per_m2 == pytest.approx(1.0)
    stack = stack_weight(
        oak,
        50.0,
        4,
        moisture=20.0,
        fill=0.9,
        stickers=strips,
        width_mm=1200,
        length_mm=2500,
    )
    # 0.050 × 600 × 1.2 × 0.9 = 32.4 kg/m² a layer; × 4 + 4; 3 m².
    assert stack.layer_kg_per_m2 == pytest.approx(32.4)
    assert stack.kg_per_m2 == pytest.approx(133.6)
    assert stack.total_kg == pytest.approx(400.8)
    assert moisture_source(stack) == "as given"


def test_without_a_footprint_there_is_no_total():
    assert stack_weight(find_species("white oak"), 27.0, 3).total_kg is None


@given(
    st.sampled_from(all_species()),
    st.floats(5, 150),
    st.integers(1, 60),
    st.floats(0, 100),
    st.floats(0.1, 100),
)
def test_wetter_and_more_is_heavier(species, thickness, layers, moisture, more):
    stack = stack_weight(species, thickness, layers, moisture=moisture)
    assert stack.kg_per_m2 > 0
    wetter = stack_weight(species, thickness, layers, moisture=moisture + more)
    assert wetter.kg_per_m2 > stack.kg_per_m2
    taller = stack_weight(species, thickness, layers + 1, moisture=moisture)
    assert taller.kg_per_m2 == pytest.approx(stack.kg_per_m2 * (layers + 1) / layers)


@pytest.mark.parametrize(
    "wrong",
    [
        {"layers": 0},
        {"layers": 4, "fill": 1.5},
        {"layers": 4, "moisture": -3.0},
        {"layers": 4, "thickness_mm": 0.0},
        {"layers": 4, "width_mm": 0.0},
    ],
)
def test_bad_numbers_are_refused(wrong):
    given_numbers = {"thickness_mm": 27.0, **wrong}
    with pytest.raises(InputError, match="outside"):
        stack_weight(find_species("white oak"), **given_numbers)


def test_stickers_when_none_are_named():
    # 22 mm × 38 mm every 500 mm, of 600 kg/m³: 0.022 × 0.038 / 0.5 × 600 = 1.0032.
    assert Stickers().kg_per_m2 == pytest.approx(1.0032)
    stack = stack_weight(find_species("white oak"), 27.0, 10, moisture=20.0)
    assert stack.stickers_kg_per_m2 == pytest.approx(1.0032)


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("layers", 1, 1000),
        ("thickness_mm", 1, 600),
        ("fill", 0.3, 1.0),
        ("width_mm", 10, 50_000),
        ("length_mm", 10, 50_000),
        ("moisture", 0, 300),
    ],
)
def test_what_is_taken_and_what_is_refused(name, least, most):
    # The ends are those the refusals name.
    oak, usual = find_species("white oak"), {"layers": 4, "thickness_mm": 27.0}
    for inside in (least, most):
        assert stack_weight(oak, **{**usual, name: inside}).kg_per_m2 > 0.0
    for outside in (least - 0.01 * (least or 100), 1.01 * most):
        with pytest.raises(InputError, match=f"{least:g} to {most:g}"):
            stack_weight(oak, **{**usual, name: outside})
