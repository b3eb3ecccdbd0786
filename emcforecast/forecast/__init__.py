"""Forecasts: lowest moisture by month, drying dates, plans, readings."""
