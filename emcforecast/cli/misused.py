"""What is wrong with a command line that cannot be understood, in one line."""

import click

from emcforecast.language import N_, _, did_you_mean, n_, p_

REMEMBER = N_("name it, or remember one with `emcforecast here WEATHER`.")


def misused(error: click.UsageError) -> str:
    """Say what was wrong with a command line, and where its options are listed.

    Parameters
    ----------
    error : UsageError
        As click raises it; what it holds is said, in the language spoken.
    """
    message = _what(error)
    if error.ctx is None or error.ctx.parent is None:
        return message
    path = error.ctx.command_path
    name = path.partition(" ")[2] or path
    if not message.endswith((".", "?")):
        message = f"{message}."
    return _(
        "{command}: {message} `{path} --help` lists what it takes.",
        command=name,
        message=message,
        path=path,
    )


def _what(error: click.UsageError) -> str:
    if isinstance(error, click.MissingParameter):
        return _missing(error)
    if isinstance(error, click.BadParameter):
        if error.param is None:
            return _("Invalid value: {message}", message=error.message)
        name = error.param.get_error_hint(error.ctx)
        return _(
            "Invalid value for {name}: {message}", name=name, message=error.message
        )
    if isinstance(error, click.NoSuchOption):
        near = did_you_mean(error.option_name, _options(error.ctx), prefix="--")
        if not near and error.ctx is not None and error.ctx.parent is None:
            return _(
                "No such option '{name}' before the command. What an answer is to be "
                "like stands after it: emcforecast floor demo --units us.",
                name=error.option_name,
            )
        return _("No such option '{name}'.{near}", name=error.option_name, near=near)
    if isinstance(error, click.BadOptionUsage):
        return _option_misused(error.option_name, error.ctx)
    return error.message


def _missing(error: click.MissingParameter) -> str:
    """Say which word or option is lacking, and where it may be remembered."""
    param = error.param
    if param is None:
        return error.format_message()
    name = param.get_error_hint(error.ctx)
    if isinstance(param, click.Argument) and param.metavar:
        word = p_("help", param.metavar)
        name = f"'{word}'"
    if param.name == "weather":
        return _("Missing {name}: {advice}", name=name, advice=_(REMEMBER))
    if isinstance(param, click.Option):
        return _("Missing option {name}.", name=name)
    return _("Missing {name}.", name=name)


def _option_misused(name: str, ctx: click.Context | None) -> str:
    """Say that an option wants a value, several, or none."""
    params = [] if ctx is None else ctx.command.get_params(ctx)
    option = next((one for one in params if name in one.opts), None)
    if isinstance(option, click.Option) and option.is_flag:
        return _("Option '{name}' does not take a value.", name=name)
    return n_(
        "Option '{name}' requires an argument.",
        "Option '{name}' requires {count} arguments.",
        1 if option is None else option.nargs,
        name=name,
    )


def _options(ctx: click.Context | None) -> tuple[str, ...]:
    """Return the long options of the command that was asked."""
    params = [] if ctx is None else ctx.command.get_params(ctx)
    known = (word for one in params for word in (*one.opts, *one.secondary_opts))
    return tuple(word for word in known if word.startswith("--"))
