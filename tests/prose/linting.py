"""The prose linter: proselint's machinery with this project's own list of words.

proselint is a general-purpose linter of English prose. Its own checks are for essays (clichés,
typography); here only its engine is used, with the checks in ``words.toml``.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from proselint.registry.checks import Check
from proselint.registry.checks.engine import Fancy, RegexOptions
from proselint.registry.checks.types import ExistenceSimple

HERE = Path(__file__).parent


class Flag(NamedTuple):
    """One place that the linter flags."""

    line: int
    name: str
    words: str
    instead: str


def entries() -> list[dict[str, Any]]:
    """Return the entries of ``words.toml``."""
    listed: list[dict[str, Any]] = tomllib.loads((HERE / "words.toml").read_text("utf-8"))["flag"]
    return listed


@cache
def checks() -> tuple[Check, ...]:
    """Return the checks that the entries make."""
    engine = Fancy(RegexOptions(case_insensitive=True, multi_line=True))
    return tuple(
        Check(
            ExistenceSimple("|".join(f"(?:{pattern})" for pattern in entry["patterns"])),
            engine,
            path=entry["name"],
            message=entry["instead"],
        )
        for entry in entries()
    )


def lint(text: str) -> list[Flag]:
    """Return the flagged places of a text, in order. Lines are counted from 1."""
    found = [
        Flag(
            text.count("\n", 0, result.span[0]) + 1,
            result.check_path,
            text[slice(*result.span)],
            result.message,
        )
        for check in checks()
        for result in check.check_with_flags(text)
    ]
    return sorted(found)
