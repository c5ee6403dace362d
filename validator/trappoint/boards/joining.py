"""Joins edges of boards, and finds the errors in joins."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.boards.collecting import AssemblyError
from trappoint.core.findings import pointer_to

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from trappoint.boards.collecting import BoardPart

Joined = dict[tuple[str, str], str]
"""For each board's name in the whole and edge of its own plan: the joint that it becomes."""


class BoardEdge(NamedTuple):
    """An edge of one board."""

    board: str
    edge: str

    def __str__(self) -> str:
        """Return ``BOARD:EDGE``, as in the joins of the whole."""
        return f"{self.board}:{self.edge}"


def edge_of(plan: str, text: str) -> BoardEdge:
    """Return the edge that one side of a join names: ``BOARD:EDGE``, ``BOARD:INNER/EDGE``.

    ``plan`` is the board whose plan contains the join; empty for the plan itself.
    """
    board, _, name = text.partition(":")
    inner, _, edge = name.rpartition("/")
    return BoardEdge("/".join(filter(None, (plan, board, inner))), edge)


def join_edges(
    parts: list[BoardPart], *, unknown_boards: Collection[str]
) -> tuple[Joined, list[AssemblyError]]:
    """Return the joint that each joined edge becomes, and the errors in joins.

    ``unknown_boards`` could not be read; joins to their edges are not checked.
    """
    edges = {part.name: _edges_in(part) for part in parts}
    joined: Joined = {}
    troubles: list[AssemblyError] = []
    for number, (part, join) in enumerate(joins_of(parts)):
        sides = [(side, edge_of(part.name, join[side])) for side in ("a", "b")]
        if sides[0][1] == sides[1][1]:
            pointer = pointer_to("joins", number, "b")
            troubles.append(AssemblyError("joined-to-itself", pointer, (join["a"],)))
            continue
        name = "+".join(str(edge) for _, edge in sides)
        for side, edge in sides:
            pointer = pointer_to("joins", number, side)
            if any(
                edge.board == each or edge.board.startswith(f"{each}/") for each in unknown_boards
            ):
                continue
            trouble = _trouble(edge, join[side], edges, joined)
            if trouble is None:
                joined[edge] = name
            else:
                troubles.append(trouble._replace(pointer=pointer))
    return joined, troubles


def joins_of(parts: list[BoardPart]) -> Iterator[tuple[BoardPart, dict[str, str]]]:
    """Yield each join with its plan, in the order of the joins of the whole."""
    return ((part, join) for part in parts for join in part.data.get("joins", ()))


def _edges_in(part: BoardPart) -> dict[str, int]:
    """Return the number of track ends at each edge of a plan."""
    found: dict[str, int] = {}
    for track in part.data["tracks"].values():
        for end in (track["up"], track["down"]):
            if end.startswith("edge:"):
                found[end[5:]] = found.get(end[5:], 0) + 1
    return found


def _trouble(
    edge: BoardEdge, text: str, edges: dict[str, dict[str, int]], joined: Joined
) -> AssemblyError | None:
    if edge.board not in edges:
        return AssemblyError("no-such-board", "", (text, edge.board), _listed(filter(None, edges)))
    count = edges[edge.board].get(edge.edge, 0)
    if not count:
        free = (name for name in edges[edge.board] if (edge.board, name) not in joined)
        return AssemblyError("no-such-edge", "", (text, edge.board, edge.edge), _listed(free))
    if count > 1:
        return AssemblyError("edge-of-several", "", (text, edge.board, edge.edge))
    if edge in joined:
        return AssemblyError("joined-twice", "", (text, joined[edge]))
    return None


def _listed(names: Iterator[str]) -> str:
    from trappoint.core.quoting import listed

    return listed(list(names), "and")
