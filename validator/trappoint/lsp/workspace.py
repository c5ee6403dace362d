"""The plans around the open ones: boards, and plans put together from them."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.assemblies import wholes_of
from trappoint.app.discovery import PlanSource, gather
from trappoint.checking.check import may_have_boards
from trappoint.lsp.document_state import OpenFiles, full_path
from trappoint.lsp.lenient_access import Data, text, things
from trappoint.lsp.names import LiveText
from trappoint.source.files import is_plan
from trappoint.source.opening import repository_of
from trappoint.source.reading import LIMIT_BYTES, Unreadable, UnusableFile, read_document

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

MAX_PLANS = 2000
"""Most plans to search."""

MAX_KEPT = 600
"""Most parsed texts in memory."""


class Wholes(NamedTuple):
    """The known plans that are put together from one plan."""

    paths: tuple[str, ...]
    unsure: str = ""
    """The reason why there may be more; empty if there are no others."""


class Shelf:
    """The plans of a repository or folder; for open plans, the text of the editor."""

    def __init__(
        self,
        texts: Mapping[str, str],
        folders: Sequence[str] = (),
        kept: dict[str, LiveText] | None = None,
    ) -> None:
        """``texts`` are the open texts by full path, ``folders`` the workspace folders."""
        self._texts = texts
        self._folders = folders
        self._kept = {} if kept is None else kept

    def sketch(self, path: str) -> LiveText | None:
        """Return a parsed plan; None if it is missing, too large or not UTF-8."""
        content = self._content(path)
        try:
            found = (content or b"").decode("utf-8", "surrogatepass")
        except UnicodeDecodeError:
            return None
        if content is None or len(content) > LIMIT_BYTES:
            return None
        full = full_path(path)
        kept = self._kept.get(full)
        if kept is None or kept.text != found:
            if len(self._kept) >= MAX_KEPT:
                self._kept.clear()
            kept = self._kept[full] = LiveText(found)
        return kept

    def board(self, path: str, boards: Sequence[str]) -> str | None:
        """Return the file of a board of a plan, or of a board's; None if there is no such file."""
        for board in boards:
            sketch = self.sketch(path)
            entry = things(sketch.data, "boards").get(board) if sketch else None
            file = self.plan_of(path, entry) if entry else None
            if file is None:
                return None
            path = file
        return path

    def plan_of(self, path: str, entry: Data) -> str | None:
        """Return the file of a board by its entry in a plan; None if there is no such file."""
        folder, plan = os.path.dirname(path), text(entry, "plan")  # noqa: PTH120
        try:
            self._around(folder).read(plan)
        except (OSError, ValueError):
            return None
        return os.path.normpath(os.path.join(folder, *plan.split("/")))  # noqa: PTH118

    def plans(self, path: str) -> list[PlanSource]:
        """Return the plans of the same repository or workspace folder.

        Without either, the plans in the same folder. Open plans are always included.
        """
        folder = os.path.dirname(path)  # noqa: PTH120
        root = repository_of(folder) or self._folder_with(folder)
        names = [source.name for source in gather([root])[0]] if root else _beside(folder)
        known = {full_path(name): name for name in names}
        for full in self._texts:
            known.setdefault(full, full)
        top = root or folder
        return [PlanSource(name, self._open(full), top) for full, name in known.items()]

    def wholes(self, path: str) -> Wholes:
        """Return the plans that are put together from one."""
        if not os.path.isabs(path):  # noqa: PTH117 - it was never saved
            return Wholes(())
        plans = self.plans(path)
        if len(plans) > MAX_PLANS:
            return Wholes((), f"There are more than {MAX_PLANS} plans around this one.")
        full = full_path(path)
        found = tuple(each.name for each in wholes_of({full}, plans, self._around))
        names = {os.path.basename(each).encode() for each in (full, *found)}  # noqa: PTH119
        for source in plans:
            if source.name not in found and full_path(source.name) != full:
                unsure = _may_have(source, names)
                if unsure:
                    return Wholes(found, unsure)
        return Wholes(found)

    def not_read(self, path: str) -> str:
        """Return why a plan is unreadable; empty if it is readable."""
        content = self._content(path)
        return f"The file {path} does not exist." if content is None else _not_read(content, path)

    def _around(self, folder: str) -> OpenFiles:
        return OpenFiles(folder, self._texts)

    def _open(self, full: str) -> bytes | None:
        found = self._texts.get(full)
        return None if found is None else found.encode("utf-8", "surrogatepass")

    def _content(self, path: str) -> bytes | None:
        try:
            return PlanSource(path, self._open(full_path(path))).read()
        except UnusableFile:
            return None

    def _folder_with(self, folder: str) -> str:
        """Return the workspace folder that contains a folder; empty if none does."""
        inner = full_path(folder)
        for outer in map(full_path, self._folders):
            if os.path.commonpath((inner, outer)) == outer:
                return outer
        return ""


def _beside(folder: str) -> Iterator[str]:
    try:
        names = sorted(os.listdir(folder))  # noqa: PTH208
    except OSError:
        return iter(())
    return (os.path.join(folder, name) for name in names if is_plan(name))  # noqa: PTH118


def _may_have(source: PlanSource, names: set[bytes]) -> str:
    """Return why a plan may or may not have boards with these file names.

    Empty if this is certain: the plan is readable, or does not contain the names.
    """
    try:
        content = source.read()
    except UnusableFile as error:
        return str(error)
    # With escapes, the name of a file can be written in many ways.
    named = b"\\" in content or any(name in content for name in names)
    return _not_read(content, source.name) if named and may_have_boards(content) else ""


def _not_read(content: bytes, name: str) -> str:
    from trappoint.schema.validation import schema_findings
    from trappoint.source.positions import place_findings

    document = read_document(content, name)
    if isinstance(document, Unreadable):
        findings = document.findings
    else:
        findings = place_findings(document.text, schema_findings(document.data))
    if not findings:
        return ""
    first = findings[0]
    return f"{name} cannot be read: line {first.line}, column {first.column}: {first.message}"
