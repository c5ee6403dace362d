"""Arms for trains on another track than that of their post, and the names of things."""

from __future__ import annotations

import json
from typing import Any

from drawing.looking import SVG, groups, look_over, parse, points_of
from trappoint.checking.check import check
from trappoint.drawing.chart import write_chart
from trappoint.drawing.diagram import draw

PLAN: dict[str, Any] = {
    "format": "trappoint-layout/1",
    "title": "Two lines, one gantry",
    "tracks": {
        "fast": {"up": "edge:fast", "down": "x.a1"},
        "slow": {"up": "edge:slow", "down": "x.b1"},
        "upper": {"up": "x.b2", "down": "buffer"},
        "lower": {"up": "x.a2", "down": "buffer"},
    },
    "crossings": {"x": {"name": "Flat crossing"}},
    "signals": {
        "1": {
            "name": "The gantry",
            "track": "fast",
            "for": "down",
            "arms": [{"id": "1F"}, {"id": "1S", "track": "slow"}, {"id": "1U", "for": "up"}],
        },
        "2": {"track": "upper", "for": "up", "arms": [{"id": "2"}]},
        "3": {"track": "lower", "for": "up", "arms": [{"id": "3"}]},
    },
    "scenes": {"noon": {"name": "The noon train", "off": ["1F"]}},
}


def test_they_are_marked_where_their_trains_obey_them_and_on_their_post() -> None:
    report = check(json.dumps(PLAN))
    assert report.layout is not None
    diagram = draw(report.layout, table=report.table)
    look_over(diagram.sketch)
    root = parse(diagram.svg())
    texts = {"".join(text.itertext()) for text in root.iter(f"{SVG}text")}
    assert {"1F", "1S for slow", "1U for up trains"} <= texts
    assert {"1S on post 1", "1U on post 1"} <= texts
    heads = groups(root, "head")
    assert [(h.get("data-track"), h.get("data-for")) for h in heads] == [
        ("slow", "down"),
        ("fast", "up"),
    ]
    rails = {piece.track: diagram.sketch.places.rails[piece.index]
             for piece in diagram.sketch.graph.pieces}  # fmt: skip
    for head in heads:
        (foot, level, _) = points_of(head.findall(f"{SVG}path")[0])
        assert foot[1] == rails[head.get("data-track") or ""]
        # On the driver's left: above where he runs to the right.
        assert (level[1] < foot[1]) == (head.get("data-for") == "down")


def test_what_things_are_called_is_told() -> None:
    report = check(json.dumps(PLAN))
    assert report.layout is not None
    svg = draw(report.layout, table=report.table).svg()
    titles = [title.text or "" for title in parse(svg).iter(f"{SVG}title")]
    assert "Signal 1 (The gantry), for trains running down on fast" in titles
    assert "Crossing x (Flat crossing), diamond" in titles
    chart = write_chart(report)
    assert "The noon train (noon)" in chart
    if report.table is not None:
        assert "The gantry (" in chart
    assert "their post is beside another track" in chart
