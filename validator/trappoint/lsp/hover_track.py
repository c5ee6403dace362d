"""What there is to say of tracks and what they meet, of levers, trains and scenes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.lsp.hover_phrases import as_of, lines, millimetres, named, noted
from trappoint.lsp.lenient_access import Data, legs, meets, text, texts, things

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from trappoint.lsp.document_state import CheckedText

    Teller = Callable[[Data, str, CheckedText], str]


def _track(data: Data, name: str, checked: CheckedText) -> str:
    track = things(data, "tracks").get(name)
    if track is None:
        return ""
    length = millimetres(track, "length_mm")
    head = f"**track {name}**{named(track)}{': ' + length if length else ''}"
    told = [f"{end} end meets {text(track, end, '?')}" for end in ("up", "down")]
    running = text(track, "running", "both")
    told.append("" if running == "both" else f"trains run {running} only")
    layout = checked.layout
    if layout is not None and name in layout.tracks:
        stands = layout.tracks[name].stand
        told.append("a train may stand here and set off again" if stands else "no stand")
    told += _serving(data, "platforms", "platform", name)
    told += _serving(data, "yards", "yard", name)
    signals = [
        f"{signal} ({text(thing, 'for', '?')})"
        for signal, thing in things(data, "signals").items()
        if thing.get("track") == name
    ]
    told.append(f"signals: {', '.join(signals)}" if signals else "")
    over = [e.arm for e in checked.arms if any(name in route.over for route in e.routes)]
    told.append(f"on the road of: {', '.join(over)}" if over else "")
    return lines(head, *told, noted(track), as_of(checked))


def _serving(data: Data, kind: str, word: str, track: str) -> Iterator[str]:
    for name, thing in things(data, kind).items():
        if track in texts(thing.get("tracks")):
            yield f"{word} {name}{named(thing)}"


def _element(kind: str, word: str) -> Teller:
    def tell(data: Data, name: str, checked: CheckedText) -> str:
        thing = things(data, kind).get(name)
        if thing is None:
            return ""
        default = {"points": "turnout", "crossings": "diamond"}.get(kind, "turntable")
        head = f"**{word} {name}**{named(thing)}: {text(thing, 'kind', default)}"
        if kind == "points":
            head += f", normally {text(thing, 'normal', '?')}"
        told = [*_legs(data, kind, name)]
        if kind != "turntables":
            told += [*_needed(name, text(thing, "normal", "straight"), checked)]
            told += [*_worked(data, name)]
        told += [
            f"yard {yard}"
            for yard, members in things(data, "yards").items()
            if name in texts(members.get(kind))
        ]
        return lines(head, *told, noted(thing), as_of(checked))

    return tell


def _legs(data: Data, kind: str, name: str) -> Iterator[str]:
    met = meets(data)
    for leg, owner in legs(data).items():
        if owner == (kind, name):
            tracks = [f"the {end} end of {track}" for track, end in met.get(leg, ())]
            yield f"{leg}: {' and '.join(tracks) or 'met by nothing yet'}"


def _needed(name: str, normal: str, checked: CheckedText) -> Iterator[str]:
    """Say which arms need points or a slip, and how they must lie for them."""
    needs: dict[str, dict[str, None]] = {}
    for entry in checked.arms:
        for route in entry.routes:
            if name in route.points:
                needs.setdefault(route.points[name], {})[entry.arm] = None
    for lie in sorted(needs, key=lambda lie: lie != normal):
        which = f"{lie} (normal)" if lie == normal else lie
        yield f"needed {which} by {', '.join(needs[lie])}"


def _worked(data: Data, name: str) -> Iterator[str]:
    together = data.get("worked_together")
    for group in together if isinstance(together, list) else ():
        if name in texts(group):
            others = [other for other in texts(group) if other != name]
            yield f"worked together with {listed(others, 'and')}" if others else ""
    for lever, thing in things(data, "levers").items():
        if name in texts(thing.get("points")):
            yield f"lever {lever}"


def _leg(data: Data, name: str, checked: CheckedText) -> str:
    element = name.partition(".")[0]
    kind = legs(data).get(name, ("", ""))[0]
    kind = kind or next((k for k in ELEMENT_TELLERS if element in things(data, k)), "")
    return ELEMENT_TELLERS[kind](data, element, checked) if kind else ""


def _line(word: str) -> Teller:
    def tell(data: Data, name: str, _: CheckedText) -> str:
        tracks = meets(data).get(f"{word}:{name}", [])
        told = [f"the {end} end of {track}" for track, end in tracks]
        if word == "joint" and len(told) == 1:
            told.append("no second track end meets here yet")
        return lines(f"**{word} {name}**", *told)

    return tell


def _members(kind: str, word: str, keys: tuple[str, ...]) -> Teller:
    """Return the teller of what is a thing by its members: a platform, a yard, a lever."""

    def tell(data: Data, name: str, checked: CheckedText) -> str:
        thing = things(data, kind).get(name, {})
        length = millimetres(thing, "length_mm")
        told = [f"{key}: {', '.join(texts(thing.get(key)))}" for key in keys if key in thing]
        if kind == "platforms":
            told += [*_platform_signals(name, checked)]
        if kind == "levers" and not told:
            told.append("works nothing: spare")
        head = f"**{word} {name}**{named(thing)}{': ' + length if length else ''}"
        return lines(head, *told, noted(thing))

    return tell


def _platform_signals(name: str, checked: CheckedText) -> Iterator[str]:
    for duty in ("home", "starter"):
        own = [s.signal for s in checked.signals if f"{duty} platform {name}" in s.duties]
        if own:
            yield f"{duty}: signal {', '.join(own)}"


def _train(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "trains").get(name, {})
    length = millimetres(thing, "length_mm")
    where = [
        f"stands on {track} in scene {scene}"
        for scene, moment in things(data, "scenes").items()
        for track, train in _members_of(moment, "trains")
        if train == name
    ]
    return lines(f"**train {name}**{named(thing)}{': ' + length if length else ''}", *where)


def _members_of(thing: Data, key: str) -> Iterator[tuple[str, object]]:
    value = thing.get(key)
    if isinstance(value, dict):
        yield from value.items()


def _scene(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "scenes").get(name, {})
    off, trains = texts(thing.get("off")), [track for track, _ in _members_of(thing, "trains")]
    told = [
        ", ".join(f"{points} {lie}" for points, lie in _members_of(thing, "points")),
        f"off: {', '.join(off)}" if off else "",
        f"trains on {', '.join(trains)}" if trains else "",
    ]
    return lines(f"**scene {name}**{named(thing)}", *told, noted(thing))


def _session(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "sessions").get(name, {})
    moves = thing.get("moves")
    told = [
        f"{text(move, 'train', '?')} to {text(move, 'to', '?')}"
        for move in (moves if isinstance(moves, list) else ())
        if isinstance(move, dict)
    ]
    return lines(f"**session {name}**{named(thing)}", *told, noted(thing))


def _board(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "boards").get(name, {})
    return lines(f"**board {name}**{named(thing)}", f"plan: {text(thing, 'plan', '?')}")


ELEMENT_TELLERS: Mapping[str, Teller] = {
    "points": _element("points", "points"),
    "crossings": _element("crossings", "crossing"),
    "turntables": _element("turntables", "turntable"),
}

TELL_TRACK: Mapping[str, Teller] = {
    "tracks": _track,
    **ELEMENT_TELLERS,
    "legs": _leg,
    "joints": _line("joint"),
    "edges": _line("edge"),
    "platforms": _members("platforms", "platform", ("tracks",)),
    "yards": _members("yards", "yard", ("tracks", "points", "crossings", "turntables")),
    "levers": _members("levers", "lever", ("points", "arms")),
    "trains": _train,
    "scenes": _scene,
    "sessions": _session,
    "boards": _board,
}
"""From each kind of thing, but arms and signals, to what tells of it."""
