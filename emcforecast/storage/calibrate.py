"""Tune a setting's few levers to what a logger read there, or leave it alone."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from emcforecast._types import BoolArray
from emcforecast.errors import SettingError, WeatherError
from emcforecast.language import N_, _
from emcforecast.storage.calibrate_fit import (
    DAY,
    Errors,
    Window,
    daily_mean,
    errors_in,
    fit_levers,
    looseness,
    run_window,
)
from emcforecast.storage.compare import ClockShift, clock_shift
from emcforecast.storage.drivers import Drivers, drivers_of
from emcforecast.storage.parameters import Value
from emcforecast.storage.setting_text import SettingLike, as_setting
from emcforecast.storage.settings import Setting, write_calibration
from emcforecast.weather.accept import WeatherLike, air_series, weather_series

LEAST_DAYS = 14
"""Days of overlap below which nothing is tuned."""
RUN_UP_DAYS = 60
"""Days of weather run through before the logger's first hour."""
PLAIN_SHIFT, HEATED_SHIFT = 2, 6
"""Hours from which clocks plainly disagree, in unheated and in heated places."""
FOLDS = 4
"""Parts of the window, each held out once."""
USE_GAIN = 0.15
"""Tuning must better the held-out error by this share to be used at all."""
LEAST_GAIN = 0.03
"""A further lever must better it by this share more."""
SALT_HUMIDITY = 75.4
"""% RH over saturated table salt at 20 to 25 °C (Greenspan 1977: 75.5 to 75.3)."""

_HEATED = (
    ("heat_to",),
    ("moisture_gain",),
    ("heat_to", "moisture_gain"),
    ("heat_to", "moisture_gain", "ventilation"),
)
_CLOSED = (
    ("ventilation",),
    ("roof_u",),
    ("ventilation", "roof_u"),
    ("ventilation", "ground_moisture"),
    ("ventilation", "roof_u", "ground_moisture"),
)
LEVERS: dict[str, tuple[tuple[str, ...], ...]] = {
    "shed": (("roof_u",), ("ventilation",), ("roof_u", "ventilation")),
    "loft": (("roof_u",), ("ventilation",), ("roof_u", "ventilation")),
    "attic": (
        ("room_u",),
        ("ventilation",),
        ("room_u", "ventilation"),
        ("room_u", "ventilation", "roof_u"),
    ),
    "barn": _CLOSED,
    "barn-fan": _CLOSED,
    "basement": (
        ("ventilation",),
        ("ground_u",),
        ("ventilation", "ground_moisture"),
        ("ventilation", "ground_u", "ground_moisture"),
    ),
    "solar-shed": (("window_area",), ("airing",), ("window_area", "airing")),
    "house": _HEATED,
    "house-cooled": (*_HEATED, ("heat_to", "cool_to", "moisture_gain")),
    "workshop": _HEATED,
    "dry-room": _HEATED,
    "cabin": (("ventilation",), ("roof_u",), ("ventilation", "roof_u")),
}
"""Sets of levers tried for each kind, at most three at a time."""


@dataclass(frozen=True)
class Calibration:
    """What a logger taught about a setting.

    Parameters
    ----------
    setting : Setting
        To use from now on: tuned, or as it was where tuning did not help.
    levers : dict of str to float
        What was tuned; empty when nothing is used.
    used : bool
        Whether the tuning is used.
    before, after : Errors
        Over the whole window, as stated and as tuned.
    held_out, held_out_before : Errors
        Over days the tuning had not seen, and as stated over the same days.
    days : int
        Days compared.
    start, end : str
        First and last day, ISO.
    shift : ClockShift
        What the clocks say.
    """

    setting: Setting
    levers: dict[str, float]
    used: bool
    before: Errors
    after: Errors
    held_out: Errors
    held_out_before: Errors
    days: int
    start: str
    end: str
    shift: ClockShift

    def as_json(self) -> dict[str, Any]:
        """Return the result document of the command."""
        return {
            "setting": self.setting.name,
            "kind": self.setting.kind,
            "parameters": dict(self.levers),
            "likely": {k: list(v) for k, v in self.setting.likely.items()},
            "used": self.used,
            "before": asdict(self.before),
            "after": asdict(self.after),
            "held_out": asdict(self.held_out),
            "held_out_before": asdict(self.held_out_before),
            "days": self.days,
            "start": self.start,
            "end": self.end,
            "clock_shift_hours": self.shift.hours,
        }

    def write(self, path: str | Path, notes: Sequence[str] = ()) -> None:
        """Write the file that ``--setting shed=FILE`` and a yard read back."""
        about = {**self.as_json(), "notes": list(notes)}
        for key in ("setting", "kind", "parameters", "likely"):
            about.pop(key)
        write_calibration(path, self.setting, **about)


