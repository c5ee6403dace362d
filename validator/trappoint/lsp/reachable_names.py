"""Names beyond a plan's own file: ids and edges on its boards, and the plans around it."""

from __future__ import annotations

import os
from functools import cached_property
from typing import TYPE_CHECKING

from trappoint.boards.joining import BoardEdge, edge_of
from trappoint.lsp.document_state import full_path
from trappoint.lsp.lenient_access import meets, text, things
from trappoint.source.opening import repository_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.lsp.names import LiveText
    from trappoint.lsp.workspace import Shelf

MAX_BOARDS = 100
"""Most boards whose ids are offered."""


class Around:
    """The boards and plans around one plan, read on first use."""

    def __init__(self, shelf: Shelf, path: str, known: list[LiveText]) -> None:
        """``known`` are texts of the plan: the present one, then the last readable one."""
        self._shelf = shelf
        self._path = path
        self._known = known

    @cached_property
    def boards(self) -> dict[str, LiveText]:
        """The plans of the boards, those of boards included: ``west``, ``west/yard``."""
        found: dict[str, LiveText] = {}
        own = frozenset([full_path(self._path)])
        todo = [(self._path, "", sketch, own) for sketch in self._known]
        for path, above, sketch, chain in todo:
            for board, entry in things(sketch.data, "boards").items():
                name = f"{above}{board}"
                file = self._shelf.plan_of(path, entry)
                there = self._shelf.sketch(file) if file else None
                if file is None or there is None or full_path(file) in chain or name in found:
                    continue
                if len(found) >= MAX_BOARDS:
                    return found
                found[name] = there
                todo.append((file, f"{name}/", there, chain | {full_path(file)}))
        return found

    def free_edges(self, besides: tuple[object, ...] = ()) -> list[BoardEdge]:
        """Return the free edges of this plan and its boards, without repeats.

        ``besides`` is the way to a side of a join that counts for nothing.
        """
        joined = set(self._joined(besides))
        plans = {"": self._known[0], **self.boards}
        edges = (
            BoardEdge(name, end[5:])
            for name, sketch in plans.items()
            for end, tracks in meets(sketch.data).items()
            if end.startswith("edge:") and len(tracks) == 1
        )
        return [edge for edge in edges if edge not in joined]

    def _joined(self, besides: tuple[object, ...]) -> Iterator[BoardEdge]:
        for name, sketch in {"": self._known[0], **self.boards}.items():
            joins = sketch.data.get("joins")
            for number, join in enumerate(joins if isinstance(joins, list) else ()):
                for side in ("a", "b"):
                    if isinstance(join, dict) and (name or ("joins", number, side) != besides):
                        yield edge_of(name, text(join, side))

    def plans(self) -> list[str]:
        """Return the plans that may be boards, as paths relative to this one, the nearest first."""
        folder = os.path.dirname(full_path(self._path))  # noqa: PTH120
        top = full_path(repository_of(folder) or folder)
        found = []
        for source in self._shelf.plans(self._path):
            full = full_path(source.name)
            if full == full_path(self._path) or os.path.commonpath((top, full)) != top:
                continue
            path = os.path.relpath(full, folder).replace(os.sep, "/")
            if not set(path) & set("\\:"):
                found.append(path)
        return sorted(found, key=lambda path: (path.count("../"), path.count("/"), path))
