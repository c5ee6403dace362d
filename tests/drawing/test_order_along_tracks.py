"""Signals stand in their order along every track, on their side, and to scale where there is room.

The feet are read back from the SVG. Nothing here uses the shares or columns of the library: the
places come from the plan.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from amount import amount
from drawing.drawn import diagram_of, root_of
from drawing.looking import SVG, groups, hands, look_over, parse, points_of
from oracle.plans import large_plan, random_plan
from trappoint.checking.check import check
from trappoint.drawing.along import nearest
from trappoint.drawing.diagram import Diagram, draw
from trappoint.drawing.graph import DrawnPiece
from trappoint.drawing.paper import sheet_of
from trappoint.drawing.sketch import Sketch
from trappoint.model.layout import Head, Layout, Signal

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(
    path for path in (ROOT / "examples").rglob("*.layout.json") if "slips" not in path.parts
)
LEGS = {2: ["left", "right"], 3: ["left", "middle", "right"]}
APART = 9.85
GAP = 7.0


class Foot(NamedTuple):
    """The foot of a signal or head, as drawn."""

    name: str
    place: float
    """Its place in the plan, in millimetres from the up end."""
    heading: str
    right_hand: bool
    """Whether it stands on the driver's right."""
    x: float
    rail: float
    tip: float


def layout_of(plan: object) -> Layout:
    layout = check(json.dumps(plan)).layout
    assert layout is not None
    return layout


def place_of(post: Signal | Head, layout: Layout) -> float:
    """The place of a post; that of the down end is beyond all others if no length is known."""
    if post.at_mm is not None:
        return post.at_mm
    if post.heading == "up":
        return 0.0
    return layout.tracks[post.track].length_mm or 1e9


def feet_of(diagram: Diagram) -> dict[str, list[Foot]]:
    """Return the feet on each track, read from the SVG."""
    layout = diagram.sketch.layout
    root = root_of(diagram)
    found: dict[str, list[Foot]] = {}
    for group in groups(root, "signal"):
        signal = layout.signals[group.get("data-signal") or ""]
        paths = {path.get("class"): path for path in group.findall(f"{SVG}path")}
        (x, rail), (_, tip) = points_of(paths["post"])
        (one, _), (other, _) = points_of(paths["foot"])
        assert (one + other) / 2 == pytest.approx(x, abs=0.11)
        place, right = place_of(signal, layout), signal.side == "right"
        found.setdefault(signal.track, []).append(
            Foot(signal.id, place, signal.heading, right, x, rail, tip)
        )
    for group in groups(root, "head"):
        signal = layout.signals[group.get("data-signal") or ""]
        name = (group.get("id") or "").removeprefix("head-")
        head = signal.heads[int(name.rpartition("-")[2])]
        (x, rail), (_, tip), _ = points_of(group.findall(f"{SVG}path")[0])
        place, right = place_of(head, layout), signal.side == "right"
        found.setdefault(head.track, []).append(
            Foot(name, place, head.heading, right, x, rail, tip)
        )
    return found


def piece_of(drawing: Sketch, track: str, foot: Foot) -> DrawnPiece:
    """Return the piece on whose line a foot stands."""
    on = [
        piece
        for piece in drawing.graph.pieces
        if piece.track == track
        and abs(drawing.places.rails[piece.index] - foot.rail) < 0.06
        and drawing.lines[piece.index][0][0] <= foot.x <= drawing.lines[piece.index][-1][0]
    ]
    assert len(on) == 1, (track, foot)
    return on[0]


def from_up(piece: DrawnPiece) -> tuple[float, int]:
    """A sort key: the order of the parts of a track, from its up end."""
    return piece.start + piece.stop, -piece.part if piece.turned else piece.part


def level(drawing: Sketch, piece: DrawnPiece) -> tuple[float, float]:
    """Where the line of a piece is at its own height, and on no turntable."""
    rail = drawing.places.rails[piece.index]
    xs = [x for x, y in drawing.lines[piece.index] if abs(y - rail) < 0.06]
    radii = drawing.places.radii
    start = drawing.places.x[piece.left] + radii.get(piece.left, 0.0)
    stop = drawing.places.x[piece.right] - radii.get(piece.right, 0.0)
    return max(start, min(xs)), min(stop, max(xs))


