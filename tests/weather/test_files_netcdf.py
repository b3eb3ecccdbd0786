"""NetCDF as archives write it, and our own files read back without loss."""

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.formats.netcdf import write_weather
from emcforecast.weather.mend.hours_from_means import hourly_from_monthly
from emcforecast.weather.read import read_weather
from emcforecast.weather.repairs import RepairKind, repair, repairs_to_text

ARCHIVES = Path(__file__).parents[3] / "shared" / "archives"
HOURS = 24 * 400
COUNT = np.arange(HOURS)
TEMPERATURE = 8.0 + 9.0 * np.sin(2 * np.pi * (COUNT - 2800) / 8766)
DEW = TEMPERATURE - 3.0 - np.cos(2 * np.pi * COUNT / 24)
TIME = np.datetime64("2019-01-01T00", "ns") + COUNT * np.timedelta64(1, "h")


def humidity():
    # WMO No. 8, Annex 4.B, written out.
    def e_s(t):
        return 611.2 * np.exp(17.62 * t / (243.12 + t))

    return 100.0 * e_s(DEW) / e_s(TEMPERATURE)


def grid(name, values, dims=("time", "latitude", "longitude"), **attrs):
    cube = np.broadcast_to(values[:, None, None], (values.size, 2, 2)).copy()
    cube[:, 0, 1] += 1.0
    return {name: (dims, cube, attrs)}


def era5(time_name="time"):
    dims = (time_name, "latitude", "longitude")
    rain = np.where(COUNT % 24 == 5, 0.002, 0.0)
    return xr.Dataset(
        {
            **grid(
                "t2m", TEMPERATURE + 273.15, dims, units="K", standard_name="unknown"
            ),
            **grid("d2m", DEW + 273.15, dims, units="K"),
            **grid("tp", rain, dims, units="m"),
            **grid("ssrd", np.full(HOURS, 3.6e5), dims, units="J m**-2"),
        },
        coords={
            time_name: TIME,
            "latitude": ("latitude", [46.5, 46.25], {"units": "degrees_north"}),
            "longitude": ("longitude", [359.75, 0.0], {"units": "degrees_east"}),
        },
    )


@pytest.mark.parametrize("engine", ["h5netcdf", "scipy"])
@pytest.mark.parametrize("time_name", ["time", "valid_time"])
def test_hourly_reanalysis_at_the_nearest_point(engine, time_name, tmp_path):
    path = tmp_path / "weather.csv"  # the extension says nothing
    era5(time_name).to_netcdf(path, engine=engine)
    with pytest.raises(WeatherError, match=r"4 grid points.*--latitude"):
        read_weather(path)
    with pytest.raises(WeatherError, match="km from the nearest point"):
        read_weather(path, latitude=40.0, longitude=20.0)
    ds = read_weather(path, latitude=46.24, longitude=-0.3)
    assert (ds.attrs["latitude"], ds.attrs["longitude"]) == (46.25, -0.25)
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE, atol=1e-4)
    np.testing.assert_allclose(ds["relative_humidity"], humidity(), atol=0.01)
    # Rain stamped 05:00 fell in the hour that began at 04:00.
    rain = ds["precipitation"].to_numpy()
    assert rain[4] == pytest.approx(2.0)
    assert rain[5] == 0.0
    np.testing.assert_allclose(ds["shortwave"], 100.0)


def test_preliminary_months_fill_final_ones(tmp_path):
    ds = era5().isel(latitude=[1], longitude=[0])
    final = ds.where(ds["time"] < TIME[5000])
    early = ds.where(ds["time"] >= TIME[4900])
    both = xr.concat([final, early], dim="expver").assign_coords(expver=[1, 5])
    both = both.transpose("time", "expver", "latitude", "longitude")
    both.to_netcdf(tmp_path / "e.nc", engine="h5netcdf")
    read = read_weather(tmp_path / "e.nc")
    np.testing.assert_allclose(read["air_temperature"], TEMPERATURE, atol=1e-4)


@pytest.mark.parametrize(
    ("values", "units", "reason"),
    [(TEMPERATURE, "K", "values are about"), (TEMPERATURE, "furlong", "not known")],
)
def test_units_are_held_against_values(values, units, reason, tmp_path):
    ds = era5().isel(latitude=0, longitude=0)
    ds["t2m"] = ("time", values, {"units": units})
    ds.to_netcdf(tmp_path / "e.nc", engine="h5netcdf")
    with pytest.raises(WeatherError, match=reason):
        read_weather(tmp_path / "e.nc")


