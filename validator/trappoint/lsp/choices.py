"""The values that may be typed at a place of a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.core.kinds import ONE_OF
from trappoint.lsp.lenient_access import Data, arms, legs, lies, meets, switches, text, things
from trappoint.lsp.schema_lookup import description_of, form_at, types_of, words_of
from trappoint.model.references import ARMS, ROADS, Kinds, kinds_at

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.lsp.document_state import CheckedText
    from trappoint.lsp.names import Key, LiveText
    from trappoint.lsp.reachable_names import Around
    from trappoint.model.references import Path
    from trappoint.source.tolerant_json import SyntaxSpot


PLACES: Kinds = ("tracks", "points", "signals", "platforms", "yards")
"""The kinds of things that accepted findings are usually about."""


class Suggestion(NamedTuple):
    """A value or key to type."""

    text: str
    kind: Literal["key", "word", "id", "end", "rule", "file"]
    detail: str = ""
    """A short description."""
    thing: Key | None = None
    """The thing that it names; its hover text becomes the documentation."""


def choices_at(
    known: list[LiveText], spot: SyntaxSpot, checked: CheckedText, around: Around | None = None
) -> list[Suggestion]:
    """Return the values for a place, the likeliest first, without repeats.

    ``known`` are the texts that provide ids: the present one, then an older one.
    """
    here = list(_choices(known, spot, checked))
    beyond = list(_beyond(spot.path, around)) if around is not None else []
    found = dict.fromkeys(beyond + here if spot.path[:1] == ("joins",) else here + beyond)
    unique = {choice.text: choice for choice in reversed(found)}
    there = _listed_already(spot)
    return [c for c in found if unique[c.text] is c and c.text not in there]


def _listed_already(spot: SyntaxSpot) -> set[str]:
    if spot.box.kind != "list":
        return set()
    return {item.text for item in spot.box.items if item is not spot.node and item.kind == "text"}


def _choices(known: list[LiveText], spot: SyntaxSpot, checked: CheckedText) -> Iterator[Suggestion]:
    path = spot.path
    where = _where(path)
    kinds = kinds_at(path)
    if where in ("tracks/up", "tracks/down"):
        yield from _ends(known, path)
    elif where in ("signals/arms/expects", "scenes/points") and path[-1] != where.split("/")[-1]:
        words = lies(known[0].data, str(path[-1]))
        yield from (Suggestion(word, "word") for word in words or words_of(form_at(path)))
        return
    elif where.startswith("accept/"):
        yield from _accepted(known, spot, where.partition("/")[2], checked)
    elif where == "signals/duties":
        yield from (
            Suggestion(d, "word", "follows from the track") for d in checked.duties(str(path[1]))
        )
    elif where in ("sessions/moves/from", "sessions/moves/to"):
        yield from ids_of(known, ROADS)
        yield from (
            Suggestion(end, "end", "edge") for end in meets(known[0].data) if end[:5] == "edge:"
        )
    elif where in ("joins/a", "joins/b"):
        yield from (Suggestion(f"{name}:", "end", "board") for name in known[0].ids("boards"))
    elif kinds == ARMS:
        yield from _arms(known, path)
    elif where == "signals/arms/to":
        yield from _roads(known, path, checked, kinds)
    elif kinds:
        yield from ids_of(known, kinds)
    yield from _words(path)


def _beyond(path: Path, around: Around) -> Iterator[Suggestion]:
    """Yield the ids on boards, and the plan files for boards."""
    where = _where(path)
    if where == "boards/plan":
        yield from (Suggestion(plan, "file") for plan in around.plans())
    elif where in ("joins/a", "joins/b"):
        for edge in around.free_edges(path):
            board, _, inner = edge.board.partition("/")
            name = f"{board}:{inner}/{edge.edge}" if inner else str(edge)
            yield Suggestion(name, "end", f"edge of board {edge.board}" if board else "edge")
    elif where in ("sessions/moves/from", "sessions/moves/to"):
        yield from ids_on_boards(around, ROADS)
        for edge in around.free_edges():
            if edge.board:
                yield Suggestion(f"edge:{edge.board}/{edge.edge}", "end", f"edge of {edge.board}")
    elif where == "accept/at":
        yield from ids_on_boards(around, PLACES)
    elif kinds_at(path) == ARMS:
        for name, sketch in around.boards.items():
            for arm in _arms([sketch], path, board=name):
                yield _on_board(arm, name)
    else:
        yield from ids_on_boards(around, kinds_at(path))


def ids_on_boards(around: Around, kinds: Kinds) -> Iterator[Suggestion]:
    """Yield the ids of things of these kinds on boards, as the plan names them."""
    if kinds == ("edges",):
        for edge in around.free_edges():
            if edge.board:
                yield Suggestion(f"{edge.board}/{edge.edge}", "id", f"edge on {edge.board}")
        return
    for name, sketch in around.boards.items() if kinds and kinds != ("rules",) else ():
        for choice in ids_of([sketch], kinds):
            yield _on_board(choice, name)


def _on_board(choice: Suggestion, board: str) -> Suggestion:
    detail = f"{choice.detail} on {board}"
    return choice._replace(text=f"{board}/{choice.text}", detail=detail, thing=None)


def _where(path: Path) -> str:
    """Return the keys of the format that lead to a place, without ids and indexes."""
    parts = [part for part in path if isinstance(part, str)]
    if len(parts) > 1 and path[0] not in ("accept", "joins", "worked_together"):
        del parts[1]
    if parts[:2] in (["scenes", "points"], ["scenes", "trains"]):
        del parts[2:]
    if parts[:3] == ["signals", "arms", "expects"]:
        del parts[3:]
    return "/".join(parts)


def ids_of(known: list[LiveText], kinds: Kinds) -> Iterator[Suggestion]:
    """Yield the ids of these kinds. With points and crossings, only crossings that are slips."""
    for sketch in known:
        slips = set(switches(sketch.data)) if kinds == ("points", "crossings") else None
        for kind in kinds:
            for name in _edges(sketch) if kind == "edges" else sketch.ids(kind):
                if slips is None or name in slips:
                    yield Suggestion(name, "id", _described(sketch.data, kind, name), (kind, name))


def _described(data: Data, kind: str, key: str) -> str:
    """Return the kind of a thing, after its name if it has one: ``Goods loop, track``."""
    name = text(things(data, kind).get(key, {}), "name")
    word = ONE_OF.get(kind, "")
    return f"{name}, {word}" if name else word


def _edges(sketch: LiveText) -> Iterator[str]:
    """Yield the names of edges, from the track ends: nothing else defines them."""
    return (end.removeprefix("edge:") for end in meets(sketch.data) if end.startswith("edge:"))


def _words(path: Path) -> Iterator[Suggestion]:
    form = form_at(path)
    yield from (Suggestion(word, "word", description_of(form)) for word in words_of(form))
    if "boolean" in types_of(form):
        yield Suggestion("true", "word")
        if form.get("not") != {"const": False}:
            yield Suggestion("false", "word")


def _ends(known: list[LiveText], path: Path) -> Iterator[Suggestion]:
    """Yield the free legs, the joints with one track end, and the starts of other ends."""
    own = (str(path[1]), str(path[-1]))
    joints: list[str] = []
    for sketch in known[:1]:
        met = {
            end: others
            for end, tracks in meets(sketch.data).items()
            if (others := [track for track in tracks if track != own])
        }
        for leg, (kind, name) in legs(sketch.data).items():
            if leg not in met:
                yield Suggestion(leg, "end", f"free leg of {ONE_OF[kind]} {name}", (kind, name))
        joints = [
            end for end, tracks in met.items() if end.startswith("joint:") and len(tracks) == 1
        ]
        yield from (Suggestion(end, "end", f"joint with {met[end][0][0]}") for end in joints)
    yield Suggestion("buffer", "end", "the track ends")
    yield Suggestion("joint:", "end", "joint: exactly two track ends name it")
    yield Suggestion("edge:", "end", "the track leaves the plan")


def _arms(known: list[LiveText], path: Path, board: str = "") -> Iterator[Suggestion]:
    """Yield the arms of this plan, or of a board's plan, that may be named at a place."""
    key = next((part for part in reversed(path) if isinstance(part, str)), "")
    signal = str(path[1]) if path[0] == "signals" and not board else ""
    for sketch in known:
        own = _own_id(sketch, path)
        for owner, arm in arms(sketch.data):
            name, kind = text(arm, "id"), text(arm, "kind", "stop")
            if not name or (name == own and signal):
                continue
            if (key == "under" and owner != signal) or (key == "repeats" and kind != "stop"):
                continue
            yield Suggestion(name, "id", f"{kind} arm of signal {owner}", ("arms", name))


