"""The contract, the repairs and the merging of series."""

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from emcforecast.errors import ContractError, WeatherError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.mend.gaps import fill_gaps
from emcforecast.weather.mend.merge import merge_weather
from emcforecast.weather.mend.quality import hourly_grid
from emcforecast.weather.series import check_contract, make_series
from emcforecast.weather.years import has_years, require_year, years_of

HOUR = np.timedelta64(1, "h")


def hours(count, start="2019-01-01T00"):
    return np.datetime64(start, "ns") + np.arange(count) * HOUR


def series(count=8760 * 2, start="2019-01-01T00", kind="observed", **more):
    at = np.arange(count)
    return make_series(
        hours(count, start),
        {
            "air_temperature": 10
            - 9 * np.cos(2 * np.pi * at / 8766)
            + 4 * np.sin(2 * np.pi * at / 24),
            "relative_humidity": 70 - 15 * np.sin(2 * np.pi * at / 24),
            **more,
        },
        step="hour",
        kind=kind,
        source="invented",
    )


def without(ds, *spans, name=None):
    ds = ds.copy(deep=True)
    for first, last in spans:
        for variable in [name] if name else list(ds.data_vars):
            ds[variable][first:last] = np.nan
    return ds


BROKEN = {
    "units": lambda ds: ds["air_temperature"].attrs.update(units="K"),
    "no humidity": lambda ds: ds.__delitem__("relative_humidity"),
    "above 100": lambda ds: ds["relative_humidity"].__setitem__(3, 101.0),
    "rain below 0": lambda ds: ds.update(
        {"precipitation": ("time", np.full(ds.sizes["time"], -1.0), {"units": "mm"})}
    ),
    "infinite": lambda ds: ds["air_temperature"].__setitem__(3, np.inf),
    "kind": lambda ds: ds.attrs.update(kind="rumour"),
    "step": lambda ds: ds.attrs.update(step="day"),
    "repairs": lambda ds: ds.attrs.update(repairs="none"),
    "latitude": lambda ds: ds.attrs.update(latitude=97.0),
    "stranger": lambda ds: ds.update(
        {"soil": ("time", np.zeros(ds.sizes["time"]), {"units": "degC"})}
    ),
}


@pytest.mark.parametrize("fault", BROKEN)
def test_contract_names_what_is_broken(fault):
    ds = series(100)
    check_contract(ds)
    BROKEN[fault](ds)
    with pytest.raises(ContractError):
        check_contract(ds)


@pytest.mark.parametrize(
    "time",
    [
        hours(5)[::-1],
        np.delete(hours(6), 3),
        hours(5) + np.timedelta64(30, "m"),
        np.repeat(hours(3), 2)[:5],
    ],
)
def test_contract_wants_whole_hours_in_order(time):
    values = {"air_temperature": np.zeros(5), "relative_humidity": np.full(5, 50.0)}
    with pytest.raises(ContractError):
        make_series(time, values, step="hour", kind="observed", source="x")


def test_years():
    ds = series(8760 * 2 + 24 * 30, start="2019-01-01T06")
    assert years_of(ds) == [2019, 2020]
    assert has_years(ds)
    assert years_of(without(ds, (0, 1000))) == [2020]
    assert not has_years(without(ds, (0, 1000)))
    typical = series(8760, start="2001-01-01T00", kind="typical year")
    assert not has_years(typical)
    require_year(typical)
    # July to June is a year too.
    require_year(series(8760, start="2019-07-01T00"))
    with pytest.raises(WeatherError, match=r"11 of the 12 .*December"):
        require_year(series(8760 - 24 * 31))


def test_impossible_values_are_missing_and_counted():
    time = hours(48)
    t = np.full(48, 5.0)
    rh = np.full(48, 60.0)
    t[3], rh[5], rh[7], rh[9] = -999.0, -5.0, 103.0, 140.0
    ds = hourly_grid(
        time,
        {"air_temperature": t, "relative_humidity": rh},
        kind="observed",
        source="x",
    )
    assert np.flatnonzero(np.isnan(ds["air_temperature"])).tolist() == [3]
    assert np.flatnonzero(np.isnan(ds["relative_humidity"])).tolist() == [5, 9]
    assert float(ds["relative_humidity"][7]) == 100.0
    assert repair_sentences(ds) == [
        "1 impossible air temperature value set missing (such as -999 °C)",
        "2 impossible relative humidity values set missing (such as -5 %)",
        "1 relative humidity value between 100 and 105 % capped at 100 %",
    ]
    filled = fill_gaps(ds)
    np.testing.assert_allclose(filled["air_temperature"], 5.0)
    # Either lone value is bridged; the capped one is a reading.
    np.testing.assert_allclose(np.delete(filled["relative_humidity"], 7)[10:], 60.0)


