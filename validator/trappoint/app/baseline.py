"""Baselines: findings recorded when a club began to check, which do not block.

A baseline is the JSON that ``trappoint check --format json`` prints; ``--write-baseline`` writes
the same. File names in it are relative to the folder in which the check ran.
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
    """A baseline that cannot be read or written. The message has the reason."""


class Baseline:
    """The recorded findings, file by file."""

    def __init__(self, known: dict[str, list[Known]]) -> None:
        """``known``: from the file names in the baseline to its entries."""
        self._names = {_place(name): name for name in known}
        self._known = {_place(name): records for name, records in known.items()}
        self._asked: set[str] = set()
        self.gone: list[tuple[str, Known]] = []
        """The stale entries of the files checked so far, each with the name of its file."""

    def part(self, file: str, findings: Iterable[Finding]) -> tuple[list[Finding], list[Finding]]:
        """Split the findings of a file into new ones and known ones."""
        place = _place(file)
        self._asked.add(place)
        new, known, gone = part_known(findings, self._known.get(place, ()))
        self.gone += [(file, record) for record in gone]
        return new, known

    def lost_files(self) -> list[str]:
        """Return the files in the baseline that no longer exist."""
        return sorted(
            name
            for place, name in self._names.items()
            if place not in self._asked and self._known[place] and not os.path.lexists(place)
        )


def _place(name: str) -> str:
    return name if name == "-" else os.path.abspath(name)  # noqa: PTH100


def read_baseline(path: str) -> Baseline:
    """Read a baseline. Raises ``BaselineError`` if it cannot be used."""
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
            f"The baseline {path} is not a report of `trappoint check --format json`: it has no "
            "`files`, or a finding lacks its rule, level, pointer or path."
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
    """Write a baseline, whole or not at all. Raises ``BaselineError`` if that fails."""
    from trappoint.core.terminal import RenderOptions
    from trappoint.reporting.findings_json import render

    text = "".join(render(reports, RenderOptions()))
    try:
        write_file(path, text.encode("ascii"), called=f"The baseline {path}")
    except UnusableFile as error:
        raise BaselineError(str(error)) from None
