"""Grids: many places at once, read lazily and worked out in pieces."""
