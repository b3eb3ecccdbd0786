"""A command: its words parsed, in the language they ask for."""

from contextlib import suppress
from typing import Any

import click
from click.core import ParameterSource

from emcforecast.cli.help import WHEN_UNSAID, Helped
from emcforecast.cli.spared import spare_inputs
from emcforecast.errors import InputError
from emcforecast.language import _, language_given, n_, speak
from emcforecast.units import system_of

MEASURES = frozenset(
    {
        *("thickness", "thicknesses", "width", "length", "depth"),
        *("wood_temp", "calibrated", "oven", "sample", "planing"),
    }
)
"""Options that are lengths, weights or temperatures with their unit."""
TYPED = "emcforecast.typed"
"""Where the system of the units that were typed is kept, if they agree."""


class Command(Helped):
    """A command of this program: it spares the files it reads and speaks as asked."""

    allow_extra_args = True  # Refused below, in the language spoken.

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the words of the command line; an option of one value comes once."""
        options = args[: args.index("--")] if "--" in args else args
        _speak(options)
        given = [word.partition("=")[0] for word in options if word.startswith("--")]
        for param in self.params:
            once = isinstance(param, click.Option) and not (
                param.multiple or param.is_flag or param.count
            )
            words = [word for word in given if word in param.opts]
            if once and len(words) > 1:
                raise click.UsageError(
                    _(
                        "{words} is given {count} times; give it once.",
                        words=words[0],
                        count=len(words),
                    ),
                    ctx,
                )
        try:
            rest = super().parse_args(ctx, args)
        except click.UsageError as error:
            error.ctx = error.ctx or ctx  # The parser knows of none.
            raise
        if rest and not ctx.resilient_parsing:
            raise click.UsageError(
                n_(
                    "Got unexpected extra argument ({words})",
                    "Got unexpected extra arguments ({words})",
                    len(rest),
                    words=" ".join(map(str, rest)),
                ),
                ctx,
            )
        typed = {
            system_of(part)
            for name, value in ctx.params.items()
            if name in MEASURES
            and ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE
            for part in (value if isinstance(value, tuple) else (value,))
            if isinstance(part, str)
        } - {None}
        ctx.meta[TYPED] = typed.pop() if len(typed) == 1 else None
        if ctx.get_parameter_source("weather") is ParameterSource.COMMANDLINE:
            # Hints that are remembered belong to the weather remembered with them.
            for param in self.params:
                name = param.name or ""
                source = ctx.get_parameter_source(name)
                if name in WHEN_UNSAID and source is ParameterSource.DEFAULT_MAP:
                    ctx.params[name] = () if param.multiple else None
        return rest

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, unless it would write over what it reads."""
        spare_inputs(ctx.params)
        return super().invoke(ctx)


def _speak(words: list[str]) -> None:
    """Speak the language that the words ask for, until the group's `main` has ended."""
    asked = [
        word.partition("=")[2] or after
        for word, after in zip(words, [*words[1:], ""], strict=False)
        if word.partition("=")[0] == "--language"
    ]
    with suppress(InputError):  # Refused where the option is read.
        if asked:
            speak(language_given(asked[0]))
