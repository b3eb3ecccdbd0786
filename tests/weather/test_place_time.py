"""Months are those of the place's own clock: worked out by hand."""

import numpy as np
import xarray as xr

from emcforecast.weather.mend.gaps import fill_gaps
from emcforecast.weather.years import place_time


def hours(first: str, last: str, **attrs: object) -> xr.Dataset:
    time = np.arange(first, last, dtype="datetime64[h]").astype("datetime64[ns]")
    return xr.Dataset(
        {
            "air_temperature": ("time", np.full(time.size, 10.0), {"units": "degC"}),
            "relative_humidity": ("time", np.full(time.size, 70.0), {"units": "%"}),
        },
        {"time": time},
        {"step": "hour", "kind": "observed", "source": "made", **attrs},
    )


def test_the_clock_of_a_place_is_its_offset_or_else_its_longitude() -> None:
    """Auckland keeps UTC+12; 149° west lies 9.93 h, rounded 10, behind Greenwich."""
    start = "2021-01-31T20"
    for attrs, expected in (
        ({"utc_offset": 12.0}, "2021-02-01T08"),
        ({"longitude": -149.0}, "2021-01-31T10"),
        ({"longitude": 170.0, "utc_offset": 12.0}, "2021-02-01T08"),
        ({}, "2021-01-31T20"),
    ):
        ds = hours(start, "2021-02-02", **attrs)
        assert place_time(ds)[0] == np.datetime64(expected)


def test_a_month_too_full_of_holes_is_that_of_the_place() -> None:
    """69 hours are missing: 57 of February by Greenwich's clock, all by the place's.

    A tenth of February's 672 hours is 67.
    """
    for offset, refused in ((0.0, False), (12.0, True)):
        ds = hours("2021-01-01", "2022-04-01", utc_offset=offset, longitude=170.0)
        ds.attrs |= {"latitude": -37.0, "elevation": 10.0}
        gone = slice("2021-01-31T12", "2021-02-03T08")
        for name in ("air_temperature", "relative_humidity"):
            ds[name].loc[{"time": gone}] = np.nan
        filled = fill_gaps(ds)
        assert (filled.sizes["time"] < ds.sizes["time"]) == refused