@settings(max_examples=30, deadline=None)
@given(
    order=st.permutations(range(72)),
    minutes=st.lists(st.integers(0, 59), min_size=72, max_size=72),
)
def test_any_order_and_minute_lands_in_its_hour(order, minutes):
    time = hours(72) + np.array(minutes) * np.timedelta64(1, "m")
    t = np.arange(72.0) / 10
    rh = np.arange(72.0) + 20
    at = np.array(order)
    ds = hourly_grid(
        time[at],
        {"air_temperature": t[at], "relative_humidity": rh[at]},
        kind="observed",
        source="x",
    )
    np.testing.assert_allclose(ds["air_temperature"], t)
    np.testing.assert_allclose(ds["relative_humidity"], rh)


def test_means_within_an_hour_are_of_vapour_pressure():
    time = np.repeat(hours(2), 2)
    ds = hourly_grid(
        time,
        {
            "air_temperature": [0.0, 20.0, 10.0, 10.0],
            "relative_humidity": [100.0, 50.0, 40.0, 60.0],
        },
        kind="observed",
        source="x",
    )

    def e_s(t):  # WMO No. 8, Annex 4.B
        return 611.2 * np.exp(17.62 * t / (243.12 + t))

    mean = (e_s(0.0) + 0.5 * e_s(20.0)) / 2
    assert float(ds["relative_humidity"][0]) == pytest.approx(100 * mean / e_s(10.0))
    assert float(ds["relative_humidity"][1]) == pytest.approx(50.0)


def test_short_gaps_are_bridged_in_vapour_pressure():
    ds = make_series(
        hours(9),
        {
            "air_temperature": [0, *[np.nan] * 3, 16, 16, 16, 16, 16],
            "relative_humidity": [80, *[np.nan] * 3, 40, 40, 40, 40, 40],
        },
        step="hour",
        kind="observed",
        source="x",
    )
    filled = fill_gaps(ds)
    np.testing.assert_allclose(filled["air_temperature"][:5], [0, 4, 8, 12, 16])

    def e_s(t):
        return 611.2 * np.exp(17.62 * t / (243.12 + t))

    middle = 0.5 * (0.8 * e_s(0.0) + 0.4 * e_s(16.0))
    assert float(filled["relative_humidity"][2]) == pytest.approx(
        100 * middle / e_s(8.0)
    )


def test_long_gaps_come_from_the_same_hours_of_days_around():
    ds = series(24 * 60)
    holed = without(ds, (480, 500))
    filled = fill_gaps(holed)
    expected = (
        ds["air_temperature"][456:476] + ds["air_temperature"][504:524].values
    ) / 2
    np.testing.assert_allclose(filled["air_temperature"][480:500], expected)
    assert "20 hours in longer gaps filled" in " ".join(repair_sentences(filled))
    np.testing.assert_array_equal(
        filled["air_temperature"][:480], ds["air_temperature"][:480]
    )


def test_a_month_with_over_a_tenth_missing_is_refused_or_left_out():
    year = without(series(8760), (4000, 4100))
    with pytest.raises(WeatherError, match=r"2019-06 lacks 13\.9 % of its hours"):
        fill_gaps(year)
    many = without(series(8760 * 4), (4000, 4100))
    kept = fill_gaps(many)
    assert str(kept["time"].to_numpy()[0])[:10] == "2019-07-01"
    assert kept.sizes["time"] == 8760 * 4 - 4344
    assert "4344 hours left out" in " ".join(repair_sentences(kept))
    typical = without(
        series(8760, start="2001-01-01T00", kind="typical year"), (4000, 4100)
    )
    with pytest.raises(WeatherError, match="must be complete"):
        fill_gaps(typical)