def _own_id(sketch: LiveText, path: Path) -> str:
    """Return the id of the arm at a place; empty if it has none."""
    signal = things(sketch.data, "signals").get(str(path[1]), {}) if len(path) > 3 else {}
    listed = signal.get("arms")
    index = path[3] if len(path) > 3 else None
    if not isinstance(listed, list) or not isinstance(index, int) or index >= len(listed):
        return ""
    return text(listed[index], "id") if isinstance(listed[index], dict) else ""


def _roads(
    known: list[LiveText], path: Path, checked: CheckedText, kinds: Kinds
) -> Iterator[Suggestion]:
    """Yield the tracks on routes of the signal, then all others."""
    over: dict[str, None] = {}
    for entry in checked.arms:
        if entry.signal == path[1]:
            over.update(dict.fromkeys(track for route in entry.routes for track in route.over))
    yield from (
        Suggestion(t, "id", "track, on a route of this signal", ("tracks", t)) for t in over
    )
    yield from ids_of(known, kinds)


def _accepted(
    known: list[LiveText], spot: SyntaxSpot, key: str, checked: CheckedText
) -> Iterator[Suggestion]:
    findings = checked.report.findings if checked.report else ()
    if key == "rule":
        from trappoint.rules.catalogue import all_rules

        found = {finding.rule for finding in findings}
        of_plans = (rule for rule in all_rules() if rule.stage != "store")
        for rule in sorted(of_plans, key=lambda rule: rule.id not in found):
            detail = f"{'found here: ' if rule.id in found else ''}{rule.summary}"
            yield Suggestion(rule.id, "rule", detail, ("rules", rule.id))
    elif key == "at":
        node = spot.box.get("rule")
        meant = node.text if node is not None else ""
        for finding in findings:
            if meant in ("", finding.rule):
                yield Suggestion(finding.pointer, "word", finding.message)
        yield from ids_of(known, PLACES)