def hold_order(diagram: Diagram) -> int:
    """Hold the feet of a drawing to their order and their sides; return the number of pairs."""
    drawing, pairs = diagram.sketch, 0
    for track, feet in feet_of(diagram).items():
        standing: dict[float, list[tuple[DrawnPiece, Foot]]] = {}
        for foot in feet:
            piece = piece_of(drawing, track, foot)
            to_right = (foot.heading == "down") != piece.turned
            assert (foot.tip < foot.rail) == (to_right != foot.right_hand), foot
            standing.setdefault(foot.place, []).append((piece, foot))
        for group in standing.values():
            hold_group(group)
        for one, other in pairwise(sorted(standing)):
            pairs += 1
            for first, a in standing[one]:
                for second, b in standing[other]:
                    if first is second:
                        way = -1 if first.turned else 1
                        assert (b.x - a.x) * way >= APART, (track, a, b)
                    else:
                        assert from_up(first) < from_up(second), (track, a, b)
    return pairs


def hold_group(group: list[tuple[DrawnPiece, Foot]]) -> None:
    """Feet at one place: pairs on opposite sides share one x; on one side they do not."""
    for index in {piece.index for piece, _ in group}:  # the end of a row may come between
        own = [foot for piece, foot in group if piece.index == index]
        above = sorted(foot.x for foot in own if foot.tip < foot.rail)
        below = sorted(foot.x for foot in own if foot.tip > foot.rail)
        for one, other in zip(above, below, strict=False):
            assert one == pytest.approx(other, abs=0.11)
        for side in (above, below):
            assert all(b - a >= APART for a, b in pairwise(side))


def hold_ends(diagram: Diagram) -> None:
    """A signal at the end that its trains run to is drawn clear of the other end."""
    drawing = diagram.sketch
    for track, feet in feet_of(diagram).items():
        length = place_end(drawing.layout, track)
        for foot in feet:
            piece = piece_of(drawing, track, foot)
            whole = {piece.start, piece.stop} == {0.0, 1.0}
            if whole and foot.place in (0.0, length):
                at_left = (foot.place == 0.0) != piece.turned
                start, stop = level(drawing, piece)
                far = stop - foot.x if at_left else foot.x - start
                node = drawing.graph.nodes[piece.right if at_left else piece.left]
                assert far >= (35.9 if node.kind == "buffer" else 23.9), (track, foot)


def place_end(layout: Layout, track: str) -> float:
    return layout.tracks[track].length_mm or 1e9


def displacements(diagram: Diagram) -> Iterator[tuple[float, bool]]:
    """Yield the distance of each foot from its place to scale, and whether something is in its way.

    Only for tracks with a length that are drawn as one piece.
    """
    drawing = diagram.sketch
    for track, feet in feet_of(diagram).items():
        length = drawing.layout.tracks[track].length_mm
        pieces = {piece_of(drawing, track, foot).index for foot in feet}
        (index,) = pieces if len(pieces) == 1 else (-1,)
        if index < 0 or not length:
            continue
        piece = drawing.graph.pieces[index]
        if {piece.start, piece.stop} != {0.0, 1.0}:
            continue
        start, stop = level(drawing, piece)
        for foot in feet:
            share = foot.place / length
            share = 1 - share if piece.turned else share
            wish = start + share * (stop - start)
            if abs(foot.x - wish) <= 0.5:
                yield abs(foot.x - wish), False
            else:
                way = 1 if wish > foot.x else -1
                same = [each for each in feet if each.place == foot.place]
                yield (
                    abs(foot.x - wish),
                    any(is_blocked(drawing, index, each, feet, way) for each in same),
                )


