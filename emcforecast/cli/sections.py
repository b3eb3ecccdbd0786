"""Commands: help in sections, and no output over what is read."""

from typing import Any

import click

from emcforecast.cli.spared import spare_inputs

WHEN_UNSAID = frozenset(
    {
        *("latitude", "longitude", "elevation", "utc_offset", "day_first"),
        *("temperature_unit", "humidity_unit", "wind_unit", "precipitation_unit"),
        *("stamp", "place", "sheet", "columns", "logger_utc_offset"),
        *("logger_day_first", "logger_temperature_unit"),
    }
)
"""Options that tell what a weather file does not."""
HOW_ANSWERED = frozenset(
    {
        *("as_json", "csv_file", "units", "plot_file", "dark", "narrow"),
    }
)
"""Options that shape the answer."""


class Command(click.Command):
    """A command whose help sorts its options, and that spares the files it reads."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, unless it would write over what it reads."""
        spare_inputs(ctx.params)
        return super().invoke(ctx)

    def format_options(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """Write the options under the heading each belongs to."""
        sections: dict[str, list[tuple[str, str]]] = {
            "Options": [],
            "When the file does not say": [],
            "The answer": [],
        }
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record is None or not isinstance(param, click.Option):
                continue
            heading = (
                "When the file does not say"
                if param.name in WHEN_UNSAID
                else "The answer"
                if param.name in HOW_ANSWERED or "--help" in param.opts
                else "Options"
            )
            sections[heading].append(record)
        for heading, records in sections.items():
            if records:
                with formatter.section(heading):
                    formatter.write_dl(records)