def test_fahrenheit_fraction_and_cell_methods(tmp_path):
    days = np.datetime64("2019-01-01", "ns") + np.arange(400) * np.timedelta64(1, "D")
    mean = TEMPERATURE.reshape(400, 24).mean(axis=1)
    ds = xr.Dataset(
        {
            "tasmax": (
                "time",
                mean + 4,
                {
                    "units": "degC",
                    "cell_methods": "time: maximum",
                    "standard_name": "air_temperature",
                },
            ),
            "tas": (
                "time",
                mean * 1.8 + 32,
                {
                    "units": "degF",
                    "cell_methods": "time: mean",
                    "standard_name": "air_temperature",
                },
            ),
            "tasmin": (
                "time",
                mean - 4,
                {
                    "units": "degC",
                    "cell_methods": "time: minimum",
                    "standard_name": "air_temperature",
                },
            ),
            "hurs": ("time", np.full(400, 0.7), {"units": ""}),
            "pr": ("time", np.full(400, 3 / 86400), {"units": "kg m-2 s-1"}),
        },
        coords={"time": days},
    )
    ds.to_netcdf(tmp_path / "d.nc", engine="h5netcdf")
    read = read_weather(tmp_path / "d.nc")
    by_day = read.to_dataframe().resample("1D")
    assert read.attrs["rebuilt_from"] == "day"
    np.testing.assert_allclose(by_day.mean()["air_temperature"], mean, atol=1e-6)
    np.testing.assert_allclose(by_day.mean()["relative_humidity"], 70.0, atol=1e-3)
    np.testing.assert_allclose(by_day.sum()["precipitation"], 3.0, atol=1e-6)
    swing = by_day.max()["air_temperature"] - by_day.min()["air_temperature"]
    np.testing.assert_allclose(swing, 8.0, atol=0.4)
    assert any("fraction" in note for note in repair_sentences(read))


def monthly(**variables):
    months = np.arange("2010-01", "2013-01", dtype="datetime64[M]").astype(
        "datetime64[ns]"
    )
    wave = -np.cos(2 * np.pi * (np.arange(36) + 0.5) / 12)
    made = {
        "tmp": (
            10 + 8 * wave,
            {"units": "degrees Celsius", "long_name": "temperature"},
        ),
        "vap": (9 + 4 * wave, {"units": "hPa"}),
    }
    return xr.Dataset(
        {name: ("time", *made[name]) for name in variables or made},
        coords={"time": months + np.timedelta64(14, "D")},
    )


def test_monthly_climate_of_two_variables_in_two_files(tmp_path):
    monthly(tmp=1).to_netcdf(tmp_path / "t.nc", engine="h5netcdf")
    monthly(vap=1).to_netcdf(tmp_path / "v.nc", engine="h5netcdf")
    with pytest.raises(WeatherError, match=r"no humidity.*both files"):
        read_weather(tmp_path / "t.nc")
    ds = read_weather([tmp_path / "t.nc", tmp_path / "v.nc"])
    assert (ds.attrs["step"], ds.sizes["time"]) == ("month", 36)
    t = ds["air_temperature"].to_numpy()
    e = (
        ds["relative_humidity"].to_numpy()
        / 100
        * 611.2
        * np.exp(17.62 * t / (243.12 + t))
    )
    np.testing.assert_allclose(e, monthly()["vap"] * 100, rtol=1e-9)
    hourly = hourly_from_monthly(ds)
    assert hourly.sizes["time"] == 24 * (365 * 2 + 366)


def test_calendar_without_leap_days(tmp_path):
    count = np.arange(365 * 4)
    ds = xr.Dataset(
        {
            "tas": ("time", 280.0 + count * 0.001, {"units": "K"}),
            "hurs": ("time", np.full(count.size, 60.0), {"units": "%"}),
        },
        coords={
            "time": (
                "time",
                count + 0.5,
                {"units": "days since 2010-01-01", "calendar": "noleap"},
            )
        },
    )
    ds.to_netcdf(tmp_path / "m.nc", engine="h5netcdf")
    read = read_weather(tmp_path / "m.nc")
    assert read["time"].to_numpy()[-1] == np.datetime64("2013-12-31T23")
    assert any("29 February" in note for note in repair_sentences(read))
    # 1 March 2013 is day 365 * 3 + 59 of such a calendar.
    march = read["air_temperature"].sel(time="2013-03-01").mean()
    assert float(march) == pytest.approx(280.0 + 1154 * 0.001 - 273.15, abs=1e-4)


