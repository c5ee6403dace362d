"""The exit codes of all programs."""

from __future__ import annotations

OK = 0
"""No findings at or above the chosen level."""

FINDINGS = 1
"""Findings at or above the chosen level, or no answer."""

USAGE_ERROR = 2
"""A usage error: an unreadable file, a wrong option."""

INTERNAL_ERROR = 3
"""An internal error."""

INTERRUPTED = 130
"""Ended by Ctrl-C: 128 plus the number of the signal, as shells count."""
