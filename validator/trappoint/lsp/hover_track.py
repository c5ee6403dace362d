"""Hover texts for everything in a plan except signals and arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.lsp.hover_phrases import as_of, called, heading, lines, millimetres, noted
from trappoint.lsp.lenient_access import Data, legs, meets, text, texts, things

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from trappoint.lsp.document_state import CheckedText

    HoverFor = Callable[[Data, str, CheckedText], str]


def _track(data: Data, name: str, checked: CheckedText) -> str:
    track = things(data, "tracks").get(name)
    if track is None:
        return ""
    length = millimetres(track, "length_mm")
    head = f"{heading('track', name, track)}{': ' + length if length else ''}"
    items = [f"{end} end meets {text(track, end, '?')}" for end in ("up", "down")]
    running = text(track, "running", "both")
    items.append("" if running == "both" else f"trains run {running} only")
    layout = checked.layout
    if layout is not None and name in layout.tracks:
        stands = layout.tracks[name].stand
        items.append("a train may stand here" if stands else "trains may not stand here")
    items += _serving(data, "platforms", "platform", name)
    items += _serving(data, "yards", "yard", name)
    signals = [
        f"{called(data, 'signals', signal)}, for {text(thing, 'for', '?')} trains"
        for signal, thing in things(data, "signals").items()
        if thing.get("track") == name
    ]
    items.append(f"signals: {'; '.join(signals)}" if signals else "")
    over = [e.arm for e in checked.arms if any(name in route.over for route in e.routes)]
    items.append(f"on routes of arms {', '.join(over)}" if over else "")
    return lines(head, *items, noted(track), as_of(checked))


def _serving(data: Data, kind: str, word: str, track: str) -> Iterator[str]:
    for name, thing in things(data, kind).items():
        if track in texts(thing.get("tracks")):
            yield f"{word} {called(data, kind, name)}"


def _element(kind: str, word: str) -> HoverFor:
    def text_for(data: Data, name: str, checked: CheckedText) -> str:
        thing = things(data, kind).get(name)
        if thing is None:
            return ""
        default = {"points": "turnout", "crossings": "diamond"}.get(kind, "turntable")
        head = f"{heading(word, name, thing)}: {text(thing, 'kind', default)}"
        if kind == "points":
            head += f", normal lie {text(thing, 'normal', '?')}"
        items = [*_legs(data, kind, name)]
        if kind != "turntables":
            items += [*_needed(name, text(thing, "normal", "straight"), checked)]
            items += [*_worked(data, name)]
        items += [
            f"in yard {called(data, 'yards', yard)}"
            for yard, members in things(data, "yards").items()
            if name in texts(members.get(kind))
        ]
        return lines(head, *items, noted(thing), as_of(checked))

    return text_for


def _legs(data: Data, kind: str, name: str) -> Iterator[str]:
    met = meets(data)
    for leg, owner in legs(data).items():
        if owner == (kind, name):
            tracks = [
                f"the {end} end of {called(data, 'tracks', track)}"
                for track, end in met.get(leg, ())
            ]
            yield f"{leg}: {' and '.join(tracks) or 'no track yet'}"


def _needed(name: str, normal: str, checked: CheckedText) -> Iterator[str]:
    """Yield each lie of points or a slip with the arms that need it."""
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
    kind = kind or next((k for k in OF_ELEMENT if element in things(data, k)), "")
    return OF_ELEMENT[kind](data, element, checked) if kind else ""


def _line(word: str) -> HoverFor:
    def text_for(data: Data, name: str, _: CheckedText) -> str:
        tracks = meets(data).get(f"{word}:{name}", [])
        items = [f"the {end} end of {called(data, 'tracks', track)}" for track, end in tracks]
        if word == "joint" and len(items) == 1:
            items.append("no second track end yet")
        return lines(f"**{word} {name}**", *items)

    return text_for


def _members(kind: str, word: str, keys: tuple[str, ...]) -> HoverFor:
    """Return the function for a thing that lists its members: a platform, a yard, a lever."""

    def text_for(data: Data, name: str, checked: CheckedText) -> str:
        thing = things(data, kind).get(name, {})
        length = millimetres(thing, "length_mm")
        items = [f"{key}: {', '.join(texts(thing.get(key)))}" for key in keys if key in thing]
        if kind == "platforms":
            items += [*_platform_signals(name, checked)]
        if kind == "levers" and not items:
            items.append("spare: it works nothing")
        head = f"{heading(word, name, thing)}{': ' + length if length else ''}"
        return lines(head, *items, noted(thing))

    return text_for


def _platform_signals(name: str, checked: CheckedText) -> Iterator[str]:
    for duty in ("home", "starter"):
        own = [s.signal for s in checked.signals if f"{duty} platform {name}" in s.duties]
        if own:
            yield f"{duty}: signal {', '.join(own)}"


def _train(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "trains").get(name, {})
    length = millimetres(thing, "length_mm")
    where = [
        f"stands in {called(data, 'tracks', track)} in scene {called(data, 'scenes', scene)}"
        for scene, moment in things(data, "scenes").items()
        for track, train in _members_of(moment, "trains")
        if train == name
    ]
    return lines(f"{heading('train', name, thing)}{': ' + length if length else ''}", *where)


def _members_of(thing: Data, key: str) -> Iterator[tuple[str, object]]:
    value = thing.get(key)
    if isinstance(value, dict):
        yield from value.items()


def _scene(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "scenes").get(name, {})
    off, trains = texts(thing.get("off")), [track for track, _ in _members_of(thing, "trains")]
    items = [
        ", ".join(f"{points} {lie}" for points, lie in _members_of(thing, "points")),
        f"off: {', '.join(off)}" if off else "",
        f"trains in {', '.join(trains)}" if trains else "",
    ]
    return lines(heading("scene", name, thing), *items, noted(thing))


def _session(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "sessions").get(name, {})
    moves = thing.get("moves")
    items = [
        f"{text(move, 'train', '?')} to {text(move, 'to', '?')}"
        for move in (moves if isinstance(moves, list) else ())
        if isinstance(move, dict)
    ]
    return lines(heading("session", name, thing), *items, noted(thing))


def _board(data: Data, name: str, _: CheckedText) -> str:
    thing = things(data, "boards").get(name, {})
    return lines(heading("board", name, thing), f"plan: {text(thing, 'plan', '?')}")


OF_ELEMENT: Mapping[str, HoverFor] = {
    "points": _element("points", "points"),
    "crossings": _element("crossings", "crossing"),
    "turntables": _element("turntables", "turntable"),
}

HOVER_OF: Mapping[str, HoverFor] = {
    "tracks": _track,
    **OF_ELEMENT,
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
"""From each kind of thing to the function for its hover text."""
