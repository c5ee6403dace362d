"""Limits on every document: depth, digits and findings."""

from __future__ import annotations

MAX_DEPTH = 64
"""Limit on objects and lists nested inside one another."""

MAX_INTEGER_DIGITS = 308
"""Limit on the digits of a whole number, so that it fits a double (at most about 1.8e308)."""

MAX_FINDINGS = 500
"""Limit on the schema findings reported for one document."""
