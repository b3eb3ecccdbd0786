"""The commands by name, and the help of the whole command line."""

from collections.abc import Callable

# name: (module of emcforecast.cli that holds `command`, one line of help).
COMMANDS: dict[str, tuple[str, str]] = {
    "floor": ("floor", "The lowest moisture wood reaches in each place, by month."),
    "dry": ("dry", "When a stack reaches 30, 20 and your target moisture."),
    "plan": ("plan", "Where next, when to bring in, and ready by when."),
    "map": ("map", "Every cell of gridded weather, or many yards on it, at once."),
    "yard": ("yard", "Every stack of a yard file: moisture now and what is next."),
    "serve": ("serve", "The same as live pages, for the phone and the PC."),
    "report": ("report", "Everything of a place or yard as one page to print."),
    "check": ("check", "What a weather file holds, what was mended, or why not."),
    "fetch": ("fetch", "Get weather from an open archive into a file."),
    "places": ("places", "Look up a place by name."),
    "meter": ("meter", "What a moisture reading means, corrected step by step."),
    "movement": ("movement", "How much a board moves with its moisture."),
    "weight": ("weight", "How heavy a stack is."),
    "calibrate": ("calibrate", "Tune a setting with a temperature-humidity logger."),
    "compare": ("compare", "A logger beside the archive, month by month."),
    "hindcast": ("hindcast", "How good such forecasts would have been."),
    "species": ("species", "The woods it knows, with their numbers."),
    "settings": ("settings", "The storage kinds and what each assumes."),
    "archives": ("archives", "The open weather archives it can read."),
    "here": ("here", "Remember your place, weather and units."),
    "completion": ("completion", "Make your shell complete commands and options."),
}

INTRODUCTION = """\
Usage: emcforecast COMMAND [OPTIONS] [WORDS]

  How dry can wood get here, by when, and where next.

  WEATHER is a file (CSV, EPW, TMY3, NetCDF or a saved archive reply), several
  of one place (a folder, or a.csv+b.csv), an archive and a place such as
  open-meteo:46.1,7.2, or the word demo.

  Start with: emcforecast floor demo

Options:
  --version   Show the version and stop.
  -h, --help  Show this; after a command, its own options (or: help COMMAND).

Commands:
"""


def help_text(said: Callable[[str], str] = str) -> str:
    """Return the help of the whole command line, one line a command.

    Parameters
    ----------
    said : callable
        Says a sentence in the language spoken; English as it stands unless given.
    """
    return said(INTRODUCTION) + "\n".join(
        f"  {name:<10} {said(text)}" for name, (_, text) in COMMANDS.items()
    )
