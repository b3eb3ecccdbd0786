"""Draws of a setting: within their ranges, evenly spread, the first as stated."""

import numpy as np
import pytest
import xarray as xr

from emcforecast.errors import SettingError
from emcforecast.storage.air import air_in
from emcforecast.storage.draws import air_members, draw_parameters
from emcforecast.storage.kinds import KINDS
from emcforecast.storage.setting_text import parse_setting
from emcforecast.storage.settings import Setting


@pytest.mark.parametrize("kind", KINDS)
def test_draws_stay_in_range_and_fill_it(kind: str) -> None:
    setting = Setting(KINDS[kind].setting, kind)
    n = 41
    for name, values in draw_parameters(setting, n, seed=3).items():
        ends = setting.likely_range(name)
        if isinstance(values, str) or ends is None or not values.ndim:
            continue
        stated = setting.values()[name]
        assert values[0] == stated
        assert ends[0] <= values.min()
        assert values.max() <= ends[1]
        # one draw in each of 40 equal parts: the median lies within one part of the
        # middle, on whichever scale the parts are equal
        part = np.sort(values[1:])
        gaps = np.diff(part) / (ends[1] - ends[0])
        assert gaps.max() < 0.12


def test_first_member_is_the_setting_and_seeds_repeat(year: xr.Dataset) -> None:
    weather = year.isel(time=slice(0, 1500))
    one = air_in(weather, "loft")
    many = air_members(weather, "loft", 6, seed=2)
    first = many.isel(member=0)
    assert np.abs(first.relative_humidity - one.relative_humidity).max() < 1e-9
    again = air_members(weather, "loft", 6, seed=2)
    assert (many.relative_humidity == again.relative_humidity).all()
    other = air_members(weather, "loft", 6, seed=3)
    assert (many.relative_humidity != other.relative_humidity).any()
    assert many.surface_transfer[0] == one.attrs["surface_transfer"]
    assert float(many.rain_film.max()) == 0.0


def test_rained_on_members_have_films(year: xr.Dataset) -> None:
    many = air_members(year.isel(time=slice(0, 100)), "outdoor", 9)
    assert "precipitation" in many
    # half the faces, a quarter to three quarters, of a film of 0.05 to 0.2 kg/m²
    assert float(many.rain_film[0]) == pytest.approx(0.05)
    assert float(many.rain_film.min()) >= 0.05 * 0.25
    assert float(many.rain_film.max()) <= 0.2 * 0.75


def test_what_is_known_better_spreads_less(year: xr.Dataset) -> None:
    weather = year.isel(time=slice(0, 4000))
    loft = parse_setting("loft")
    sure = Setting("shed", "loft", {}, {n: (v, v) for n, v in loft.values().items()
                                        if isinstance(v, float)})  # fmt: skip
    wide = air_members(weather, loft, 12).air_temperature.std("member").mean()
    none = air_members(weather, sure, 12).air_temperature.std("member").mean()
    assert float(none) < 1e-12
    assert float(wide) > 0.2


def test_no_members_are_refused(year: xr.Dataset) -> None:
    with pytest.raises(SettingError, match="at least 1"):
        air_members(year, "loft", 0)