def test_cut_off_netcdf_is_refused(tmp_path):
    for engine in ("h5netcdf", "scipy"):
        path = tmp_path / f"{engine}.nc"
        era5().to_netcdf(path, engine=engine)
        path.write_bytes(path.read_bytes()[:20000])
        with pytest.raises(WeatherError, match="cut off or damaged") as caught:
            read_weather(path, latitude=46.25, longitude=0.0)
        assert "\n" not in str(caught.value)


def test_own_files_come_back_without_loss(tmp_path):
    ds = read_weather("demo")
    ds = ds.assign_attrs(
        repairs=repairs_to_text(
            [
                repair(RepairKind.GAPS_BRIDGED, 3, limit=6),
                repair(RepairKind.STATED, text="3 hours “bridged”, °F read"),
            ]
        ),
        licence="CC BY 4.0",
        attribution="Weather data by an archive",
        station="X 1",
    )
    ds["air_temperature"].to_numpy()[7] = 0.1 + 0.2
    path = tmp_path / "weather.nc"
    write_weather(ds, path)
    back = read_weather(path)
    xr.testing.assert_identical(back, ds)
    assert [p.name for p in tmp_path.iterdir()] == ["weather.nc"]
    # Other programs see CF names and units.
    with xr.open_dataset(path, engine="h5netcdf") as other:
        assert other["air_temperature"].attrs["standard_name"] == "air_temperature"
        assert other["air_temperature"].attrs["units"] == "degree_Celsius"
    with pytest.raises(WeatherError, match="cannot be written"):
        write_weather(ds, tmp_path / "no such folder" / "w.nc")


def test_hints_add_a_place_to_an_own_file(tmp_path):
    ds = read_weather("demo").isel(time=slice(0, 48))
    write_weather(ds, tmp_path / "w.nc")
    assert read_weather(tmp_path / "w.nc", elevation=5.0).attrs["elevation"] == 5.0


@pytest.mark.skipif(not ARCHIVES.exists(), reason="sample archives are not here")
class TestRealFiles:
    def test_classic_era5_at_davos(self):
        path = ARCHIVES / "era5_hourly_davos_202001_classic.nc"
        ds = read_weather(path, latitude=46.8, longitude=9.8)
        with xr.open_dataset(path, engine="scipy") as raw:
            point = raw.sel(latitude=46.8, longitude=9.8, method="nearest")
            np.testing.assert_allclose(ds["air_temperature"], point["t2m"] - 273.15)
            sun = point["ssrd"].to_numpy()[1:] / 3600
            np.testing.assert_allclose(ds["shortwave"][:-1], sun, atol=1e-6)

    @pytest.mark.parametrize("place", ["Halifax", "Iqaluit", "Victoria"])
    def test_daily_cities_keep_their_daily_means(self, place):
        path = ARCHIVES / "era5_daily_cf_canadian_cities_1990-1993.nc"
        with pytest.raises(WeatherError, match=r"5 places.*--place"):
            read_weather(path)
        ds = read_weather(path, place=place).to_dataframe().resample("1D").mean()
        with xr.open_dataset(path, engine="h5netcdf") as raw:
            city = raw.sel(location=place)
            np.testing.assert_allclose(
                ds["air_temperature"], city["tas"] - 273.15, atol=0.01
            )
            # Days of nearly 100 % cannot swing and keep their mean.
            np.testing.assert_allclose(
                ds["relative_humidity"], np.minimum(city["hurs"] * 100, 99.5), atol=0.1
            )

    @pytest.mark.parametrize(
        ("name", "reason"),
        [
            ("cru_ts4.01_tmp_only_1901-2016.nc", "no humidity"),
            ("era5_monthly_t2m_only_1979-2018.nc", "no humidity"),
            ("ecmwf_cfgrib_attrs_t2m_msl_no_time.nc", "no humidity"),
        ],
    )
    def test_negative_cases(self, name, reason):
        with pytest.raises(WeatherError, match=reason):
            read_weather(ARCHIVES / name, latitude=60, longitude=0)