def is_blocked(drawing: Sketch, piece: int, foot: Foot, feet: list[Foot], way: int) -> bool:
    """Return whether a foot can move no half unit to the right (``way`` 1) or to the left (-1)."""
    if any(0 < (other.x - foot.x) * way < APART + 0.6 for other in feet):
        return True
    side = "above" if foot.tip < foot.rail else "below"
    items = drawing.places.contents[piece].on(side)[::way]
    number = next(
        n for n, item in enumerate(items)
        if item.id == foot.name and item.kind in ("signal", "head")
    )  # fmt: skip
    own, used = items[number], 0.0
    edge = own.x + own.width if way == 1 else own.x
    for item in items[number + 1 :]:
        if item.kind in ("signal", "head"):
            limit = item.x if way == 1 else item.x + item.width
            return (limit - edge) * way - used - GAP < 0.6
        used += item.least + GAP
    limit = drawing.places.spans[piece][side][way == 1]
    lines = level(drawing, drawing.graph.pieces[piece])
    return (limit - edge) * way - used < 0.6 or abs(lines[way == 1] - foot.x) < 37


def dressed(rng: random.Random, plan: dict[str, Any]) -> dict[str, Any]:
    """Add signals of all kinds at given places, and platforms, to a plan."""
    signals = plan.setdefault("signals", {})
    for name in rng.sample(sorted(plan["tracks"]), min(4, len(plan["tracks"]))):
        track = plan["tracks"][name]
        if rng.random() < 0.8:
            track.setdefault("length_mm", rng.randrange(800, 5000, 100))
        length = track.get("length_mm", 2000)
        for _ in range(rng.randint(1, 4)):
            number = f"more{len(signals)}"
            arms = [{"id": f"{number}{letter}"} for letter in "ABC"[: rng.choice((1, 1, 1, 2, 3))]]
            signal: dict[str, Any] = {
                "track": name, "for": rng.choice(("up", "down")), "arms": arms,
            }  # fmt: skip
            if rng.random() < 0.7:
                signal["at_mm"] = rng.randrange(0, int(length) + 1, 200)
            if rng.random() < 0.25:
                signal["side"] = "right"
            if rng.random() < 0.3:
                signal |= {"mount": "ground", "form": "disc"}
                del arms[1:]
                arms[0]["kind"] = "shunt"
            elif len(arms) > 1:
                signal["mount"] = "bracket"
            signals[number] = signal
    for number in range(rng.randint(0, 3)):
        served = rng.sample(sorted(plan["tracks"]), min(rng.randint(1, 3), len(plan["tracks"])))
        platform: dict[str, Any] = {"tracks": served}
        if rng.random() < 0.5:
            platform["length_mm"] = rng.randrange(300, 3000, 100)
        plan.setdefault("platforms", {})[f"more{number}"] = platform
    return plan


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
@pytest.mark.parametrize("sheet", ["long", "a4"])
def test_the_examples_keep_the_order(path: Path, sheet: str) -> None:
    diagram = diagram_of(path, sheet_of(sheet).widest)
    hold_order(diagram)
    hold_ends(diagram)
    look_over(diagram.sketch)


def test_the_examples_have_pairs_to_hold() -> None:
    small = [path for path in EXAMPLES if "hobthrush" not in path.name]
    assert sum(hold_order(diagram_of(path, None)) for path in small) > 20


SAMPLE = 30


def random_diagram(seed: int) -> Diagram:
    rng = random.Random(seed)
    return diagram_of(json.dumps(dressed(rng, random_plan(rng, (1, 4)))))


@pytest.mark.parametrize("seed", range(amount(SAMPLE, long=3000)))
def test_random_plans_keep_the_order(seed: int) -> None:
    diagram = random_diagram(seed)
    hold_order(diagram)
    hold_ends(diagram)
    look_over(diagram.sketch)
    for name, legs in hands(root_of(diagram)).items():
        assert legs == LEGS[len(legs)], name
    assert all(blocked for away, blocked in displacements(diagram) if away > 0.5)


