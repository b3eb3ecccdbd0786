"""End checks, honeycomb, collapse and heated rooms, by hand from their conditions.

The conditions are those of the published kiln schedules' first steps (Dry Kiln
Operator's Manual, from memory); where levels begin is a stated assumption.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from emcforecast.physics.sorption import (
    equilibrium_humidity,
    equilibrium_moisture_content,
)
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import risk_reason
from emcforecast.wood.added_species import species_from_mapping
from emcforecast.wood.risks.checking import checking_by_week, rate_by_density
from emcforecast.wood.risks.week import RiskWeek
from emcforecast.wood.risks.weekly import weekly_risks
from emcforecast.wood.species import find_species

WEEK = np.datetime64("2025-05-05T00") + np.arange(7 * 24)


def risks(name, *, t, rh, mean, core=None, thickness="4/4", falls=0.0, **options):
    wood = find_species(name) if isinstance(name, str) else name
    mean = mean - falls / 24.0 * np.arange(WEEK.size)
    found = weekly_risks(
        WEEK,
        np.broadcast_to(np.asarray(t, dtype=float), WEEK.shape),
        np.full(WEEK.size, float(rh)),
        mean,
        0.7 * mean,
        core=None if core is None else np.full(WEEK.size, float(core)),
        species=wood,
        thickness=thickness,
        **options,
    )
    return {week.risk: week for week in found}


@pytest.mark.parametrize(
    ("name", "rh", "level"),
    [
        # EMC at 43 °C by the handbook table: 17.6 at 87 %, 14.0 at 79 %, 9.2 at 58 %.
        ("white oak", 88, "low"),
        ("white oak", 79, "moderate"),
        ("white oak", 68, "high"),
        ("white oak", 50, "severe"),
        ("black cherry", 82, "low"),
        ("black cherry", 68, "moderate"),
        ("yellow-poplar", 75, "low"),
    ],
)
def test_ends_check_in_air_drier_than_the_schedule_begins(name, rh, level):
    found = risks(name, t=43.0, rh=rh, mean=np.full(WEEK.size, 65.0))["end checks"]
    assert found.level == level
    assert found.measure == pytest.approx(equilibrium_moisture_content(43.0, rh))
    assert bool(risk_advice(found)) == (level != "low")


def test_sealed_and_dry_ends_do_not_check():
    wet = np.full(WEEK.size, 65.0)
    sealed = risks("white oak", t=25.0, rh=45, mean=wet, sealed_ends=True)
    assert sealed["end checks"].level == "low"
    assert "sealed" in risk_reason(sealed["end checks"])
    dry = risks("white oak", t=25.0, rh=45, mean=np.full(WEEK.size, 22.0))
    assert dry["end checks"].level == "low"


@pytest.mark.parametrize(
    ("t", "core", "thickness", "level"),
    [
        (42.0, 60, "4/4", "low"),
        (44.0, 60, "4/4", "severe"),  # all 168 hours above 43 °C
        (44.0, 29, "4/4", "low"),  # no free water in the core
    ],
)
def test_heat_with_a_wet_core_makes_honeycomb_in_oak(t, core, thickness, level):
    mean = np.full(WEEK.size, 28.0)
    found = risks("white oak", t=t, rh=85, mean=mean, core=core, thickness=thickness)[
        "honeycomb"
    ]
    assert found.level == level


def test_honeycomb_counts_its_hot_hours_and_thick_stock_stands_less():
    warm = np.where(np.arange(WEEK.size) < 12, 52.0, 30.0)
    mean = np.full(WEEK.size, 60.0)
    thin = risks("hard maple", t=warm, rh=85, mean=mean)["honeycomb"]
    thick = risks("hard maple", t=warm, rh=85, mean=mean, thickness="8/4")["honeycomb"]
    assert (thin.level, thin.measure) == ("low", 0.0)  # 54 °C at 4/4
    assert (thick.level, thick.measure) == ("high", 12.0)  # 49 °C at 8/4
    assert "12 hours" in risk_reason(thick)


@pytest.mark.parametrize(
    ("hours", "level"), [(0, "low"), (2, "moderate"), (11, "high"), (31, "severe")]
)
def test_levels_by_hot_hours(hours, level):
    # docs/risks.md: 1, 10 and 30 hours of the week; oak stands 43 °C.
    warm = np.where(np.arange(WEEK.size) < hours, 45.0, 30.0)
    mean = np.full(WEEK.size, 60.0)
    for thickness in ("4/4", "25mm", "8/4", "50mm"):
        found = risks("white oak", t=warm, rh=85, mean=mean, thickness=thickness)
        assert found["honeycomb"].level == level
    # 52 °C: maple stands it at 25 mm, not at 50.
    hot = np.where(np.arange(WEEK.size) < hours, 52.0, 30.0)
    thin, thick = (
        risks("hard maple", t=hot, rh=85, mean=mean, thickness=size)["honeycomb"].level
        for size in ("25mm", "50mm")
    )
    assert (thin, thick) == ("low", level)


def test_severe_surface_checks_of_wet_wood_close_and_stay_inside():
    # A drying column of the trade press: honeycomb begins as surface checks above 50 %.
    mean = np.full(WEEK.size, 70.0)
    fast = risks("white oak", t=20.0, rh=75, mean=mean, falls=3.0)
    assert fast["surface checks"].level == "severe"
    assert fast["honeycomb"].level == "high"
    later = risks("white oak", t=20.0, rh=75, mean=mean - 21.0, falls=3.0)
    assert later["surface checks"].level == "severe"
    assert later["honeycomb"].level == "low"


def test_only_some_woods_collapse_and_eucalypts_soonest():
    mean = np.full(WEEK.size, 80.0)
    gum = species_from_mapping(
        "my gum", {"basic_gravity": 0.55, "scientific": "Eucalyptus regnans"}
    )
    assert risks(gum, t=32.0, rh=85, mean=mean)["collapse"].level == "severe"
    assert risks(gum, t=29.0, rh=85, mean=mean)["collapse"].level == "low"
    assert risks("redwood", t=32.0, rh=85, mean=mean)["collapse"].level == "low"
    assert risks("redwood", t=52.0, rh=85, mean=mean)["collapse"].level == "severe"
    assert risks("hard maple", t=52.0, rh=85, mean=mean)["collapse"].level == "low"
    assert risks(gum, t=32.0, rh=85, mean=mean - 35)["collapse"].level == "low"


def test_a_green_core_in_a_heated_room_checks_though_the_mean_is_dry_enough():
    # 21 °C and 35 %: EMC 7.0, the faces follow it, the core still holds free water.
    mean = 29.0 - 0.2 / 24.0 * np.arange(WEEK.size)
    given = {
        "temperature": np.full(WEEK.size, 21.0),
        "humidity": np.full(WEEK.size, 35.0),
    }
    ash = find_species("white ash")
    wet = checking_by_week(
        WEEK, mean, ash, "8/4", core=np.full(WEEK.size, 36.0), **given
    )
    dry = checking_by_week(WEEK, mean, ash, "8/4", core=mean, **given)
    assert (wet[0].level, dry[0].level) == ("high", "low")


@pytest.mark.parametrize(
    ("place", "word", "never"),
    [
        ("stack", "tarps", "room"),
        ("shed", "sides", "tarp"),
        ("loft", "air the room", "tarp"),
        ("house", "air the room", "tarp"),
        ("dry-room", "air the room", "tarp"),
    ],
)
def test_advice_fits_the_place(place, word, never):
    week = RiskWeek(WEEK[0].item().date(), "mould", "moderate", None, 1.0, place=place)
    assert word in risk_advice(week)
    for risk in ("mould", "stain", "surface checks", "end checks", "decay"):
        for level in ("moderate", "high", "severe"):
            one = RiskWeek(WEEK[0].item().date(), risk, level, None, 1.0, place=place)
            assert never not in risk_advice(one)
            indoors = place not in ("stack", "shed")
            assert not (indoors and ("sun" in risk_advice(one).split()))


def air_of(emc, t):
    """Humidity (%) in which wood rests at a content, for air at a temperature."""
    return float(equilibrium_humidity(t, emc))


@pytest.mark.parametrize(
    ("name", "stood"),
    # docs/risks.md: white oak begins in air of 17.5 % EMC, cherry 14, the third 12.
    [("white oak", 17.5), ("black cherry", 14.0), ("yellow-poplar", 12.0)],
)
@pytest.mark.parametrize(
    ("drier", "level"),
    # docs/risks.md: 0, 4, 8 % EMC drier than that.
    [
        *((-0.1, "low"), (0.1, "moderate"), (3.9, "moderate")),
        *((4.1, "high"), (7.9, "high"), (8.1, "severe")),
    ],
)
def test_ends_by_how_much_drier_the_air_is(name, stood, drier, level):
    wet = np.full(WEEK.size, 65.0)
    found = risks(name, t=40.0, rh=air_of(stood - drier, 40.0), mean=wet)
    assert found["end checks"].level == level


@pytest.mark.parametrize(
    ("name", "thickness", "stood"),
    # docs/risks.md: 43, 54 and 66 °C at 4/4, 43, 49 and 54 °C at 8/4.
    [
        *(("white oak", "4/4", 43.0), ("white oak", "8/4", 43.0)),
        *(("black cherry", "4/4", 54.0), ("black cherry", "8/4", 49.0)),
        *(("yellow-poplar", "4/4", 66.0), ("yellow-poplar", "8/4", 54.0)),
    ],
)
def test_honeycomb_begins_above_the_schedule_s_first_heat(name, thickness, stood):
    mean = np.full(WEEK.size, 60.0)
    levels = [
        risks(name, t=t, rh=85, mean=mean, thickness=thickness)["honeycomb"].level
        for t in (stood - 0.2, stood + 0.2)
    ]
    assert levels == ["low", "severe"]
    # The core counts as green above 30 %.
    cores = [
        risks(
            name, t=stood + 0.2, rh=85, mean=mean, core=core, thickness=thickness
        )["honeycomb"].level
        for core in (29.5, 30.5)
    ]  # fmt: skip
    assert cores == ["low", "severe"]


def test_every_hour_too_hot_counts():
    # docs/risks.md: moderate from 1, high from 10, severe from 30 hours of the week.
    mean = np.full(WEEK.size, 60.0)
    found = {}
    for hours in (0, 1, 9, 10, 29, 30):
        hot = np.where(np.arange(WEEK.size) < hours, 45.0, 30.0)
        found[hours] = risks("white oak", t=hot, rh=85, mean=mean)["honeycomb"].level
    assert list(found.values()) == [
        *("low", "moderate", "moderate", "high", "high", "severe")
    ]


def test_collapse_by_its_own_heat_and_wetness():
    # docs/risks.md: above 49 °C, eucalypts above 30 °C, the core above 50 %.
    gum = species_from_mapping(
        "my gum", {"basic_gravity": 0.55, "scientific": "Corymbia maculata"}
    )
    for wood, heat in (("redwood", 49.0), (gum, 30.0)):
        for t, core, level in (
            (heat - 0.5, 60.0, "low"),
            (heat + 0.5, 60.0, "severe"),
            (heat + 0.5, 50.5, "severe"),
            (heat + 0.5, 49.5, "low"),
        ):
            mean = np.full(WEEK.size, 45.0)
            found = risks(wood, t=t, rh=85, mean=mean, core=core)
            assert found["collapse"].level == level


def wood_of_rate(rate):
    """Return a wood without a published rate whose density gives that rate."""
    gravity = brentq(lambda g: rate_by_density(g) - rate, 0.3, 0.7)
    return species_from_mapping("my wood", {"basic_gravity": round(gravity, 4)})


@pytest.mark.parametrize(
    ("rate", "levels"),
    # docs/risks.md: EMC below 10 at least moderate, below 8.5 high; one more where the
    # published rate is below 5 % a day, none where it is 11 or more.
    [
        (4.8, ["low", "high", "high", "severe"]),
        (5.2, ["low", "moderate", "moderate", "high"]),
        (10.8, ["low", "moderate", "moderate", "high"]),
        (11.2, ["low", "low", "low", "low"]),
    ],
)
def test_dry_air_by_its_moisture_and_by_the_wood(rate, levels):
    mean = np.full(WEEK.size, 60.0)
    found = [
        risks(wood_of_rate(rate), t=20.0, rh=air_of(emc, 20.0), mean=mean)
        for emc in (10.1, 9.9, 8.6, 8.4)
    ]
    assert [one["surface checks"].level for one in found] == levels


def test_dry_air_counts_while_the_core_is_above_thirty():
    levels = [
        risks(
            "white oak",
            t=20.0,
            rh=30.0,
            mean=np.full(WEEK.size, 28.0),
            core=core,
        )["surface checks"].level
        for core in (29.5, 30.5)
    ]
    assert levels == ["low", "severe"]
