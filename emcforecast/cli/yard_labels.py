"""`emcforecast yard labels`: a label for each stack, to print and pin to it."""

from io import BytesIO
from pathlib import Path

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.options import writable
from emcforecast.cli.spared import spare
from emcforecast.cli.values import FilePath, OneOf
from emcforecast.cli.yard import file_argument, follow_yard, read_by, today_option
from emcforecast.errors import InputError
from emcforecast.language import _


def _pdf(
    _context: click.Context, option: click.Parameter, path: Path | None
) -> Path | None:
    if path is not None and path.suffix.lower() != ".pdf":
        raise InputError(
            _("{path}: labels are printed from a file that ends in .pdf", path=path)
        )
    return writable(_context, option, path)


@click.command("labels", cls=Command, short_help="A label for each stack, to print.")
@file_argument
@click.option(
    "-o",
    "--output",
    type=FilePath(dir_okay=False, path_type=Path),
    callback=_pdf,
    metavar="FILE",
    help="Also draw them, eight a page: labels.pdf.",
)
@click.option("--stack", "only", multiple=True, help="Only this stack; repeatable.")
@today_option
@click.option("--json", "as_json", is_flag=True, help="One JSON document.")
@click.option("--units", type=OneOf(["us", "si"]), help="Inches, or mm.")
def labels(
    file: Path,
    output: Path | None,
    only: tuple[str, ...],
    today: str | None,
    as_json: bool,
    units: str | None,
) -> None:
    """Print what a label of each stack in FILE says, or draw labels to cut out.

    A label holds the name, the wood and its thickness, when it was stacked, what it is
    for, the next step and room for readings.
    """
    from emcforecast.answers.yard import labels_answered
    from emcforecast.files import replace
    from emcforecast.yard.file import read_yard

    yard = read_yard(file)
    spare((output,), read_by(yard))
    state, weather, system = follow_yard(yard, today, units, only)
    answered = labels_answered(
        state,
        weather,
        system=system,
        inputs={"file": file, "output": output, "today": state.today},
    )
    if output is not None:
        from matplotlib.backends.backend_pdf import PdfPages

        from emcforecast.charts.labels import label_pages

        drawn = BytesIO()
        with PdfPages(drawn, metadata={"CreationDate": None}) as pages:
            for page in label_pages(answered.found):
                pages.savefig(page)
        replace(output, drawn.getvalue())
    common.give(answered.answer, as_json=as_json)
