"""The rules whose findings count for each kind of slip, and the rules with a second opinion."""

from __future__ import annotations

FORM = frozenset(
    ("bad-form", "bad-id", "bad-track-end", "duplicate-item", "too-few", "wrong-value")
)
"""Rules on the form of the file. Their findings count as true if they are in place."""

WHOLE = frozenset(
    ("unknown-reference", "unmet-leg", "leg-met-twice", "open-joint", "arm-id-twice",
     "in-two-yards", "signal-off-its-track", "signals-on-one-spot", "yard-exits-overlap",
     "no-such-lie")
)  # fmt: skip
HOLDING = frozenset(("unheld-exit",))
ROADS = frozenset(
    ("signal-without-route", "arm-names-no-route", "arm-needs-to", "route-without-arm",
     "two-arms-for-one-route", "arm-speaks-for-two-roads", "arms-out-of-order",
     "too-many-routes")
)  # fmt: skip
BELIEFS = frozenset(("expectation-mismatch", "never-with-mismatch", "duty-mismatch"))
REACH = frozenset(("unreachable-track", "unreachable-signal", "nowhere-to-stand"))
PLATFORMS = frozenset(("platform-without-home", "platform-without-starter"))
DISTANTS = frozenset(("distant-repeats-wrong-arm", "distant-without-stop-ahead"))
CALLING_ON = frozenset(("calling-on-alone", "calling-on-for-another-road"))
POSTS = frozenset(("mount-too-small", "distant-above-stop-arm"))
PARTED = frozenset(("stands-not-parted", "scene-trains-not-parted"))
LINES = frozenset(
    ("crossover-not-worked-together", "crossover-never-set", "trap-not-worked-together")
)
SCENES = frozenset(
    ("scene-points-apart", "scene-arm-against-points", "scene-road-occupied",
     "scene-arms-conflict", "scene-shunt-signal-on", "scene-distant-too-soon")
)  # fmt: skip
LEVERS = frozenset(("on-two-levers", "not-on-a-lever", "lever-splits-group", "lever-unused"))

PROVED = HOLDING
"""Errors with their own proof: a movement, which the search replays."""

ELSEWHERE = frozenset(
    ("session-cannot-be-made", "session-taken-for-another", "session-train-elsewhere")
)
"""Errors on running sessions: ``tests/road`` has the second opinion on them."""

SECOND_OPINION = (
    WHOLE | ROADS | BELIEFS | REACH | PLATFORMS | DISTANTS | CALLING_ON | POSTS | LINES | SCENES
    | LEVERS | PARTED | {"up-meets-up"}
)  # fmt: skip

_SIGNAL = (
    HOLDING | ROADS | BELIEFS | REACH | PLATFORMS | DISTANTS | SCENES | PARTED | CALLING_ON
    | {"crossover-not-worked-together", "trap-not-worked-together"}
)  # fmt: skip
_ARM = ROADS | BELIEFS | SCENES | PLATFORMS | DISTANTS | CALLING_ON
_TRACK = _SIGNAL | {"up-meets-up", "reversing-loop"}
_TRAP = HOLDING | ROADS | REACH | PLATFORMS | BELIEFS | SCENES | LINES | WHOLE | {"road-never-set"}
_PEN = WHOLE | FORM | ROADS | BELIEFS | SCENES | DISTANTS | CALLING_ON | LEVERS

COUNTING: dict[str, frozenset[str]] = {
    "signal left out": _SIGNAL,
    "signal facing the other way": _SIGNAL | WHOLE,
    "signal on the neighbouring track": _SIGNAL | WHOLE,
    "two signals exchanged": _SIGNAL | WHOLE,
    "at_mm from the other end": _SIGNAL | WHOLE,
    "disc at the foot of a post left out": _ARM | HOLDING | REACH,
    "yard exit signal left out": _SIGNAL,
    "arms of a bracket swapped": _ARM,
    "`to` naming the wrong road": _ARM,
    "arm left out": _ARM | HOLDING | REACH,
    "arm doubled": WHOLE,
    "arm doubled under a new id": _ARM | {"mount-too-small"},
    "arm of the wrong kind": _SIGNAL | CALLING_ON | POSTS | WHOLE | LEVERS,
    "stop arms made shunt arms": _SIGNAL | CALLING_ON | POSTS | WHOLE | LEVERS,
    "shunt arms made stop arms": _SIGNAL | CALLING_ON | POSTS | WHOLE | LEVERS,
    "subsidiary arm for the wrong road": _ARM,
    "distant repeating the wrong arm": DISTANTS | SCENES,
    "distant above its stop arm": POSTS | DISTANTS,
    "crossover ends not worked together": LINES | HOLDING | BELIEFS | SCENES,
    "crossover worked with the wrong points": LINES | HOLDING | {"road-never-set"} | _PEN,
    "legs swapped": _TRACK | LINES | {"road-never-set"},
    "wrong normal": _TRAP,
    "trap points turned round": _TRAP,
    "`trap` forgotten": _TRAP,
    "trap points not worked together": _TRAP,
    "running reversed": _TRACK,
    "running forgotten": _TRACK,
    "stand forgotten": _TRACK | LINES,
    "track turned round": _TRACK | WHOLE,
    "platform on the wrong track": _TRACK,
    "yard member forgotten": _TRACK | WHOLE | FORM | LEVERS,
    "crossing of the wrong kind": _TRACK | WHOLE | LEVERS | LINES,
    "belief wrong": BELIEFS,
    "scene with the wrong arm off": SCENES,
    "scene with points forgotten": SCENES,
    "scene with a train elsewhere": SCENES,
    "lever working the wrong thing": LEVERS,
    "id mistyped": _PEN | _SIGNAL | LINES | {"accept-without-match"},
    "id mistyped as a key": WHOLE | BELIEFS | SCENES,
    "leg mistyped": WHOLE | FORM | _TRACK,
    "joint mistyped": WHOLE | FORM,
    "arm id mistyped": WHOLE,
}
"""The rules that count for each kind of slip. Notes on standstills, which nearly every plan gets,
count for none."""
