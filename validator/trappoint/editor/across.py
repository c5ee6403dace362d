"""From a plan that is put together to what stands in the plans of its boards."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from lsprotocol import types as lsp
from pygls.uris import to_fs_path

from trappoint.editor import wire
from trappoint.editor.desk import OpenFiles, full_path
from trappoint.editor.looking import text, things
from trappoint.editor.names import Sketch
from trappoint.editor.places import Places

if TYPE_CHECKING:
    from trappoint.editor.companion import Companion
    from trappoint.editor.desk import Page
    from trappoint.editor.names import Name

MOST_STEPS = 8
"""Boards may stand inside one another so deep."""


class OnBoard(NamedTuple):
    """Something on a board: ``west/p1``, or the edge ``west:main``."""

    kinds: tuple[str, ...]
    boards: tuple[str, ...]
    """From the outermost board to the one that has it."""
    name: str


def board_of(sketch: Sketch, name: Name) -> OnBoard | None:
    """Return what a name leads to on a board; None where it names something of this plan."""
    if name.kinds != ("boards",) or name.defines:
        return None
    said = sketch.text[name.start : name.whole[1] - 1]
    if name.path[:1] == ("joins",):
        board, _, rest = said.partition(":")
        *inner, edge = rest.split("/")
        return OnBoard(("edges",), (board, *inner), edge)
    from trappoint.naming import kinds_at

    *boards, last = said.split("/")
    kinds = kinds_at(name.path) or kinds_at(name.path, at_key=True)
    return OnBoard(kinds, tuple(boards), last) if kinds else None


def definition_in_board(companion: Companion, page: Page, wanted: OnBoard) -> list[lsp.Location]:
    """Return where something on a board gets its name, in the board's own file."""
    sketch, path = page.sketch, page.name
    for board in wanted.boards[:MOST_STEPS]:
        entry = things(sketch.data, "boards").get(board)
        if entry is None or to_fs_path(page.uri) is None:
            return []
        folder = os.path.dirname(path)  # noqa: PTH120
        plan = text(entry, "plan")
        path = os.path.normpath(os.path.join(folder, plan))  # noqa: PTH118
        try:
            content = OpenFiles(folder, companion.open_texts()).read(plan)
            sketch = Sketch(content.decode("utf-8"))
        except (OSError, ValueError):
            return []
    places = Places(sketch.text, companion.encoding)
    uri = companion.uri_of(full_path(path))
    for kind in wanted.kinds:
        found = sketch.defined.get((kind, wanted.name))
        if kind == "edges":
            found = sketch.used.get((kind, wanted.name))
        if found:
            return [lsp.Location(uri, wire.span(places, each.start, each.end)) for each in found]
    return []
