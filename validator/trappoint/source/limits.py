"""What a text may have at most: the limits that every reading keeps."""

from __future__ import annotations

MAX_DEPTH = 64
"""The most objects and lists that may stand inside one another."""

MAX_INTEGER_DIGITS = 308
"""The most digits of a whole number that surely fits a double: the largest is near 1.8e308."""

MAX_FINDINGS = 500
"""The most findings on the form of one document; who has more has one cause for them all."""
