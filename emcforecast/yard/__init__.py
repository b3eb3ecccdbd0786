"""The yard file and the readings log."""
