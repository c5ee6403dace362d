"""The version of the program. Kept here alone: the build reads it too."""

__version__ = "0.1.0"
