"""The kinds of value an option takes, each with its refusal in the language spoken."""

from math import isfinite
from typing import Any

import click

from emcforecast.language import _


def span(low: float | None, high: float | None) -> str:
    """Say the numbers from one to another: "3 to 30"; either end may be open.

    Examples
    --------
    >>> span(3.0, 30.0), span(0, None)
    ('3 to 30', '0 or more')
    """
    if high is None:
        return _("{low:g} or more", low=low)
    return _("{low:g} to {high:g}", low=low, high=high)


class Number(click.types.FloatParamType):
    """A finite number."""

    name = "number"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        """Read a number; nan and inf are none."""
        try:
            number = float(value)
        except ValueError:
            number = float("nan")
        if not isfinite(number):
            self.fail(
                _("{value!r} is not a number; write one such as 12.", value=value),
                param,
                ctx,
            )
        return number


class NumberRange(Number, click.FloatRange):
    """A finite number within bounds."""

    name = "number"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        """Read a number from `min` to `max`."""
        number = super().convert(value, param, ctx)
        _require_within(self, number, param, ctx)
        return number


class WholeRange(click.IntRange):
    """A whole number within bounds."""

    name = "number"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        """Read a whole number from `min` to `max`."""
        try:
            number = int(value)
        except ValueError:
            self.fail(
                _(
                    "{value!r} is not a whole number; write one such as 12.",
                    value=value,
                ),
                param,
                ctx,
            )
        _require_within(self, number, param, ctx)
        return number


def _require_within(
    kind: click.FloatRange | click.IntRange,
    number: float,
    param: click.Parameter | None,
    ctx: click.Context | None,
) -> None:
    low, high = kind.min, kind.max
    if (low is None or number >= low) and (high is None or number <= high):
        return
    said = span(low, high)
    kind.fail(_("{number:g} is outside {span}.", number=number, span=said), param, ctx)


class OneOf(click.Choice[str]):
    """One of a few words."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        """Return the word of the choice that is meant."""
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter as error:
            words = ", ".join(repr(word) for word in self.choices)
            raise click.BadParameter(
                _("{value!r} is not one of {words}.", value=value, words=words),
                ctx,
                param,
            ) from error


class FilePath(click.Path):
    """A file's path; what a folder has is refused."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        """Return the path."""
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter as error:
            raise click.BadParameter(
                _("File {value!r} is a directory.", value=str(value)), ctx, param
            ) from error


NUMBER = Number()
