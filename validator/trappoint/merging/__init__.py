"""Merge three versions of a plan, by id and key."""
