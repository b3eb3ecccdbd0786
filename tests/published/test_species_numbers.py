"""The numbers of the species table against the published ones."""

import csv
from pathlib import Path

import pytest
from outside import PublishedCheck

from emcforecast.wood.species import all_species, find_species

SOURCE = PublishedCheck(
    what="green moisture, shrinkage and gravity of the packaged species",
    source="Wood Handbook FPL-GTR-190, Tables 4-1, 4-3 and 5-3",
    provenance="retrieved",
    kind="implemented",
    tolerance="equal",
    why="they are the table's own digits",
)


SHARED = Path(__file__).parents[2] / "../shared/reference"


# Wood Handbook, FPL-GTR-190: Table 4-1 green moisture (heartwood, sapwood), Table 4-3
# radial and tangential shrinkage, Table 5-3 basic specific gravity. Printed digits.
HANDBOOK = [
    ("white oak", 64, 78, 5.6, 10.5, 0.60),
    ("northern red oak", 80, 69, 4.0, 8.6, 0.56),
    ("sugar maple", 65, 72, 4.8, 9.9, 0.56),
    ("yellow-poplar", 83, 106, 4.6, 8.2, 0.40),
    ("black walnut", 90, 73, 5.5, 7.8, 0.51),
    ("ponderosa pine", 40, 148, 3.9, 6.2, 0.38),
    ("western redcedar", 58, 249, 2.4, 5.0, 0.31),
]


@pytest.mark.parametrize(("name", "heart", "sap", "radial", "tang", "g"), HANDBOOK)
def test_handbook_values(name, heart, sap, radial, tang, g, record_reached):
    wood = find_species(name)
    assert (wood.green_heartwood, wood.green_sapwood) == (heart, sap)
    assert (wood.shrink_radial, wood.shrink_tangential) == (radial, tang)
    record_reached("basic specific gravity", wood.basic_gravity - g)
    assert wood.basic_gravity == g


@pytest.mark.skipif(not SHARED.is_dir(), reason="the reference tables are not here")
def test_packaged_table_holds_the_reference_values():
    with (SHARED / "species_properties_wide.csv").open(newline="") as handle:
        reference = list(csv.DictReader(handle))
    columns = {
        "green_heartwood": "green_mc_heart_pct",
        "green_sapwood": "green_mc_sap_pct",
        "shrink_radial": "shrink_radial_pct",
        "shrink_tangential": "shrink_tangential_pct",
        "shrink_volumetric": "shrink_volumetric_pct",
        "basic_gravity": "sg_basic",
        "gravity_12": "sg_12",
        "coefficient_radial": "CR_per_pct",
        "coefficient_tangential": "CT_per_pct",
    }
    # Woods of other continents come after those of the reference tables.
    packaged = all_species()[: len(reference)]
    for row, species in zip(reference, packaged, strict=True):
        for ours, theirs in columns.items():
            value = getattr(species, ours)
            if row[theirs]:
                assert value == pytest.approx(float(row[theirs])), (species.name, ours)
            else:
                assert value is None, (species.name, ours)
