"""The files of the reports of one run, and where the things of a plan stand in them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.reporting.sarif_places import SarifText, location_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding


class Artifacts:
    """All files that a log names, each once."""

    def __init__(self) -> None:
        self.listed: list[dict[str, Any]] = []
        self._numbers: dict[str, int] = {}

    def number(self, file: str) -> int:
        """Return the number of a file, which is listed from then on."""
        if file not in self._numbers:
            self._numbers[file] = len(self.listed)
            self.listed.append({"location": location_of(file), "mimeType": "application/json"})
        return self._numbers[file]


class Documents:
    """The file of one report, and those of its boards."""

    def __init__(self, report: FileReport, artifacts: Artifacts) -> None:
        self.report = report
        own = SarifText(report.file, report.text, artifacts.number(report.file))
        self._files = {report.file: own}
        self._boards = {"": own}
        for board in report.boards:
            if board.file not in self._files:
                number = artifacts.number(board.file)
                self._files[board.file] = SarifText(board.file, board.text, number)
            self._boards[board.name] = self._files[board.file]

    def of(self, finding: Finding) -> SarifText:
        """Return the file that a finding stands in."""
        return self._files[finding.file or self.report.file]

    def places_of(self, ids: Iterable[str]) -> list[dict[str, Any]]:
        """Return the locations of the things with these ids, each once; unknown ids have none."""
        found: dict[tuple[str, str], dict[str, Any]] = {}
        for id_ in ids:
            document, name = self._home(id_)
            pointer = document.pointer_of(name)
            if pointer and (document.file, pointer) not in found:
                place = {**document.location_at(pointer), "message": {"text": id_}}
                found[document.file, pointer] = place
        return list(found.values())

    def place_of(self, id_: str, *, signal: bool = False) -> dict[str, Any]:
        """Return the location of a place or a signal; the whole file if it is unknown."""
        document, name = self._home(id_)
        pointer = (document.signal_pointer(name) if signal else "") or document.pointer_of(name)
        return document.location_at(pointer) if pointer else document.location(0, 0)

    def acceptance_of(self, finding: Finding) -> tuple[dict[str, Any], str] | None:
        """Return where the entry is by which a finding is accepted, and its reason."""
        for board, document in reversed(self._boards.items()):
            prefix = f"{board}/".replace("/", "~1") if board else ""
            steps = finding.place.split("/")
            if prefix and not (steps[2:3] or [""])[0].startswith(prefix):
                continue
            inner = document is self.of(finding) and bool(finding.file)
            seen = "/".join(step.removeprefix(prefix) for step in steps)
            hit = document.acceptance_of(
                finding._replace(pointer=finding.pointer if inner else seen)
            )
            if hit is not None:
                return document.location_at(hit[0]), hit[1]
        return None

    def _home(self, id_: str) -> tuple[SarifText, str]:
        """Return the file in which a thing of the whole is written, and what it is called there."""
        kind, colon, name = id_.rpartition(":")
        board, _, own = name.rpartition("/")
        document = self._boards.get(board)
        if document is None:
            return self._boards[""], id_
        return document, f"{kind}{colon}{own}"
