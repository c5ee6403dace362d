"""The version of the program. The build reads it from here."""

__version__ = "0.1.0"
