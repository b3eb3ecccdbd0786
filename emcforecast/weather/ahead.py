"""The hours after now: a weather forecast, marked as such and joined to a record."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.weather.mend.merge import LEAST_OVERLAP, merge_weather
from emcforecast.weather.mend.words import plain_count
from emcforecast.weather.series import ONE_YEAR_KINDS

MARK = "forecast_from"
"""Attribute of a series: UTC hour (ISO) from which on its rows are a forecast."""
AHEAD_DAYS = 16
"""As far as archives forecast."""
LEAST_RECORD = 340 * 24
"""Hours before now without which the rest is no forecast but a year by another name."""


def this_hour() -> np.datetime64:
    """Return the hour that begins next, UTC: what is before it has been weather."""
    now = datetime.now(UTC).replace(tzinfo=None)
    return np.datetime64(now, "h") + np.timedelta64(1, "h")


def marked(series: xr.Dataset, now: np.datetime64 | None = None) -> xr.Dataset:
    """Mark the hours of a series that nobody can have measured yet.

    Parameters
    ----------
    series : xarray.Dataset
        A weather series.
    now : datetime64, optional
        First hour (UTC) that is still to come; the clock's when left out.

    Returns
    -------
    xarray.Dataset
        The same, with ``attrs["forecast_from"]`` where it goes beyond now and a line
        in ``attrs["repairs"]``; unchanged where it does not, is by the month, is of no
        real years, or has no year before now.
    """
    if series.attrs["step"] != "hour" or series.attrs["kind"] in ONE_YEAR_KINDS:
        return series
    begins = (this_hour() if now is None else now).astype("datetime64[h]")
    stamps = series["time"].to_numpy()
    ahead = int(np.count_nonzero(stamps >= begins))
    if ahead == 0 or stamps.size - ahead < LEAST_RECORD:
        return series
    line = f"{plain_count(ahead, 'hour')} from {begins} UTC on are a weather forecast"
    repairs = [*series.attrs["repairs"], line]
    return series.assign_attrs({MARK: str(begins), "repairs": repairs})


def recorded(series: xr.Dataset) -> xr.Dataset:
    """Return a series without the weather forecast at its end.

    Parameters
    ----------
    series : xarray.Dataset
        A weather series.

    Returns
    -------
    xarray.Dataset
        The hours before ``attrs["forecast_from"]``; all where there is none.
    """
    begins = series.attrs.get(MARK)
    if begins is None:
        return series
    before = series["time"].to_numpy() < np.datetime64(begins, "ns")
    alone = series.isel(time=np.flatnonzero(before))
    alone.attrs = {k: v for k, v in series.attrs.items() if k != MARK}
    return alone


def far_told(series: xr.Dataset) -> xr.Dataset:
    """Say that hours lie farther ahead than any forecast: a clock, or a projection.

    Parameters
    ----------
    series : xarray.Dataset
        A weather series.

    Returns
    -------
    xarray.Dataset
        The same, with a line in ``attrs["repairs"]`` where it is so.
    """
    stamps = series["time"].to_numpy()
    far = this_hour() + np.timedelta64(AHEAD_DAYS, "D")
    many = int(np.count_nonzero(stamps > far))
    if not many or series.attrs["kind"] in ONE_YEAR_KINDS:
        return series
    line = (
        f"look at the file: {plain_count(many, series.attrs['step'])} of {stamps.size} "
        f"lie after today, up to {str(stamps[-1])[:10]}: taken as they stand, as of a "
        "projection; a clock set wrong would show so too"
    )
    return series.assign_attrs(repairs=[*series.attrs["repairs"], line])


def with_forecast(
    record: xr.Dataset, ahead: xr.Dataset, now: np.datetime64 | None = None
) -> xr.Dataset:
    """Join a weather forecast to a record, the forecast's bias taken off.

    Parameters
    ----------
    record : xarray.Dataset
        Hourly weather series up to some days ago, NaN where missing.
    ahead : xarray.Dataset
        Hourly series of the same place: the weeks past, and the days to come.
    now : datetime64, optional
        First hour (UTC) that is still to come; the clock's when left out.

    Returns
    -------
    xarray.Dataset
        One hourly series with ``attrs["forecast_from"]``.

    Raises
    ------
    WeatherError
        When the two share fewer than 14 days, so that no bias can be told.

    Notes
    -----
    Between the end of the record and now the other source's own past days stand in.
    Both are corrected by the differences over the hours the two share, as in
    `emcforecast.weather.mend.merge.merge_weather`.
    """
    known = np.isfinite(record["air_temperature"].to_numpy())
    ends = record["time"].to_numpy()[np.flatnonzero(known)[-1]] if known.any() else None
    begins = ahead["time"].to_numpy()[0]
    if ends is None or ends < begins + np.timedelta64(LEAST_OVERLAP, "h"):
        last = "no hour" if ends is None else str(ends)[:10]
        raise WeatherError(
            f"the record holds {last} and the forecast begins with {str(begins)[:10]}: "
            "14 days in common are needed to join them; ask for years up to this one"
        )
    joined = merge_weather(record, ahead, extend=True)
    return marked(joined, now)


def recent_span(today: date | None = None) -> tuple[date, date]:
    """Return the first and last day of a forecast that is asked for today."""
    first = today or date.today()
    return first, first + timedelta(days=AHEAD_DAYS - 1)
