"""Measurements of speed: ``cd tests && python -m bench`` prints all tables (see README.md)."""
