"""Answers as text, tables, JSON and CSV."""
