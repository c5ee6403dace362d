"""How every program of the house ends."""

from __future__ import annotations

OK = 0
"""Nothing was found at or above the level asked for."""

FINDINGS = 1
"""Something was found, or what was asked for cannot be had."""

USAGE_ERROR = 2
"""It could not be used so: an unreadable file, wrong words."""

INTERNAL_ERROR = 3
"""A fault of the program's own."""

INTERRUPTED = 130
"""Ended by Ctrl-C: 128 and the number of the signal, as shells count."""
