"""Which years and months a weather series covers, by the place's own clock."""

import numpy as np
import xarray as xr

from emcforecast._types import TimeArray
from emcforecast.dates import month
from emcforecast.errors import WeatherError
from emcforecast.language import N_, _
from emcforecast.weather.series import ONE_YEAR_KINDS

WHOLE_YEAR = 0.95
"""Least share of a calendar year that makes it count as a whole one."""


def years_of(ds: xr.Dataset) -> list[int]:
    """Return the calendar years (UTC) that the series covers well enough.

    Those with temperature and humidity in at least `WHOLE_YEAR` of their steps.

    Notes
    -----
    The margin lets in a year that begins or ends at local rather than UTC midnight.
    """
    known = np.isfinite(ds["air_temperature"].to_numpy())
    known &= np.isfinite(ds["relative_humidity"].to_numpy())
    stamps = ds["time"].to_numpy()
    years = stamps.astype("datetime64[Y]").astype(np.int64) + 1970
    found, counts = np.unique(years[known], return_counts=True)
    whole = []
    for year, count in zip(found.tolist(), counts.tolist(), strict=True):
        leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
        steps = 12 if ds.attrs["step"] == "month" else (8784 if leap else 8760)
        if count >= WHOLE_YEAR * steps:
            whole.append(int(year))
    return whole


def has_years(ds: xr.Dataset) -> bool:
    """Return whether a year-to-year range may be read off the series.

    Not for a typical year, for normals and for fewer than two whole years.
    """
    return ds.attrs["kind"] not in ONE_YEAR_KINDS and len(years_of(ds)) >= 2


def place_time(ds: xr.Dataset) -> TimeArray:
    """Return the times by the place's own standard clock, where that is known.

    Parameters
    ----------
    ds : Dataset
        A weather series, or hours on the way to one.

    Returns
    -------
    ndarray of datetime64
        Shifted by whole hours: by ``utc_offset``, else by the longitude's own time;
        months and typical years as they stand.
    """
    time = ds["time"].to_numpy()
    longitude = ds.attrs.get("longitude")
    offset = ds.attrs.get("utc_offset", 0.0 if longitude is None else longitude / 15.0)
    if ds.attrs.get("step") != "hour" or ds.attrs.get("kind") in ONE_YEAR_KINDS:
        return time
    return np.asarray(time + np.timedelta64(round(float(offset)), "h"))


def require_year(ds: xr.Dataset) -> None:
    """Refuse a series too short to speak of every month of the year.

    Raises `WeatherError` when some calendar month is missing or less than three
    quarters covered.
    """
    known = np.isfinite(ds["air_temperature"].to_numpy())
    known &= np.isfinite(ds["relative_humidity"].to_numpy())
    months = place_time(ds)[known].astype("datetime64[M]")
    found, counts = np.unique(months, return_counts=True)
    days = (found + np.timedelta64(1, "M")).astype("datetime64[D]") - found.astype(
        "datetime64[D]"
    )
    full = days.astype(np.int64) * (24 if ds.attrs["step"] == "hour" else 1)
    if ds.attrs["step"] == "month":
        full = np.ones_like(full)
    good = found[counts >= 0.75 * full]
    have = set((good.astype(np.int64) % 12 + 1).tolist())
    lacking = [month for month in range(1, 13) if month not in have]
    if lacking:
        wanting = len(lacking) <= len(have)
        if not have:
            covers = N_(
                "the weather covers 0 of the 12 calendar months; a whole year is "
                "needed: add the other months"
            )
        elif wanting:
            covers = N_(
                "the weather covers {count} of the 12 calendar months (missing or too "
                "thin: {months}); a whole year is needed: add the other months"
            )
        else:
            covers = N_(
                "the weather covers {count} of the 12 calendar months (only {months}); "
                "a whole year is needed: add the other months"
            )
        names = (month(number) for number in (lacking if wanting else sorted(have)))
        raise WeatherError(_(covers, count=len(have), months=", ".join(names)))