@settings(max_examples=25, deadline=None)
@given(
    gaps=st.lists(
        st.tuples(st.integers(30, 2000), st.integers(1, 30)), min_size=1, max_size=4
    )
)
def test_filling_never_touches_a_reading(gaps):
    ds = series(24 * 90)
    holed = without(ds, *[(first, first + length) for first, length in gaps])
    try:
        filled = fill_gaps(holed)
    except WeatherError:
        return  # a month too empty
    assert not np.isnan(filled["air_temperature"]).any()
    known = ~np.isnan(holed["relative_humidity"].to_numpy())
    np.testing.assert_array_equal(
        filled["relative_humidity"].to_numpy()[known],
        holed["relative_humidity"].to_numpy()[known],
    )
    counted = sum(
        int(note.split()[0]) for note in repair_sentences(filled) if "gaps" in note
    )
    assert counted == int((~known).sum())


def test_rain_and_wind_missing():
    rain = np.full(24 * 30, 0.2)
    wind = np.full(24 * 30, 3.0)
    rain[5:9] = np.nan
    wind[5:9] = np.nan
    ds = fill_gaps(series(24 * 30, precipitation=rain, wind_speed=wind))
    assert float(ds["precipitation"][6]) == 0.0
    assert float(ds["wind_speed"][6]) == pytest.approx(3.0)
    wind[:500] = np.nan
    assert "wind_speed" not in fill_gaps(series(24 * 30, wind_speed=wind))


def biased(ds, shift, ratio):
    """A reanalysis that is off by so much in each calendar month."""

    def e_s(t):
        return 611.2 * np.exp(17.62 * t / (243.12 + t))

    month = ds["time"].dt.month.to_numpy() - 1
    t = ds["air_temperature"].to_numpy()
    e = ds["relative_humidity"].to_numpy() / 100 * e_s(t)
    warm = t - shift[month]
    made = {
        "air_temperature": warm,
        "relative_humidity": np.minimum(100 * e / ratio[month] / e_s(warm), 100.0),
        "wind_speed": np.full(t.size, 2.0),
    }
    return make_series(
        ds["time"],
        made,
        step="hour",
        kind="reanalysis",
        source="a reanalysis",
        attribution="made by a reanalysis",
    )


def test_merge_takes_the_bias_off_by_month_and_counts_every_hour():
    truth = series(8760 * 2)
    shift = np.linspace(-1.5, 1.5, 12)
    ratio = np.linspace(0.95, 1.1, 12)
    other = biased(truth, shift, ratio)
    holes = [(1000 + 2000 * k, 1200 + 2000 * k) for k in range(8)]
    holed = without(truth, *holes, (50, 53))
    merged = merge_weather(holed, other)
    bridged = np.zeros(truth.sizes["time"], dtype=bool)
    bridged[50:53] = True
    for name, near in (("air_temperature", 0.05), ("relative_humidity", 0.3)):
        got = merged[name].to_numpy()[~bridged]
        np.testing.assert_allclose(got, truth[name].to_numpy()[~bridged], atol=near)
    told = " ".join(repair_sentences(merged))
    assert "1600 hours of 17520 filled from a reanalysis" in told
    assert "3 hours in gaps of up to 6 h bridged" in told
    assert "wind speed taken from the other series throughout" in told
    assert merged.attrs["attribution"] == "made by a reanalysis"
    known = ~np.isnan(holed["air_temperature"].to_numpy())
    np.testing.assert_array_equal(
        merged["relative_humidity"].to_numpy()[known],
        holed["relative_humidity"].to_numpy()[known],
    )


def test_merge_can_extend_and_refuses_too_little_in_common():
    truth = series(8760 * 2)
    other = biased(truth, np.zeros(12), np.ones(12))
    part = truth.isel(time=slice(2000, 9000))
    assert merge_weather(part, other).sizes["time"] == 7000
    longer = merge_weather(part, other, extend=True)
    assert longer.sizes["time"] == 17520
    with pytest.raises(WeatherError, match="share 100 hours"):
        merge_weather(truth.isel(time=slice(0, 100)), other)
    typical = series(8760, start="2001-01-01T00", kind="typical year")
    with pytest.raises(WeatherError, match="only hourly weather of real years"):
        merge_weather(truth, typical)
    assert isinstance(longer, xr.Dataset)
