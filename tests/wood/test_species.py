"""The species table against the published values, and names as people say them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast import tables
from emcforecast.errors import SpeciesError
from emcforecast.report.weather import figure_source
from emcforecast.wood.added_species import species_from_mapping
from emcforecast.wood.species import (
    all_species,
    find_species,
    resolve_species,
    search_species,
)
from emcforecast.wood.species_names import key, spoken


def test_there_are_86_species():
    assert len(all_species()) == 86
    assert len({species.name for species in all_species()}) == 86


@pytest.mark.parametrize("species", all_species(), ids=lambda s: s.name)
def test_every_number_has_a_source(species):
    for row in tables.rows("species"):
        if row["species"] == species.name:
            for column in row:
                if f"{column}_source" in row and row[column]:
                    assert species.sources[column]
    assert 0.2 < species.basic_gravity < 0.8
    if species.gravity_12 is not None:
        assert species.gravity_12 > species.basic_gravity


@pytest.mark.parametrize("species", all_species(), ids=lambda s: s.name)
def test_every_species_is_found_by_its_names(species):
    assert find_species(species.name) == species
    assert find_species(species.spoken) == species
    assert find_species(species.name.upper().replace("-", " ")) == species


# Trade names as used in the trade of the two continents (common practice, no source),
# and botanical names (Wood Handbook ch. 2; EN 13556 in Europe, from memory).
NAMES = [
    ("White Oak", "oak, white"),
    ("oak white", "oak, white"),
    ("Quercus alba", "oak, white"),
    ("northern white oak", "oak, white"),
    ("quartersawn white oak", "oak, white"),
    ("white oak lumber", "oak, white"),
    ("tulipwood", "yellow-poplar"),
    ("tulip poplar", "yellow-poplar"),
    ("yellow poplar", "yellow-poplar"),
    ("hard maple", "maple, sugar"),
    ("rock maple", "maple, sugar"),
    ("European redwood", "pine, Scots"),
    ("whitewood, European", "spruce, Norway"),
    ("Oregon pine", "Douglas-fir, coast"),
    ("western red cedar", "cedar, western redcedar"),
    ("bald cypress", "baldcypress"),
    ("eastern redcedar", "cedar, eastern redcedar"),
    ("black gum", "tupelo, black"),
    ("sap gum", "sweetgum"),
    ("Fichte", "spruce, Norway"),
    ("chêne", "oak, European"),
    ("hetre", "beech, European"),
    ("Scotch pine", "pine, Scots"),
    ("ponderosa", "pine, ponderosa"),
    ("hickories", "hickory, shagbark"),
    ("Robinia", "locust, black"),
    ("olive ash", "ash, European"),
    ("European poplar", "poplar"),
]


@pytest.mark.parametrize(("name", "expected"), NAMES)
def test_trade_names(name, expected):
    assert find_species(name).name == expected


@pytest.mark.parametrize(
    ("name", "chosen"),
    [
        ("red oak", "oak, northern red"),
        ("soft maple", "maple, red"),
        ("ash", "ash, white"),
        ("walnut", "walnut, black"),
        ("southern yellow pine", "pine, loblolly"),
        ("redwood", "redwood, young-growth"),
        ("Douglas fir", "Douglas-fir, coast"),
        ("poplar", "poplar"),
        ("pin oak", "oak, northern red"),
        ("post oak", "oak, white"),
        ("London plane", "sycamore, American"),
    ],
)
def test_general_names_say_how_they_are_read(name, chosen):
    found = resolve_species(name)
    assert found.species.name == chosen
    assert found.note


@pytest.mark.parametrize(
    ("name", "choice"),
    [
        ("oak", "white oak"),
        ("pine", "ponderosa pine"),
        ("Maple", "red maple"),
        ("sycamore", "sycamore maple"),
        ("cedar", "western redcedar"),
        ("deal", "Norway spruce"),
    ],
)
def test_names_of_unlike_woods_ask(name, choice):
    with pytest.raises(SpeciesError, match=f"could be .*'{choice}'"):
        find_species(name)


@pytest.mark.parametrize(
    ("wrong", "suggestion"),
    [
        ("oka", "oak, white"),
        ("wite oak", "oak, white"),
        ("yellow popler", "yellow-poplar"),
        ("ceder", "cedar, western redcedar"),
        ("shugar maple", "maple, sugar"),
        ("blak walnut", "walnut, black"),
        ("cypres", "cypress"),
        ("wetsern red cedar", "cedar, western redcedar"),
    ],
)
def test_did_you_mean(wrong, suggestion):
    with pytest.raises(SpeciesError, match=f"Did you mean '{suggestion}'") as refusal:
        find_species(wrong)
    assert "emcforecast species" in str(refusal.value)


@pytest.mark.parametrize(
    "wrong",
    [
        "",
        "zzzz",
        "mahogany",
        "apple",
        "American chestnut",
        "horse chestnut",
        "blue gum",
    ],
)
def test_nothing_near_is_not_guessed(wrong):
    with pytest.raises(SpeciesError, match="not known") as refusal:
        find_species(wrong)
    assert "Did you mean" not in str(refusal.value)
    assert "yard file" in str(refusal.value)


def test_aliases_point_into_the_table_and_do_not_clash():
    names = {species.name for species in all_species()}
    seen = {}
    for row in tables.rows("species_names"):
        for target in row["species"].split("|"):
            assert target in names, row
        assert (row["kind"] == "name") == (
            row["note"] == "" and "|" not in row["species"]
        )
        assert seen.setdefault(key(row["name"]), row["species"]) == row["species"], row


@given(st.permutations(["oak", "northern", "red"]), st.sampled_from([" ", ", ", "-"]))
def test_word_order_does_not_count(words, between):
    assert find_species(between.join(words)).name == "oak, northern red"


@given(st.text(max_size=20))
def test_any_text_finds_or_refuses(text):
    try:
        wood = find_species(text)
    except SpeciesError:
        return
    assert wood in all_species()


def test_green_moisture_of_the_parts():
    wood = find_species("ponderosa pine")
    assert wood.green_moisture("heartwood").value == 40
    assert wood.green_moisture("sapwood").value == 148
    assert wood.green_moisture().value == 94
    assert wood.green_moisture().basis == "halves"


def test_unknown_green_moisture_says_what_stands_in():
    # The table's maples with values (Wood Handbook Table 4-1): sugar 65/72, silver
    # 58/97; red maple has none there.
    figure = find_species("red maple").green_moisture()
    assert figure.value == round((68.5 + 77.5) / 2)
    assert (figure.basis, figure.group, figure.count) == ("mean", "maple", 2)
    assert "not published; mean mixed value of the 2 of maple" in figure_source(figure)


@pytest.mark.parametrize("species", all_species(), ids=lambda s: s.name)
def test_green_wood_holds_no_more_than_its_voids(species):
    # Wood Handbook ch. 4: MC_max = 100 (1.54 - G)/(1.54 G). The published green
    # moistures and gravities come from different trees: the sapwood of old-growth
    # redwood, 210 % against 198, is the one above.
    most = 100 * (1.54 - species.basic_gravity) / (1.54 * species.basic_gravity)
    assert species.most_moisture == pytest.approx(most)
    for part in ("mixed", "heartwood", "sapwood"):
        figure = species.green_moisture(part)
        published = figure.basis != "mean"
        exception = published and species.name == "redwood, old-growth"
        assert 25 < figure.value <= most + 0.5 + 12 * exception


def test_unknown_part_is_refused():
    with pytest.raises(SpeciesError, match="heartwood, sapwood or mixed"):
        find_species("white oak").green_moisture("pith")


def test_search_lists_by_any_name():
    assert "oak, European" in {s.name for s in search_species("oak")}
    assert [s.name for s in search_species("Liriodendron")] == ["yellow-poplar"]
    assert [s.name for s in search_species("tulipwood")] == ["yellow-poplar"]
    assert search_species("qqq") == ()


def test_search_takes_no_part_of_a_word_where_a_whole_one_is():
    # Slash pine is no ash (plain words).
    found = {species.name for species in search_species("ash")}
    assert "ash, white" in found
    assert not [name for name in found if "pine" in name]
    assert "yellow-poplar" in {species.name for species in search_species("poplar")}
    # No word begins so: any part will do.
    assert "yellow-poplar" in {species.name for species in search_species("iodendron")}


def test_spoken_names():
    assert spoken("oak, white") == "white oak"
    assert spoken("cedar, western redcedar") == "western redcedar"
    assert spoken("hackberry") == "hackberry"


def test_a_persons_own_species():
    apple = species_from_mapping(
        "apple",
        {"basic_gravity": 0.61, "shrink_radial": 5.6, "shrink_tangential": 10.1},
    )
    assert find_species("Apple", {"apple": apple}) is apple
    assert apple.region == "added"
    assert apple.sources["basic_gravity"] == "your yard file"
    assert apple.green_moisture().basis == "mean"
    assert find_species(apple) is apple


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({}, "needs basic_gravity"),
        ({"basic_gravity": 610}, "not a number from"),
        ({"basic_gravity": "0.6"}, "not a number from"),
        ({"basic_gravity": True}, "not a number from"),
        ({"basic_gravity": float("nan")}, "not a number from"),
        ({"basic_gravity": 0.6, "kind": "fern"}, "hardwood or softwood"),
        ({"basic_gravity": 0.6, "shrink_radal": 5}, "Did you mean 'shrink_radial'"),
    ],
)
def test_own_species_refused(values, says):
    with pytest.raises(SpeciesError, match=says):
        species_from_mapping("apple", values)
