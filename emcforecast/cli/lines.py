"""Lines of words that fit a small screen, without loading anything heavy."""

from emcforecast.report.screen import wrapped

__all__ = ["wrapped"]