@pytest.mark.parametrize("seed", range(amount(4, long=200)))
def test_folded_plans_keep_the_order(seed: int) -> None:
    rng = random.Random(seed)
    diagram = draw(layout_of(dressed(rng, large_plan(rng, 10))), widest=900)
    hold_order(diagram)
    look_over(diagram.sketch)


def test_random_plans_have_everything_in_them() -> None:
    """Both the samples and the scale are worth the name."""
    pairs = same = exact = moved = shared = 0
    for seed in range(SAMPLE):
        diagram = random_diagram(seed)
        pairs += hold_order(diagram)
        for feet in feet_of(diagram).values():
            same += len(feet) - len({foot.place for foot in feet})
        for away, _ in displacements(diagram):
            exact, moved = exact + (away <= 0.5), moved + (away > 0.5)
        shared += sum(item.shared for _, item in diagram.sketch.items())
    assert pairs > 100
    assert same > 20
    assert exact > 10
    assert moved > 20
    assert shared > 4


@pytest.mark.parametrize("seed", range(200))
def test_the_greatest_distance_from_the_scale_is_the_least(seed: int) -> None:
    """Against the bound that each chain of least distances gives, over all chains."""
    rng = random.Random(seed)
    count = rng.randint(1, 7)
    wishes = sorted(rng.uniform(0, 100) for _ in range(count))
    apart = {(n, n + 1): 10.0 for n in range(count - 1)}
    for _ in range(rng.randint(0, 4)):
        one, other = rng.randrange(count), rng.randrange(count)
        if one < other:
            apart[one, other] = max(apart.get((one, other), 0.0), rng.uniform(10, 60))
    lows = [longest(apart, 0, n) for n in range(count)]
    stop = lows[-1] + rng.uniform(0, 60)
    highs = [stop - longest(apart, n, count - 1) for n in range(count)]
    found = nearest(wishes, lows, highs, apart)
    for (one, other), distance in apart.items():
        assert found[other] - found[one] >= distance - 1e-9
    assert all(a - 1e-9 <= x <= b + 1e-9 for a, x, b in zip(lows, found, highs, strict=True))
    bound = max(
        [0.0]
        + [low - wish for low, wish in zip(lows, wishes, strict=True)]
        + [wish - high for high, wish in zip(highs, wishes, strict=True)]
        + [
            (wishes[one] + longest(apart, one, other) - wishes[other]) / 2
            for one in range(count)
            for other in range(one + 1, count)
        ]
    )
    assert max(abs(x - w) for x, w in zip(found, wishes, strict=True)) == pytest.approx(bound)


def longest(apart: dict[tuple[int, int], float], one: int, other: int) -> float:
    """Return the greatest sum of least distances on any way between two numbers."""
    if one == other:
        return 0.0
    ways = [d + longest(apart, b, other) for (a, b), d in apart.items() if a == one and b <= other]
    return max(ways)


# --- by hand


