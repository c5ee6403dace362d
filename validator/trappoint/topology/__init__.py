"""Sections, places, moves, which end is up, and lines between points."""
