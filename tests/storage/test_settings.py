"""Settings: what people write, what is refused and how."""

import pickle

import pytest

from emcforecast.errors import SettingError
from emcforecast.storage.kinds import KINDS, SETTINGS
from emcforecast.storage.parameters import PARAMETERS
from emcforecast.storage.setting_text import parse_setting
from emcforecast.storage.settings import Setting, default_setting


def test_the_kinds_are_there() -> None:
    assert set(KINDS) == {
        *("stack", "stack-roof", "shed", "loft", "barn", "attic"),
        *("house", "house-cooled", "workshop", "dry-room", "cabin"),
        *("barn-fan", "basement", "solar-shed"),
    }
    assert SETTINGS == {"outdoor": "stack", "shed": "shed", "indoor": "house"}


@pytest.mark.parametrize("kind", KINDS)
def test_every_default_is_allowed_and_explained(kind: str) -> None:
    setting = Setting(KINDS[kind].setting, kind)
    for name, value in setting.values().items():
        parameter = PARAMETERS[name]
        assert len(parameter.meaning.split()) > 2
        again = setting.changed(**{name: value})
        assert again.values()[name] == value
        ends = setting.likely_range(name)
        if isinstance(value, float) and ends is not None:
            assert parameter.low <= ends[0] <= value <= ends[1] <= parameter.high


@pytest.mark.parametrize("kind", KINDS)
def test_text_reads_back(kind: str) -> None:
    setting = Setting(KINDS[kind].setting, kind, {"surface_transfer": 0.6})
    assert parse_setting(setting.text()).values() == setting.values()


@pytest.mark.parametrize(
    ("text", "name", "kind"),
    [
        ("outdoor", "outdoor", "stack"),
        ("shed", "shed", "shed"),
        ("indoor", "indoor", "house"),
        ("loft", "shed", "loft"),
        ("shed=loft", "shed", "loft"),
        ("outdoor=stack-roof", "outdoor", "stack-roof"),
        (" shed = loft , roof = metal ", "shed", "loft"),
        ("shed=shed", "shed", "shed"),
        ("shed=outdoor", "shed", "stack"),
    ],
)
def test_ways_to_write_it(text: str, name: str, kind: str) -> None:
    setting = parse_setting(text)
    assert (setting.name, setting.kind) == (name, kind)


def test_parameters_are_read() -> None:
    assert parse_setting("indoor=house,heat_to=19").values()["heat_to"] == 19.0
    assert parse_setting("indoor,heat_to=off").values()["heat_to"] == "off"
    loft = parse_setting("shed=loft,roof=metal").values()
    board = parse_setting("shed=loft").values()
    assert loft["roof_u"] > board["roof_u"]  # type: ignore[operator]
    assert parse_setting("loft,roof=metal,roof_u=1.2").values()["roof_u"] == 1.2
    single = parse_setting("stack,course=single").values()
    assert (single["surface_transfer"], single["wet_share"]) == (8.0, 1.0)
    assert "wet_share" not in parse_setting("shed,course=single").values()
    earth = parse_setting("barn,floor=earth").values()
    assert earth["ground_moisture"] == 5.0
    assert parse_setting("barn").values()["ground_moisture"] == 0.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("shed=lofft", ["lofft", "Did you mean 'loft'", "emcforecast settings"]),
        ("shde=loft", ["shde", "outdoor, shed, indoor", "Did you mean 'shed'"]),
        ("loft,ruf=metal", ["ruf", "Did you mean 'roof'", "settings loft"]),
        ("loft,roof=metall", ["metall", "board or metal", "Did you mean 'metal'"]),
        ("loft,roof=3", ["roof=3", "board or metal"]),
        ("loft,rain_film=0.1", ["rain_film", "settings loft"]),
        ("loft,ventilation=9999", ["9999", "0.02 to 200 1/h"]),
        ("loft,ventilation=-1", ["-1", "0.02 to 200"]),
        ("loft,ventilation=nan", ["nan", "0.02 to 200"]),
        ("loft,ventilation=much", ["much", "not a number"]),
        ("loft,ventilation", ["ventilation", "parameter=value"]),
        ("indoor,heat_to=hot", ["hot", "-20 to 40 °C, or off"]),
        ("cabin,used_from=4.5", ["4.5", "whole numbers 1 to 12"]),
        ("house-cooled,heat_to=26", ["26", "cool_to=24", "raise cool_to"]),
        ("dry-room,humidify_to=60", ["humidify_to=60", "dehumidify_to=45"]),
        ("", ["''", "Known:"]),
        ("shed=cellar", ["'cellar'", "basement,room_u=0", "dry-room"]),
    ],
)
def test_refusals_say_what_is_allowed(text: str, words: list[str]) -> None:
    with pytest.raises(SettingError) as refused:
        parse_setting(text)
    message = str(refused.value)
    assert "\n" not in message
    for word in words:
        assert word in message


def test_default_setting_of_nothing() -> None:
    with pytest.raises(SettingError, match="Did you mean 'indoor'"):
        default_setting("indoors")


def test_settings_are_frozen_and_travel() -> None:
    setting = parse_setting("shed=loft,roof=metal")
    with pytest.raises(TypeError):
        setting.parameters["roof"] = "board"  # type: ignore[index]
    again = pickle.loads(pickle.dumps(setting))
    assert again == setting
