"""Help in the language spoken: usage, what a command does, its options in sections."""

import inspect

import click

from emcforecast.cli.remembered import SHARED
from emcforecast.cli.values import span
from emcforecast.language import N_, _, p_

WHEN_UNSAID = SHARED | {
    *("logger_utc_offset", "logger_day_first", "logger_temperature_unit"),
}
"""Options that say what a file does not."""
HOW_ANSWERED = frozenset(
    {
        *("as_json", "csv_file", "units", "language", "plot_file", "dark", "narrow"),
        "quiet",
    }
)
"""Options that shape the answer."""
LISTS_THEM = ("check", "here")
"""Commands that list the options of weather files; others point to the first."""
FIRST_COLUMN = 26
PLAIN, FILES, ANSWER = (
    N_("Options"),
    N_("When the file does not say"),
    N_("The answer"),
)
ELSEWHERE = N_(
    "WEATHER is a file, archive and place, or demo; see `emcforecast check --help`."
)


class Helped(click.Command):
    """A command whose help has its options in sections, in the language spoken."""

    def collect_usage_pieces(self, ctx: click.Context) -> list[str]:
        """Name what follows the command."""
        return [p_("help", piece) for piece in super().collect_usage_pieces(ctx)]

    def format_usage(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the line of usage."""
        usage, pieces = _("Usage:"), " ".join(self.collect_usage_pieces(ctx))
        formatter.write_usage(ctx.command_path, pieces, f"{usage} ")

    def format_help_text(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """Write what the command does."""
        formatter.write_paragraph()
        with formatter.indentation():
            formatter.write_text(p_("help", help_of(self)))

    def format_options(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """Write the options under the heading each belongs to."""
        sections: dict[str, list[tuple[str, str]]] = {PLAIN: [], FILES: [], ANSWER: []}
        elsewhere = False
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record is None or not isinstance(param, click.Option):
                continue
            if "--help" in param.opts:
                continue  # It was just typed.
            if param.name in SHARED and ctx.info_name not in LISTS_THEM:
                elsewhere = True
                continue
            heading = (
                FILES
                if param.name in WHEN_UNSAID
                else ANSWER
                if param.name in HOW_ANSWERED
                else PLAIN
            )
            sections[heading].append((_spelling(param, record[0]), _about(param)))
        for heading, records in sections.items():
            if records:
                with formatter.section(_(heading)):
                    formatter.write_dl(records, col_max=FIRST_COLUMN)
        if elsewhere:
            formatter.write_paragraph()
            formatter.write_text(_(ELSEWHERE))


def help_of(command: click.Command) -> str:
    """Return what a command says of itself, in English."""
    return inspect.cleandoc(command.help or "")


def _spelling(option: click.Option, text: str) -> str:
    """Return how an option is written, its value named in the language spoken."""
    value = option.metavar or option.type.name.upper()
    if not text.endswith(f" {value}"):
        return text
    return text.removesuffix(value) + p_("help", value)


def _about(option: click.Option) -> str:
    """Say what an option is for, its default, its bounds, and whether it is needed."""
    notes = []
    if option.show_default:
        notes.append(_("default: {value}", value=_default(option)))
    kind = option.type
    if isinstance(kind, click.IntRange | click.FloatRange) and kind.min is not None:
        notes.append(span(kind.min, kind.max))
    if option.required:
        notes.append(_("required"))
    about = p_("help", option.help) if option.help else ""
    return f"{about}  [{'; '.join(notes)}]".strip() if notes else about


def _default(option: click.Option) -> str:
    if isinstance(option.show_default, str):
        return p_("help", option.show_default)
    if isinstance(option.default, tuple):
        return ", ".join(map(str, option.default))
    return str(option.default)
