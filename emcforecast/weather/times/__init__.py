"""Dates, clocks and time zones as weather files write them."""
