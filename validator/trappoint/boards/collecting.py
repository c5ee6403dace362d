"""Reads the plans of a plan's boards, and of the boards of those."""

from __future__ import annotations

import os.path
import posixpath
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.schema.validation import schema_findings
from trappoint.source.reading import LIMIT_BYTES, Document, Unreadable, read_document, why_unusable

if TYPE_CHECKING:
    from trappoint.source.files import Files

MAX_BOARDS = 500
"""The most boards in one plan; a board used twice counts twice."""

MAX_DEPTH = 7
"""The most levels of boards within boards, and so the most board names before an id."""

MAX_LETTERS = LIMIT_BYTES
"""The most characters in all boards together; a board used twice counts twice."""

TroubleKind = Literal[
    "not-read",
    "out-of-reach",
    "not-there",
    "no-plan",
    "in-a-circle",
    "too-many",
    "no-such-board",
    "no-such-edge",
    "edge-of-several",
    "joined-twice",
    "joined-to-itself",
    "without-length",
]


class AssemblyError(NamedTuple):
    """An error that prevents the assembly of a plan."""

    kind: TroubleKind
    pointer: str
    """The JSON pointer in the whole."""
    names: tuple[str, ...] = ()
    """The boards, edges or files concerned."""
    told: str = ""
    """Details to print: a cause, or the names that can be chosen instead."""


@dataclass(frozen=True, slots=True)
class BoardPart:
    """A plan as a part of the whole: the plan itself, or the plan of a board."""

    name: str
    """Empty for the plan itself; ``west`` for its board of that name, ``west/yard`` for a board
    of that board."""
    file: str
    """The name of its file in reports."""
    path: str
    """The path of its file, relative to the folder of the plan itself."""
    document: Document
    turned: bool
    """True if up and down in the whole are the reverse of its own plan."""

    @property
    def data(self) -> dict[str, Any]:
        """The data of its plan, as written."""
        return self.document.data

    @property
    def prefix(self) -> str:
        """The prefix of its ids in the whole; empty for the plan itself."""
        return f"{self.name}/" if self.name else ""


class Collector:
    """A reader that reads each file once and lists each use of a board."""

    def __init__(self, document: Document, files: Files | None) -> None:
        self._files = files
        own = posixpath.basename(document.name.replace(os.sep, "/"))
        self._root = BoardPart("", document.name, own, document, turned=False)
        self._read: dict[str, Document | AssemblyError] = {}
        self._letters = 0
        self._full = False
        self.paths: dict[str, None] = {}
        """The files of all boards, in the order in which they are first used."""
        self.troubles: list[AssemblyError] = []
        self.unread: set[str] = set()
        """The names of the boards without a readable plan."""
        self._parts = [self._root]

    def collect(self) -> list[BoardPart]:
        """Return the plan itself and all boards that can be read."""
        if self._root.data.get("boards") and self._files is None:
            self.troubles.append(AssemblyError("not-read", pointer_to("boards")))
            self.unread.update(self._root.data["boards"])
        else:
            self._collect(self._root, (self._root.path,))
        return self._parts

    def _collect(self, part: BoardPart, chain: tuple[str, ...]) -> None:
        for board, entry in part.data.get("boards", {}).items():
            name = part.prefix + board
            found = None if self._full else self._board(part, name, entry, chain)
            if found is None:
                self.unread.add(name)
            else:
                self._parts.append(found)
                self._collect(found, (*chain, found.path))

    def _board(
        self, part: BoardPart, name: str, entry: dict[str, Any], chain: tuple[str, ...]
    ) -> BoardPart | None:
        """Return one board; None if it cannot be read (the error is kept in ``troubles``)."""
        pointer = pointer_to("boards", name, "plan")
        folder = posixpath.dirname(part.path)
        path = posixpath.normpath(posixpath.join(folder, entry["plan"]))
        if path in chain:
            circle = (*chain[chain.index(path) :], path)
            self.troubles.append(AssemblyError("in-a-circle", pointer, circle))
            return None
        document = self._document(path)
        if isinstance(document, AssemblyError):
            self.troubles.append(document._replace(pointer=pointer))
            return None
        self._letters += len(document.text)
        if (
            len(self._parts) > MAX_BOARDS
            or self._letters > MAX_LETTERS
            or name.count("/") >= MAX_DEPTH
        ):
            self._full = True
            self.troubles.append(AssemblyError("too-many", pointer))
            return None
        turned = part.turned is not entry.get("reversed", False)
        return BoardPart(name, document.name, path, document, turned)

    def _document(self, path: str) -> Document | AssemblyError:
        if path not in self._read:
            self._read[path] = self._open(path)
            if self._read[path] != AssemblyError("out-of-reach", ""):
                self.paths[path] = None
        return self._read[path]

    def _open(self, path: str) -> Document | AssemblyError:
        from trappoint.source.opening import OutOfReach

        beside = os.path.dirname(self._root.file)  # noqa: PTH120 - pathlib costs start-up
        file = os.path.normpath(os.path.join(beside, *path.split("/")))  # noqa: PTH118
        try:
            content = self._files.read(path) if self._files is not None else b""
        except OutOfReach:
            return AssemblyError("out-of-reach", "")
        except (OSError, ValueError) as error:
            return AssemblyError("not-there", "", (file,), why_unusable(file, error))
        document = read_document(content, file)
        if isinstance(document, Unreadable):
            return _no_plan(file, document.findings)
        of_form = schema_findings(document.data)
        if of_form:
            from trappoint.source.positions import place_findings

            return _no_plan(file, place_findings(document.text, of_form))
        return document


def _no_plan(file: str, findings: tuple[Any, ...]) -> AssemblyError:
    first = findings[0]
    more = f" (and {len(findings) - 1} more)" if len(findings) > 1 else ""
    told = f"line {first.line}, column {first.column}: {first.message}{more}"
    return AssemblyError("no-plan", "", (file,), told)
