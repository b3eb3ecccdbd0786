"""The engine: boards through every weather year, with draws of what is not known."""
