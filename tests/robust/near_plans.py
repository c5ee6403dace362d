"""Documents that are nearly plans: examples with slips in them, and random plans.

Random plans use few names, so that many references fit by chance.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

    Path_ = tuple[str | int, ...]

EXAMPLES = sorted(Path(__file__).parents[2].glob("examples/*.layout.json"))
PLANS: list[dict[str, Any]] = [json.loads(path.read_text("utf-8")) for path in EXAMPLES]

WORDS = (
    "main", "siding", "p1", "p2", "x1", "t", "A", "B", "1", "2", "7L", "", "buffer", "edge:a",
    "joint:1", "joint:2", "p1.toe", "p1.left", "p1.right", "p2.middle", "x1.a1", "x1.b2", "t.1",
    "normal", "reverse", "straight", "slip", "left", "right", "middle", "up", "down", "both",
    "stop", "distant", "calling-on", "shunt", "three-way", "double-slip", "unheld-exit", "/signals",
    "/tracks/main", "trappoint-layout/1", "é\u2028", "\ud83d\ude82", "x" * 41,
)  # fmt: skip

scalars = (
    st.sampled_from(WORDS)
    | st.booleans()
    | st.none()
    | st.integers(-2, 2000)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.sampled_from((10**40, -(10**308), 1e-300, 1.5))
)
json_values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(WORDS) | st.text(max_size=5), inner, max_size=4)
    ),
    max_leaves=8,
)


def paths_of(value: Any, path: Path_ = ()) -> list[Path_]:
    """Return the path of every value inside a value."""
    found: list[Path_] = []
    members = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in members:
        found.append((*path, key))
        if isinstance(inner, dict | list):
            found += paths_of(inner, (*path, key))
    return found


def at(value: Any, path: Path_) -> Any:
    for key in path:
        value = value[key]
    return value


def mutate(plan: dict[str, Any], random: Random, junk: Callable[[], Any]) -> None:
    """Make one slip in a plan: remove, replace or copy a value."""
    paths = paths_of(plan)
    if not paths:
        return
    path = random.choice(paths)
    holder, key = at(plan, path[:-1]), path[-1]
    other = at(plan, random.choice([p for p in paths if len(p) == len(path)]))
    slip = random.randrange(5)
    if slip == 0:
        del holder[key]
    elif slip == 1:
        holder[key] = junk()
    elif slip == 2:
        holder[key] = copy.deepcopy(other)
    elif isinstance(holder, list):
        holder.insert(random.randrange(len(holder) + 1), copy.deepcopy(other))
    elif slip == 3:
        holder[f"{key}x"[:40]] = copy.deepcopy(holder[key])
    else:
        holder[random.choice(WORDS)] = copy.deepcopy(holder[key])


@st.composite
def mutants(draw: st.DrawFn) -> dict[str, Any]:
    """Draw an example with one to six slips."""
    plan = copy.deepcopy(draw(st.sampled_from(PLANS)))
    random = draw(st.randoms(use_true_random=False))
    for _ in range(draw(st.integers(1, 6))):
        mutate(plan, random, lambda: draw(json_values))
    return plan


IDS = ("a", "b", "c", "d", "e", "f")
ENDS = st.sampled_from(
    [
        "buffer", "edge:x", "joint:1", "joint:2", "p.toe", "p.left", "p.right", "q.toe", "q.left",
        "q.right", "q.middle", "x.a1", "x.a2", "x.b1", "x.b2", "t.1", "t.2",
    ]
)  # fmt: skip
track_ids = st.sampled_from(IDS)
arm_ids = st.sampled_from(["1", "2", "3", "4", "5", "6", "7", "8"])
switches = st.sampled_from(["p", "q", "x"])
lies = st.sampled_from(["normal", "reverse", "left", "right", "slip", "straight"])
arms = st.fixed_dictionaries(
    {"id": arm_ids},
    optional={
        "kind": st.sampled_from(["stop", "distant", "calling-on", "shunt"]),
        "to": track_ids
        | st.lists(track_ids | st.sampled_from(["P", "Y"]), max_size=2, unique=True),
        "track": track_ids,
        "for": st.sampled_from(["up", "down"]),
        "at_mm": st.integers(0, 100),
        "under": arm_ids,
        "doll": st.integers(1, 3),
        "repeats": st.lists(arm_ids, min_size=1, max_size=3, unique=True),
        "never_with": st.lists(arm_ids, max_size=2, unique=True),
        "expects": st.dictionaries(switches, lies, max_size=2),
        "height_mm": st.integers(1, 90),
    },
)
tracks = st.fixed_dictionaries(
    {"up": ENDS, "down": ENDS},
    optional={
        "running": st.sampled_from(["up", "down", "both"]),
        "stand": st.booleans(),
        "length_mm": st.integers(1, 100),
        "rank": st.integers(1, 3),
        "draw": st.fixed_dictionaries({"lane": st.integers(1, 9)}),
    },
)
signals = st.fixed_dictionaries(
    {
        "track": track_ids,
        "for": st.sampled_from(["up", "down"]),
        "arms": st.lists(arms, min_size=1, max_size=3),
    },
    optional={
        "at_mm": st.integers(0, 100),
        "mount": st.sampled_from(["post", "bracket", "gantry", "ground"]),
        "form": st.sampled_from(["upper-quadrant", "disc"]),
        "duties": st.lists(
            st.sampled_from(["home platform P", "junction p", "nonsense"]), max_size=2
        ),
    },
)
scenes = st.fixed_dictionaries(
    {},
    optional={
        "points": st.dictionaries(switches, lies, max_size=2),
        "off": st.lists(arm_ids, max_size=3, unique=True),
        "trains": st.dictionaries(track_ids | st.just("Y"), st.just(True), max_size=2),
    },
)
yards = st.fixed_dictionaries(
    {},
    optional={
        "tracks": st.lists(track_ids, max_size=3, unique=True),
        "points": st.lists(st.sampled_from(["p", "q"]), max_size=2, unique=True),
        "crossings": st.just(["x"]),
        "turntables": st.just(["t"]),
    },
)
LEGS = {
    "p": ("points", {"normal": "left"}, ("p.toe", "p.left", "p.right")),
    "q": (
        "points",
        {"normal": "right", "kind": "three-way"},
        ("q.toe", "q.left", "q.middle", "q.right"),
    ),
    "x": ("crossings", {"kind": "double-slip"}, ("x.a1", "x.a2", "x.b1", "x.b2")),
    "t": ("turntables", {"roads": ["1", "2"]}, ("t.1", "t.2")),
}


@st.composite
def whole_plans(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a plan in which every leg and joint is connected, with random other things."""
    plan: dict[str, Any] = {"format": "trappoint-layout/1", "tracks": {}}
    ends: list[str] = []
    for name in draw(st.sets(st.sampled_from(list(LEGS)))):
        kind, value, legs = LEGS[name]
        plan.setdefault(kind, {})[name] = value
        ends += legs
    for number in range(draw(st.integers(0, 2))):
        ends += [f"joint:{number}"] * 2
    ends += draw(st.lists(st.sampled_from(["buffer", "edge:x"]), min_size=1, max_size=4))
    ends += ["buffer"] * (len(ends) % 2)
    ends = draw(st.permutations(ends))
    for number, (up, down) in enumerate(zip(ends[::2], ends[1::2], strict=True)):
        given = draw(tracks)
        plan["tracks"][f"{'abcdefghijklmnop'[number]}"] = {**given, "up": up, "down": down}
    return plan | draw(_more())


def _more() -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(
        {"signals": st.dictionaries(arm_ids, signals, max_size=5)},
        optional={
            "platforms": st.just({"P": {"tracks": ["a"]}}),
            "yards": st.dictionaries(st.sampled_from(["Y", "Z"]), yards, max_size=2),
            "worked_together": st.just([["p", "x"]]),
            "scenes": st.dictionaries(st.just("s"), scenes, max_size=1),
            "levers": st.just({"1": {"points": ["p"]}, "2": {"arms": ["1", "2"]}}),
            "accept": st.just([{"rule": "unheld-exit", "at": "a"}]),
        },
    )


@st.composite
def loose_plans(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a plan that follows the schema and whose parts fit together only by chance."""
    plan: dict[str, Any] = {
        "format": "trappoint-layout/1",
        "tracks": draw(st.dictionaries(track_ids, tracks, max_size=6)),
    }
    for kind, value, _ in LEGS.values():
        if draw(st.booleans()):
            plan.setdefault(kind, {})[draw(switches)] = value
    return plan | draw(_more())


def near_plans() -> st.SearchStrategy[dict[str, Any]]:
    """Return the strategy that draws all documents of this module."""
    return mutants() | whole_plans() | loose_plans()