def calibrate(
    logger: WeatherLike,
    weather: WeatherLike,
    setting: SettingLike,
    *,
    humidity_offset: float = 0.0,
    shift_hours: int | None = None,
    **parameters: Value,
) -> Calibration:
    """Tune a setting to a few weeks of a temperature and humidity logger.

    Parameters
    ----------
    logger : xarray.Dataset or pandas.DataFrame
        Hourly series the logger read in the place.
    weather : xarray.Dataset or pandas.DataFrame
        Hourly series outdoors over the same time; two months before it help.
    setting : Setting, str or mapping
        What the place is taken to be so far.
    humidity_offset : float
        How much too high the logger reads, % RH, as a salt test showed.
    shift_hours : int, optional
        How much too late the logger's clock runs, h; its stamps are moved back by it.
        Stated, 0 too, it is taken; when left out, clocks that disagree are refused.
    **parameters
        Changes to the setting.

    Returns
    -------
    Calibration
        With errors before, after and on held-out days. Where tuning does not better
        the held-out days the setting comes back as it was.

    Raises
    ------
    WeatherError
        When under 14 days overlap, or the clocks plainly disagree and nothing is said
        of them. A late and damped course is the building's lag, no clock's error.
    SettingError
        When the kind has nothing to tune.

    Notes
    -----
    Sets of one to three levers are each fitted with strong priors
    (`emcforecast.storage.calibrate_fit`) with a quarter of the window held out in
    turn; the set with the least held-out error is fitted once more to the whole
    window. A single season says little about others: the error elsewhere in the year
    may be larger than the held-out one.

    Examples
    --------
    >>> from emcforecast.storage.air import air_in
    >>> from emcforecast.weather.read import demonstration
    >>> weather = demonstration().isel(time=slice(0, 24 * 100))
    >>> airy = air_in(weather, "loft", ventilation=12.0)
    >>> logger = airy.isel(time=slice(24 * 60, 24 * 100))
    >>> found = calibrate(logger, weather, "loft")
    >>> found.used, found.after.rmse_t < found.before.rmse_t
    (True, True)
    """
    logger, weather = air_series(logger), weather_series(weather)
    chosen = as_setting(setting, **parameters)
    sets = _lever_sets(chosen)
    drivers = drivers_of(weather)
    window, start, end = _window(
        logger, weather, drivers, humidity_offset, shift_hours or 0
    )
    stated = run_window(window, chosen, {})
    days = np.isfinite(daily_mean(window, window.temperature))
    if np.count_nonzero(days) < LEAST_DAYS:
        raise WeatherError(
            _(
                "logger and weather share {count} whole days; at least "
                "{least_days} are needed, six weeks are good: log longer, or "
                "give weather that covers the logger's time.",
                count=np.count_nonzero(days),
                least_days=LEAST_DAYS,
            )
        )
    shift = clock_shift(window.temperature, stated[0][:, 0])
    unsaid = shift_hours is None
    if unsaid and shift.plain and abs(shift.hours) >= _least_shift(chosen):
        raise WeatherError(_disagree(shift))
    before = errors_in(window, stated[0][:, 0], stated[1][:, 0], days)
    loose = looseness(before)
    best, held_out, held_before = _choose(window, chosen, sets, days, loose)
    if best is None:
        return Calibration(
            chosen, {}, False, before, before, held_before, held_before,
            int(np.count_nonzero(days)), start, end, shift,
        )  # fmt: skip
    fit = fit_levers(window, chosen, best, days, loose)
    tuned = Setting(
        chosen.name,
        chosen.kind,
        {**chosen.parameters, **fit.values},
        {**chosen.likely, **fit.likely},
    )
    t, h = run_window(window, tuned, {})
    after = errors_in(window, t[:, 0], h[:, 0], days)
    return Calibration(
        tuned, dict(fit.values), True, before, after, held_out, held_before,
        int(np.count_nonzero(days)), start, end, shift,
    )  # fmt: skip


def _choose(
    window: Window,
    setting: Setting,
    sets: tuple[tuple[str, ...], ...],
    days: BoolArray,
    loose: float,
) -> tuple[tuple[str, ...] | None, Errors, Errors]:
    """Set of levers with the least held-out error, or None for the stated setting."""
    numbers = np.flatnonzero(days)
    folds = np.array_split(numbers, FOLDS)
    stated = _held_out(window, setting, (), days, folds, loose)
    best, least = None, stated
    for names in sets:
        found = _held_out(window, setting, names, days, folds, loose)
        # A set no larger than the best so far need only be better; a larger one
        # must earn its further lever.
        gain = LEAST_GAIN if best and len(names) > len(best) else 0.0
        bar = least.score * (1.0 - (gain if best else USE_GAIN))
        moisture_worse = found.rmse_emc > stated.rmse_emc
        if found.score < bar and not moisture_worse:
            best, least = names, found
    return best, least, stated


