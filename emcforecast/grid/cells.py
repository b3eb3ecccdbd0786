"""Some cells worked out with the engine of the commands, a few at a time."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.boards import boards_as_stated, start_state
from emcforecast.ensemble.calendar import DAY_HOURS, WeatherYears, weather_years
from emcforecast.ensemble.months import MonthCalendar, driest_month, month_calendar
from emcforecast.ensemble.percentiles import LEVELS, over_years, quantiles
from emcforecast.ensemble.run_boards import AirTables, air_tables, run_boards
from emcforecast.ensemble.simulate import moisture_of_dry_boards
from emcforecast.ensemble.trajectories import first_below
from emcforecast.grid.cell_weather import CellsWeather
from emcforecast.grid.question import GridQuestion
from emcforecast.physics.pieces import in_pieces
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.storage.air import air_in
from emcforecast.storage.drivers import drivers_of

MOST_BOARD_YEARS = 48
"""Weather years times places worked out together: memory does not grow with either."""
STACK_DAYS = 730
"""How long a green stack is followed."""

Results = dict[str, FloatArray]
"""By name, as `emcforecast.grid.variables` lists them; the first axis is cells."""


@dataclass
class _Batch:
    """Cells whose boards run together."""

    cells: list[int]
    airs: list[xr.Dataset]

    def fits(self, other: xr.Dataset, question: GridQuestion) -> bool:
        """Tell whether a series' hours are those of the batch, and there is room."""
        if not self.airs:
            return True
        mine, its = self.airs[0]["time"].to_numpy(), other["time"].to_numpy()
        years = max(its.size / 8766.0, 1.0) * len(question.places)
        room = MOST_BOARD_YEARS // years
        return (len(self.cells) < max(room, 1) and its.size == mine.size) and its[
            0
        ] == mine[0]


def work_out(weather: CellsWeather, question: GridQuestion, out: Results) -> None:
    """Fill the results of some cells.

    Parameters
    ----------
    weather : CellsWeather
        Of the cells.
    question : GridQuestion
        What is asked.
    out : dict of str to ndarray, shape (cells, …)
        Changed in place; cells that are masked are left as they are.

    Notes
    -----
    One thread: whoever calls runs several blocks of cells side by side.
    """
    for batch in _batches(weather, question):
        tables = air_tables(batch.airs)
        index = np.arange(len(batch.airs))
        running = moisture_of_dry_boards(tables, question.board, index, threads=1)
        count = len(question.places)
        offsets = weather.utc_offset[batch.cells]
        for k, cell in enumerate(batch.cells):
            rows = slice(k * count, (k + 1) * count)
            times = batch.airs[k * count]["time"].to_numpy()
            calendar = _calendar(times[0], times.size, float(offsets[k]))
            _fill_floor(out, cell, calendar, batch.airs[rows], running[rows], question)
        if question.stacked is not None:
            _fill_stacks(out, batch, tables, np.repeat(offsets, count), question)


def _batches(weather: CellsWeather, question: GridQuestion) -> Iterator[_Batch]:
    batch = _Batch([], [])
    for cell in range(weather.latitude.size):
        series = weather.hours(cell)
        if series is None:
            continue
        if not batch.fits(series, question):
            yield batch
            batch = _Batch([], [])
        batch.cells.append(cell)
        batch.airs += _airs(series, question)
        del series
    if batch.cells:
        yield batch


def _airs(series: xr.Dataset, question: GridQuestion) -> list[xr.Dataset]:
    """Air of every place; the drivers, five times as large, are let go."""
    drivers = drivers_of(series)
    return [air_in(series, place, drivers=drivers) for _, place in question.places]


@lru_cache(maxsize=32)
def _calendar(first: np.datetime64, hours: int, utc_offset: float) -> MonthCalendar:
    times = first.astype("datetime64[h]") + np.arange(hours)
    return month_calendar(times, utc_offset)


