"""Run the command line with ``python -m emcforecast.cli``."""

from emcforecast.cli.main import run

run()
