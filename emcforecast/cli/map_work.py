"""Reading, computing and drawing behind `emcforecast map`."""

import re
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from emcforecast.cli import pictures
from emcforecast.cli.common import reading_hints
from emcforecast.cli.options import is_quiet
from emcforecast.cli.progress import Progress
from emcforecast.cli.terminal import say
from emcforecast.errors import InputError
from emcforecast.language import _

if TYPE_CHECKING:
    import xarray as xr

    from emcforecast.grid.question import GridQuestion

NEEDED = ("dask", "distributed", "zarr")


def require_extra() -> None:
    """Refuse where the packages for maps are missing.

    Raises
    ------
    InputError
        With how to install them.
    """
    lacking = [name for name in NEEDED if find_spec(name) is None]
    if lacking:
        raise InputError(
            _(
                "maps need {lacking}, which is not installed; pip install "
                "'emcforecast[grid]' brings it",
                lacking=lacking[0],
            )
        )


def work_out(
    grids: Sequence[str], question: "GridQuestion | None", options: dict[str, Any]
) -> "xr.Dataset":
    """Open the grids, answer for every cell, write the map if one is named.

    Raises
    ------
    InputError
        For options that do not go together, and grids that cannot be used.
    """
    from emcforecast.grid.store import require_output
    from emcforecast.grid.work import Work, work_through
    from emcforecast.grid.yards import cells_at, read_places

    output = options["output"]
    if options["threads"] is not None and options["threads"] < 1:
        raise InputError(
            _("--threads {threads}: at least 1 is needed", threads=options["threads"])
        )
    if options["resume"] and output is None:
        raise InputError(_("--resume goes on with a map that is written; name it: -o"))
    if output is not None:
        require_output(output, resume=options["resume"])
    if options["places_file"] is not None and options["plot_file"] is not None:
        raise InputError(_("--plot draws a whole grid; leave out --places, or --plot"))
    yards = (
        None if options["places_file"] is None else read_places(options["places_file"])
    )
    years = years_given("--years", options["years"])
    pairs, labels, models = _pairs(grids, years, options)
    if options["plot_file"] is not None:
        from emcforecast.charts.map import require_rows

        require_rows(pairs[0][0])
    if yards is not None:
        pairs = [[cells_at(ds, yards) for ds in pair] for pair in pairs]
    answer = _answer(question, labels, models, options["clock"])
    progress = Progress(_("map"))
    work = Work(
        threads=options["threads"],
        processes=True,
        scheduler=options["scheduler"],
        resume=options["resume"],
        progress=progress,
        say=None if is_quiet() else lambda text: say(text, err=True),
    )
    asked = {"question": repr(question), "labels": labels, "models": models,
             "utc_offset": options["clock"]}  # fmt: skip
    flat = [ds for pair in pairs for ds in pair]
    return work_through(flat, answer, asked, output, work, streamed=question is None)


def _pairs(
    grids: Sequence[str], years: tuple[int, int] | None, options: dict[str, Any]
) -> tuple[list[list["xr.Dataset"]], list[str], list[str]]:
    """Return each model's grids, one or a pair; the names of periods and models."""
    from emcforecast.grid.change import on_cells_of
    from emcforecast.grid.floor import select_years

    against, models = options["against"], list(options["models"])
    later = None if against is None else _period(against)
    if models and later is None:
        raise InputError(
            _("--model compares changes; say which years with --years and --against")
        )
    named = [[*grids], *([model] for model in models)]
    opened = [open_grids(paths, options) for paths in named]
    if against is None:
        return [[select_years(opened[0], years)]], [], []
    pairs = []
    for ds in opened:
        other = ds if later is not None else open_grids([against], options)
        pairs.append([select_years(ds, years), select_years(other, later)])
    cells = pairs[0][0]
    pairs = [[on_cells_of(ds, cells) for ds in pair] for pair in pairs]
    labels = [_label(ds, k) for k, ds in enumerate(pairs[0])]
    names = [Path(paths[0]).stem for paths in named] if models else []
    if len(set(names)) < len(names):
        names = [f"{name} {k}" for k, name in enumerate(names, 1)]
    return pairs, labels, names


def _label(ds: "xr.Dataset", number: int) -> str:
    if ds.attrs["step"] == "climatology":
        return ("first grid", "second grid")[number]
    first, last = (int(ds["time"].dt.year[k]) for k in (0, -1))
    return f"{first} to {last}"


def _answer(
    question: "GridQuestion | None",
    labels: list[str],
    models: list[str],
    utc_offset: float | None,
) -> Any:
    """Return what answers for the same block of all grids."""
    from functools import partial

    from emcforecast.grid.emc import emc_grid
    from emcforecast.grid.floor import answer_grid

    if question is None:
        one = partial(emc_grid, utc_offset=utc_offset)
    else:
        one = partial(answer_grid, question=question)
    return partial(_compared, one, labels, models)


def _compared(
    one: Any, labels: list[str], models: list[str], *grids: "xr.Dataset"
) -> "xr.Dataset":
    from emcforecast.grid.change import change_between, over_models

    answers = [one(ds) for ds in grids]
    if not labels:
        found: xr.Dataset = answers[0]
        return found
    changes = [
        change_between(answers[k], answers[k + 1], labels)
        for k in range(0, len(answers), 2)
    ]
    return over_models(changes, models) if models else changes[0]


PERIOD = re.compile(r"(\d{4}):(\d{4})")


def _period(text: str) -> tuple[int, int] | None:
    """Read C:D; None for the name of a grid."""
    found = PERIOD.fullmatch(text.strip())
    return None if found is None else (int(found[1]), int(found[2]))


def years_given(option: str, text: str | None) -> tuple[int, int] | None:
    """Read A:B.

    Raises
    ------
    InputError
        When it is not two years.
    """
    if text is None:
        return None
    years = _period(text)
    if years is None:
        raise InputError(
            _(
                "{option} {text}: write two years, such as 1991:2020",
                option=option,
                text=text,
            )
        )
    return years


def open_grids(paths: Sequence[str], options: dict[str, Any]) -> "xr.Dataset":
    """Open the files of one grid; parts joined by + are files of their own."""
    from emcforecast.grid.read import open_grid

    parts = [
        part
        for path in paths
        for part in ([path] if Path(path).exists() else path.split("+"))
    ]
    height = options["height"]
    try:
        height = None if height is None else float(height)
    except ValueError:
        height = Path(height)
    columns = reading_hints({"columns": options["variables"]}).get("columns")
    return open_grid(parts, variables=columns, height=height, member=options["member"])


def draw(result: "xr.Dataset", options: dict[str, Any]) -> None:
    """Draw the map and write the picture."""
    from emcforecast.charts.map import map_figure, shown_first

    figure = map_figure(
        result,
        variable=shown_first(result),
        names=options["names"],
        look=pictures.look(options),
        narrow=options["narrow"],
    )
    pictures.save_figure(figure, options["plot_file"])