@lru_cache(maxsize=32)
def _years(first: np.datetime64, hours: int, utc_offset: float) -> WeatherYears:
    return weather_years(first.astype("datetime64[h]") + np.arange(hours), utc_offset)


def _fill_floor(
    out: Results,
    cell: int,
    calendar: MonthCalendar,
    airs: list[xr.Dataset],
    running: FloatArray,
    question: GridQuestion,
) -> None:
    for p, path in enumerate(running):
        emc = in_pieces(
            equilibrium_moisture_content,
            airs[p]["air_temperature"].to_numpy(),
            airs[p]["relative_humidity"].to_numpy(),
        )
        out["emc"][cell, p] = calendar.means(emc)
        out["board_mean"][cell, p] = calendar.means(path)
        least = calendar.lowest(path)
        for month in range(12):
            _fill_range(
                out, "lowest", (cell, p, month), least[calendar.months_named(month + 1)]
            )
        yearly = calendar.lowest_of_years(path)
        _fill_range(out, "year_lowest", (cell, p), yearly)
        out["year_lowest_month"][cell, p] = driest_month(calendar.day_range(path))
        if yearly.size > 1:
            out["year_lowest_spread"][cell, p] = yearly.std(ddof=1)
        for t, target in enumerate(question.targets):
            out["share_of_years"][cell, p, t] = np.mean(yearly <= target)


def _fill_range(
    out: Results, name: str, at: tuple[int, ...], values: FloatArray
) -> None:
    found = over_years(values)
    out[f"{name}_p50"][at] = found.p50
    if found.p10 is not None and found.p90 is not None:
        out[f"{name}_p10"][at] = found.p10
        out[f"{name}_p90"][at] = found.p90


def _fill_stacks(
    out: Results,
    batch: _Batch,
    tables: AirTables,
    utc_offsets: FloatArray,
    question: GridQuestion,
) -> None:
    """Follow a green stack from the same day of every weather year."""
    stacked = question.stacked
    if stacked is None:
        return
    times = batch.airs[0]["time"].to_numpy()
    count = len(question.places)
    for offset in np.unique(utc_offsets):
        airs = np.flatnonzero(utc_offsets == offset)
        years = _years(times[0], times.size, float(offset))
        rows, _ = years.starts(stacked)
        kept = slice(years.skipped, years.skipped + years.hours)
        mine = AirTables(
            tables.table[airs, kept],
            tables.surface_transfer[airs],
            tables.rain_film[airs],
        )
        days = _days_of_stacks(mine, rows, question)
        for k, air in enumerate(airs):
            cell, p = batch.cells[air // count], int(air % count)
            for s, reached in enumerate(days[k].T):
                even = np.full(reached.size, 1.0 / reached.size)
                levels = quantiles(reached, even, LEVELS)
                found = np.where(np.isfinite(levels), levels, np.nan)
                if reached.size == 1:
                    found[[0, 2]] = np.nan
                for name, value in zip(("p10", "p50", "p90"), found, strict=True):
                    out[f"days_to_{name}"][cell, p, s] = value
                out["share_dried"][cell, p, s] = np.isfinite(reached).mean()


def _days_of_stacks(
    airs: AirTables, rows: IntArray, question: GridQuestion
) -> FloatArray:
    """Days from stacking to each content, shape (airs, years, contents)."""
    count, years = airs.table.shape[0], rows.size
    boards = boards_as_stated([question.board] * (count * years))
    path = run_boards(
        airs,
        boards,
        start_state(boards, question.board.start_content(None)),
        air_index=np.repeat(np.arange(count), years),
        start_row=np.tile(rows, count),
        hours=DAY_HOURS * STACK_DAYS,
        threads=1,
    ).mean
    found = [first_below(path, mc) for mc in question.steps]
    result: FloatArray = np.stack(found, axis=-1).reshape(count, years, -1)
    return result
