"""Verbs for boards, their joins, and the edges of a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.laying.describing import Described, as_keys, entries, put_into
from trappoint.laying.measures import ID, YES, Thing
from trappoint.laying.naming import fresh, taken
from trappoint.laying.reference_measures import (
    LONG_NAME,
    NOTE,
    Form,
    OrNone,
)
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb, verb

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft


def _describe_edge(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key = given.pop("edge")
    edge = draft.things("edges").get(key, {})
    before = dict(edge)
    put_into(edge, given)
    if edge and not before:
        edges = draft.tree.setdefault("edges", {})
        assert isinstance(edges, dict)  # noqa: S101 - the schema accepts the tree
        edges[key] = edge
    elif before and not edge:
        draft.remove("edges", key)
    for track, each in draft.things("tracks").items():
        if f"edge:{key}" in (each["up"], each["down"]):
            draft.touch("tracks", track)
    held = edge.get("held")
    return f"Edge {key}: {'the neighbour holds' if held else 'nothing holds'} trains there."


_BOARD = Described(
    "boards",
    {
        "plan": Form(
            r"[^/\\:]+(/[^/\\:]+)*",
            "the path of a plan from the folder of this one, such as west.layout.json",
        ),
        "reversed": YES,
    },
    ("plan",),
    lambda draft, given: fresh(
        draft, "boards", "board", given["plan"].split("/")[-1].split(".")[0]
    ),
)


def _turn_board(draft: Draft, *, board: str) -> str:
    thing = draft.thing("boards", board)
    turned = not thing.pop("reversed", False)
    if turned:
        thing["reversed"] = True
    draft.touch("boards", board)
    return f"Board {board} stands {'the other way' if turned else 'as in its own plan'}."


_BOARD_EDGE = Form(
    rf"({ID.pattern})?:{ID.pattern}(/{ID.pattern}){{0,7}}",
    "BOARD:EDGE for an edge of a board, or :EDGE for an edge of this plan",
)


def _join_boards(draft: Draft, *, a: str, b: str, note: str | None = None) -> str:
    for text in (a, b):
        board, _, edge = text.partition(":")
        if board and board not in draft.things("boards"):
            raise Refused(f"The plan has no board {board}.", "Add the board first.")
        if not board and edge not in taken(draft, "edges"):
            raise Refused(f"No track ends at an edge {edge}.", "Give an edge of this plan.")
        if any(text in (join["a"], join["b"]) for join in entries(draft, "joins")):
            raise Refused(f"{text} is joined already.", "Part it first.")
    if a == b:
        raise Refused(f"{a} cannot be joined to itself.", "Give two edges.")
    draft.list_of("joins").append({"a": a, "b": b, **({"note": note} if note else {})})
    return f"{a} and {b} are joined."


def _part_boards(draft: Draft, *, edge: str) -> str:
    joins = draft.list_of("joins")
    kept = [join for join in joins if edge not in (join["a"], join["b"])]
    if len(kept) == len(joins):
        draft.drop_empty("joins")
        raise Refused(f"Nothing is joined at {edge}.", "Give one of the two edges of a join.")
    joins[:] = kept
    draft.drop_empty("joins")
    return f"The join at {edge} is taken out."


VERBS = (
    Verb(
        "describe-edge",
        "Says what an edge is called, and whether the neighbour holds trains there.",
        {
            "edge": Thing(("edges",)),
            "held": OrNone(YES),
            "name": OrNone(LONG_NAME),
            "note": OrNone(NOTE),
        },
        ("edge",),
        _describe_edge,
    ),
    _BOARD.add("add-board", "Makes another plan a board of this one."),
    _BOARD.change("change-board", "Changes the plan of a board, or turns the board round."),
    Verb(
        "turn-board", "Turns a board round.", {"board": Thing(("boards",))}, ("board",), _turn_board
    ),
    _BOARD.gone("take-out-board", "Takes out a board, with its joins and all that names it."),
    verb(
        "join-boards",
        "Joins two edges, of boards or of this plan.",
        a=_BOARD_EDGE,
        b=_BOARD_EDGE,
        note=NOTE,
    )(_join_boards),
    verb("part-boards", "Parts the two boards that are joined at an edge.", edge=_BOARD_EDGE)(
        _part_boards
    ),
)