def _held_out(
    window: Window,
    setting: Setting,
    names: tuple[str, ...],
    days: BoolArray,
    folds: list[NDArray[np.intp]],
    loose: float,
) -> Errors:
    squares = np.zeros(2)
    total = 0
    for fold in folds:
        test = np.zeros(days.size, dtype=np.bool_)
        test[fold] = True
        levers: dict[str, Any] = {}
        if names:
            fit = fit_levers(window, setting, names, days & ~test, loose)
            levers = dict(fit.values)
        t, h = run_window(window, setting, levers)
        found = errors_in(window, t[:, 0], h[:, 0], test)
        squares += fold.size * np.array([found.rmse_t**2, found.rmse_emc**2])
        total += fold.size
    rmse_t, rmse_emc = np.sqrt(squares / total)
    return Errors(float(rmse_t), float(rmse_emc))


def _lever_sets(setting: Setting) -> tuple[tuple[str, ...], ...]:
    """Return the sets whose levers all hold a number above zero in this setting."""
    values = setting.values()
    sets = tuple(
        names
        for names in LEVERS.get(setting.kind, ())
        if all(isinstance(values[n], float) and values[n] != 0.0 for n in names)
    )
    if not sets:
        raise SettingError(
            _(
                "'{kind}' has nothing to tune: its air is the weather's; "
                "compare the logger with the weather instead (`emcforecast "
                "compare`). Kinds that can be tuned: {known}.",
                kind=setting.kind,
                known=", ".join(LEVERS),
            )
        )
    return sets


def _window(
    logger: xr.Dataset,
    weather: xr.Dataset,
    drivers: Drivers,
    humidity_offset: float,
    shift_hours: int,
) -> tuple[Window, str, str]:
    hours = np.timedelta64(1, "h")
    there = weather["time"].to_numpy().astype("datetime64[h]")
    here = logger["time"].to_numpy().astype("datetime64[h]") - shift_hours * hours
    first, last = max(there[0], here[0]), min(there[-1], here[-1])
    size = int((last - first) / hours) + 1
    if size < LEAST_DAYS * DAY:
        raise WeatherError(
            _(
                "logger ({first} to {last}) and weather ({first2} to "
                "{last2}) share {days:.0f} days; at least {least_days} are "
                "needed: log longer, or give weather that covers the "
                "logger's time.",
                first=here[0],
                last=here[-1],
                first2=there[0],
                last2=there[-1],
                days=max(size, 0) / DAY,
                least_days=LEAST_DAYS,
            )
        )
    row = int((first - there[0]) / hours)
    run_up = min(row, RUN_UP_DAYS * DAY)
    rows = drivers.table[row - run_up : row + size]
    mine = int((first - here[0]) / hours)
    t = logger["air_temperature"].to_numpy()[mine : mine + size]
    h = logger["relative_humidity"].to_numpy()[mine : mine + size] - humidity_offset
    window = Window(
        Drivers(rows, drivers.fallbacks),
        run_up,
        t.astype(np.float64),
        np.clip(h.astype(np.float64), 0.0, 100.0),
    )
    return window, str(first.astype("datetime64[D]")), str(last.astype("datetime64[D]"))


def _least_shift(setting: Setting) -> int:
    """Hours of shift that are plain: heated rooms keep hours of their own."""
    heated = isinstance(setting.values().get("heat_to"), float)
    return HEATED_SHIFT if heated else PLAIN_SHIFT


def _disagree(shift: ClockShift) -> str:
    late = N_(
        "the logger's clock runs about {off} h too late: moved by that, its days "
        "follow the weather with a correlation of {moved:.2f} instead of "
        "{unmoved:.2f}. Check its time zone, and say --shift-hours {hours}, or "
        "--shift-hours 0 if the clock is right."
    )
    early = N_(
        "the logger's clock runs about {off} h too early: moved by that, its days "
        "follow the weather with a correlation of {moved:.2f} instead of "
        "{unmoved:.2f}. Check its time zone, and say --shift-hours {hours}, or "
        "--shift-hours 0 if the clock is right."
    )
    return _(
        late if shift.hours > 0 else early,
        off=abs(shift.hours),
        moved=shift.correlation,
        unmoved=shift.unshifted,
        hours=str(shift.hours),
    )
