"""Rules on size: a plan too large to analyse gets a finding, so that every check ends soon."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.findings import pointer_to
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Layout

MOST = {
    "tracks": 40_000,
    "points": 20_000,
    "crossings": 20_000,
    "turntables": 5_000,
    "platforms": 10_000,
    "arms": 40_000,
    "yards": 5_000,
    "levers": 40_000,
    "scenes": 5_000,
    "sessions": 1_000,
    "trains": 10_000,
    "names in lists": 250_000,
}
"""The most things of each kind in a plan. The largest layouts have a few thousand points."""

MAX_ROADS = 200
"""The most roads of one turntable."""

MAX_PLATFORMS = 16
"""The most platforms beside one track."""


def _a_wide_turntable() -> str:
    import json

    roads = [f"{number}" for number in range(MAX_ROADS + 1)]
    tracks = {f"road-{road}": {"up": "buffer", "down": f"table.{road}"} for road in roads}
    return json.dumps(
        {
            "format": "trappoint-layout/1",
            "tracks": tracks,
            "turntables": {"table": {"roads": roads}},
        }
    )


TOO_LARGE = Rule(
    id="too-large",
    level="error",
    stage="plan",
    summary="a plan with too many things to check",
    why="No model railway is so large, and every check must end soon.",
    source=(
        "a limit of this version: "
        + ", ".join(f"{most:,} {kind}" for kind, most in MOST.items())
        + f", "
        f"{MAX_ROADS} roads of a turntable, {MAX_PLATFORMS} platforms beside a track"
    ),
    fails=_a_wide_turntable,
    passes={},
    ends=True,
)


@TOO_LARGE.checked_by
def _too_large(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    for kind, count in _counts(layout):
        if count > MOST[kind]:
            key = {"arms": "signals", "names in lists": ""}.get(kind, kind)
            yield _more(key, kind, count, MOST[kind])
    for table in layout.turntables.values():
        if len(table.roads) > MAX_ROADS:
            yield TOO_LARGE.finding(
                pointer_to("turntables", table.id, "roads"),
                f"Turntable {table.id} has {len(table.roads):,} roads; the most is {MAX_ROADS}.",
                "Take out roads that the turntable does not have, or divide it.",
                path=(table.id,),
            )
    beside: dict[str, int] = {}
    for platform in layout.platforms.values():
        for track in platform.tracks:
            beside[track] = beside.get(track, 0) + 1
            if beside[track] == MAX_PLATFORMS + 1:
                yield TOO_LARGE.finding(
                    pointer_to("platforms", platform.id, "tracks"),
                    f"Platform {platform.id} is one of more than {MAX_PLATFORMS} beside {track}.",
                    f"Take {track} out of the platforms that are not beside it.",
                    path=(platform.id, track),
                )


def far_too_large(data: Mapping[str, Any]) -> Finding | None:
    """Return a finding if a map of a document has far too many entries, None if none has.

    It runs before everything else, so that such a document costs little.
    """
    for key in (
        *("tracks", "points", "crossings", "turntables", "platforms", "signals", "scenes"),
        "sessions",
    ):
        count, most = len(data.get(key) or ()), MOST["arms" if key == "signals" else key]
        if isinstance(data.get(key), dict) and count > most:
            return _more(key, key, count, most)
    return None


def _more(key: str, kind: str, count: int, most: int) -> Finding:
    return TOO_LARGE.finding(
        pointer_to(key) if key else "",
        f"The plan has {count:,} {kind}; the most is {most:,}.",
        "Divide the layout into boards, each with its own plan.",
        at_key=True,
    )


def _counts(layout: Layout) -> Iterator[tuple[str, int]]:
    """Yield the number of things of each kind in ``MOST``, kind first."""
    for kind in MOST:
        if kind not in ("arms", "names in lists"):
            yield kind, len(getattr(layout, kind))
    yield "arms", sum(len(signal.arms) for signal in layout.signals.values())
    names = sum(len(platform.tracks) for platform in layout.platforms.values())
    names += sum(len(group) for group in layout.worked_together) + len(layout.accept)
    for signal in layout.signals.values():
        names += len(signal.duties)
        for arm in signal.arms:
            names += len(arm.to) + len(arm.repeats) + len(arm.never_with) + len(arm.expects)
    for yard in layout.yards.values():
        names += len(yard.tracks) + len(yard.points) + len(yard.crossings) + len(yard.turntables)
    names += sum(len(lever.points) + len(lever.arms) for lever in layout.levers.values())
    for scene in layout.scenes.values():
        names += len(scene.points) + len(scene.off) + len(scene.trains)
    for session in layout.sessions.values():
        names += len(session.trains) + sum(3 + len(move.via) for move in session.moves)
    yield "names in lists", names


def _a_wide_throat(depth: int = 6) -> str:
    """Return a plan of sixty-four tracks that join into one and part again, with discs only."""
    import json

    tracks: dict[str, object] = {"neck": {"up": "w0-0.toe", "down": "e0-0.toe"}}
    points: dict[str, object] = {}
    signals: dict[str, object] = {}
    for side, way in (("w", "down"), ("e", "up")):
        for level in range(1, depth + 1):
            for number in range(2**level):
                points[f"{side}{level - 1}-{number // 2}"] = {"normal": "left"}
                leg = f"{side}{level - 1}-{number // 2}.{'left' if number % 2 else 'right'}"
                far = f"{side}{level}-{number}.toe" if level < depth else f"edge:{side}{number}"
                ends = (far, leg) if side == "w" else (leg, far)
                name = f"{side}{level}-{number}t"
                tracks[name] = {"up": ends[0], "down": ends[1]}
                if level == depth:
                    arms = [{"id": f"{side}{number}"}]
                    disc = {"track": name, "for": way, "form": "disc", "arms": arms}
                    signals[f"{side}{number}"] = disc
    return json.dumps(
        {"format": "trappoint-layout/1", "tracks": tracks, "points": points, "signals": signals}
    )


TOO_MUCH = Rule(
    id="too-much-to-follow",
    level="error",
    stage="facts",
    summary="a plan too large to analyse",
    why="The check compares routes, free runs and conflicts one by one, and must end soon.",
    source=(
        "a limit of this version: about 100,000 routes, 200,000 routes counted once for each arm, "
        "600,000 places of free runs, 2,000,000 pairs of routes in the locking table; 25,000,000 "
        "steps for the locking of a lever frame"
    ),
    fails=_a_wide_throat,
    passes={},
    binding=True,
    ends=True,
)


@TOO_MUCH.checked_by
def _too_much(facts: Facts) -> Iterator[Finding]:
    for pointer, message, fix in facts.too_much:
        yield TOO_MUCH.finding(pointer, message, fix, at_key=True)


MAX_TOLD = 500
"""The most findings of one rule in a report; more of them have one cause."""


def _many_scenes() -> str:
    """Return a plan with more findings of one rule than a report shows, all accepted."""
    import json

    scenes = {f"s{number}": {"trains": {"t": True}} for number in range(MAX_TOLD + 1)}
    lived_with = {"rule": "scene-open", "at": "/scenes", "because": "for photographs"}
    return json.dumps(
        {
            "format": "trappoint-layout/1",
            "tracks": {"t": {"up": "buffer", "down": "buffer"}},
            "scenes": scenes,
            "accept": [lived_with],
        }
    )


MORE = Rule(
    id="findings-truncated",
    level="note",
    stage="last",
    summary="more findings of one rule than a report shows",
    why=(
        f"More than {MAX_TOLD} findings of one rule mostly have one cause; this finding has the "
        "level of those left out."
    ),
    source=f"a limit of this version: {MAX_TOLD} findings of each rule",
    fails=_many_scenes,
    passes={},
)


def more_than_told(rule: Rule, last: Finding) -> Finding:
    """Return the finding that a report shows only some findings of a rule.

    It has the level of the findings left out, in case some of them are not accepted.
    """
    return MORE.finding(
        "",
        f"Only the first {MAX_TOLD} findings of {rule.id} are shown.",
        "Correct these, and check again.",
        level=last.level,
    )
