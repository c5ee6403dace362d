"""Baselines: findings that were there when a club began to check, and do not block.

A baseline is the JSON that ``trappoint check --format json`` prints; ``--write-baseline`` writes
the same. Files in it are named from the folder in which the check was run.
"""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING, Any

from trappoint.app.known_findings import Known, part_known
from trappoint.core.findings import LEVELS
from trappoint.source.reading import LIMIT_BYTES, UnusableFile, read_file
from trappoint.source.writing import write_file

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding


class BaselineError(UnusableFile):
    """A baseline that cannot be used, or not be written. The message says why."""


class Baseline:
    """What is known from before, file by file."""

    def __init__(self, known: dict[str, list[Known]]) -> None:
        """``known``: from the names of files, as the baseline has them, to what it records."""
        self._names = {_place(name): name for name in known}
        self._known = {_place(name): records for name, records in known.items()}
        self._asked: set[str] = set()
        self.gone: list[tuple[str, Known]] = []
        """What is recorded of the files asked for and was not found there any more."""

    def part(self, file: str, findings: Iterable[Finding]) -> tuple[list[Finding], list[Finding]]:
        """Part the findings of a file into new ones and known ones."""
        place = _place(file)
        self._asked.add(place)
        new, known, gone = part_known(findings, self._known.get(place, ()))
        self.gone += [(file, record) for record in gone]
        return new, known

    def lost_files(self) -> list[str]:
        """Return the files that are recorded but do not exist any more."""
        return sorted(
            name
            for place, name in self._names.items()
            if place not in self._asked and self._known[place] and not os.path.lexists(place)
        )


def _place(name: str) -> str:
    return name if name == "-" else os.path.abspath(name)  # noqa: PTH100


def read_baseline(path: str) -> Baseline:
    """Read a baseline. Raises ``BaselineError`` where it cannot be used."""
    try:
        content = read_file(path)
    except UnusableFile as error:
        raise BaselineError(f"The baseline cannot be used. {error}") from None
    if len(content) > LIMIT_BYTES:
        raise BaselineError(f"The baseline {path} is longer than 8 MiB.")
    try:
        data = json.loads(content)
    except (ValueError, RecursionError):
        raise BaselineError(
            f"The baseline {path} is not JSON. `trappoint check --write-baseline {path} ...` "
            "writes one."
        ) from None
    try:
        return Baseline(_known_in(data))
    except (KeyError, TypeError, ValueError, AttributeError):
        raise BaselineError(
            f"The baseline {path} is not what `trappoint check --format json` prints: a finding "
            "in it lacks its rule, level, pointer or path, or there are no files."
        ) from None


def _known_in(data: Any) -> dict[str, list[Known]]:
    known: dict[str, list[Known]] = {}
    for file in data["files"]:
        records = known.setdefault(_text(file["file"]), [])
        for finding in file["findings"]:
            level = finding["level"]
            if level not in LEVELS:
                raise ValueError(level)
            ids = finding["path"]
            if not isinstance(ids, list):
                raise TypeError(ids)
            records.append(
                Known(
                    _text(finding["rule"]),
                    level,
                    _text(finding["pointer"]),
                    tuple(_text(id_) for id_ in ids),
                    _text(finding.get("file", "")),
                )
            )
    return known


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def write_baseline(path: str, reports: Iterable[FileReport]) -> None:
    """Write a baseline, whole or not at all. Raises ``BaselineError`` where that fails."""
    from trappoint.core.terminal import RenderOptions
    from trappoint.reporting.findings_json import render

    text = "".join(render(reports, RenderOptions()))
    try:
        write_file(path, text.encode("ascii"), called=f"The baseline {path}")
    except UnusableFile as error:
        raise BaselineError(str(error)) from None