def line(signals: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A plan of one track, 4 m long, between two edges."""
    track = {"up": "edge:west", "down": "edge:east", "length_mm": 4000}
    return {"format": "trappoint-layout/1", "tracks": {"t": track}, "signals": signals, **more}


def xs(plan: dict[str, Any]) -> dict[str, float]:
    return {f.name: f.x for feet in feet_of(draw(layout_of(plan))).values() for f in feet}


def post(heading: str, at_mm: int | None = None, **more: Any) -> dict[str, Any]:
    place = {} if at_mm is None else {"at_mm": at_mm}
    return {"track": "t", "for": heading, **place, **more}


def test_signals_back_to_back_share_one_foot() -> None:
    found = xs(
        line(
            {
                "1": post("down", 2000, arms=[{"id": "1"}]),
                "2": post("up", 2000, arms=[{"id": "2"}]),
            }
        )
    )
    assert found["1"] == found["2"]


def test_a_disc_at_the_foot_of_a_post_is_passed_after_it() -> None:
    for heading, way in (("down", 1), ("up", -1)):
        disc = post(heading, mount="ground", form="disc", arms=[{"id": "2", "kind": "shunt"}])
        found = xs(line({"1": post(heading, arms=[{"id": "1"}]), "2": disc}))
        assert (found["2"] - found["1"]) * way > 9


def test_signals_at_both_ends_do_not_change_places() -> None:
    found = xs(line({"1": post("down", arms=[{"id": "1"}]), "2": post("up", arms=[{"id": "2"}])}))
    assert found["1"] > found["2"]


@pytest.mark.parametrize("length", [2000, None])
def test_platforms_are_to_scale(length: int | None) -> None:
    """A platform of half the length of its track is half as long as its rails."""
    platform = {"tracks": ["t"], "name": "A"} | ({"length_mm": length} if length else {})
    drawing = draw(layout_of(line({}, platforms={"A": platform}))).sketch
    start, stop = level(drawing, drawing.graph.pieces[0])
    (width,) = (item.width for _, item in drawing.items() if item.kind == "platform")
    if length:
        assert width == pytest.approx((stop - start) / 2, abs=0.1)
    else:
        low, high = drawing.places.spans[0]["above"]
        assert width == pytest.approx(high - low, abs=0.1)


ISLAND = {
    "format": "trappoint-layout/1",
    "tracks": {
        "west": {"up": "edge:west", "down": "p1.toe"},
        "north": {"up": "p1.left", "down": "p2.right", "length_mm": 2000},
        "south": {"up": "p1.right", "down": "p2.left", "length_mm": 2000},
        "east": {"up": "p2.toe", "down": "edge:east"},
    },
    "points": {"p1": {"normal": "left"}, "p2": {"normal": "right"}},
    "platforms": {"I": {"tracks": ["north", "south"], "name": "Island"}},
}


def rectangles(plan: dict[str, Any]) -> dict[str, list[tuple[float, float, float, float]]]:
    root = parse(draw(layout_of(plan)).svg())
    return {
        group.get("data-platform") or "": [
            (
                float(rect.get("x") or 0),
                float(rect.get("y") or 0),
                float(rect.get("width") or 0),
                float(rect.get("height") or 0),
            )
            for rect in group.findall(f"{SVG}rect")
        ]
        for group in groups(root, "platform")
    }


def test_an_island_platform_is_one_rectangle_between_its_tracks() -> None:
    ((_, top, _, height),) = rectangles(ISLAND)["I"]
    diagram = draw(layout_of(ISLAND))
    rails = {p.track: diagram.sketch.places.rails[p.index] for p in diagram.sketch.graph.pieces}
    assert top == pytest.approx(rails["north"] + 5)
    assert top + height == pytest.approx(rails["south"] - 5)
    assert diagram.svg().count(">Island<") == 1


def test_a_platform_at_tracks_with_another_between_them_is_drawn_at_each() -> None:
    plan = json.loads(json.dumps(ISLAND))
    plan["points"]["p1"]["kind"] = plan["points"]["p2"]["kind"] = "three-way"
    plan["tracks"]["between"] = {"up": "p1.middle", "down": "p2.middle"}
    assert len(rectangles(plan)["I"]) == 2


def test_a_platform_at_three_tracks_is_one_between_two_of_them() -> None:
    plan = json.loads(json.dumps(ISLAND))
    plan["points"]["p1"]["kind"] = plan["points"]["p2"]["kind"] = "three-way"
    plan["tracks"]["between"] = {"up": "p1.middle", "down": "p2.middle"}
    plan["platforms"]["I"]["tracks"].append("between")
    drawing = draw(layout_of(plan)).sketch
    look_over(drawing)
    shared = {drawing.graph.pieces[p].track: item.shared for p, item in drawing.items()
              if item.kind == "platform"}  # fmt: skip
    assert sorted(shared.values()) == [False, True, True]
    assert shared["between"]
    assert len(rectangles(plan)["I"]) == 2


def test_the_club_example_has_one_island() -> None:
    root = root_of(diagram_of(ROOT / "examples" / "hobthrush-vale.layout.json", None))
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert texts.count("Hobthrush 1 and 2") == 1
