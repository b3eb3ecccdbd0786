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


def test_sweet_chestnut_against_printed_densities():
    # Printed, read second-hand: shrinkage 3.8 and 6.5 %, 540 kg/m³ at 12 % MC (German
    # wood information leaflet after Wagenführ 1996); 560 kg/m³ at 12 % (British data
    # sheet); 520 to 590 kg/m³ ovendry and 0.14, 0.21 to 0.26 % per % MC (German
    # flooring journal); 1000 to 1060 kg/m³ green (two trade data sheets).
    wood = find_species("sweet chestnut")
    assert (wood.shrink_radial, wood.shrink_tangential) == (3.8, 6.5)
    assert wood.coefficient_radial == 0.0014
    assert wood.coefficient_tangential == pytest.approx((0.0021 + 0.0026) / 2)
    across = 1 - (1 - 0.038) * (1 - 0.065)
    at_12 = across * (30 - 12) / 30
    of_air_dry = [d / 1.12 * (1 - at_12) for d in (0.54, 0.56)]
    of_ovendry = [d * (1 - across) for d in (0.52, 0.59)]
    assert min(of_air_dry) < wood.basic_gravity < max(of_ovendry)
    assert abs(wood.basic_gravity - sum(of_air_dry) / 2) < 0.02
    green = [100 * (d / wood.basic_gravity - 1) for d in (1.00, 1.06)]
    assert green[0] < wood.green_heartwood < green[1]
    assert wood.green_heartwood < wood.most_moisture
