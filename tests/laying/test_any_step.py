"""Any step is done and leaves the plan in order, or it is refused in words."""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING

from amount import amount
from trappoint.laying.catalogue import VERBS
from trappoint.laying.measures import OuterEnd, Quantity, Thing, Things, Word, Yes
from trappoint.laying.order import faults
from trappoint.laying.reference_measures import (
    Lever,
    LeverNumber,
    Lies,
    Named,
    OneOrMore,
    OrNone,
    Place,
    Several,
    Trains,
    Whereabouts,
)
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import Where
from trappoint.laying.steps import lay
from trappoint.tidying.tidy import tidy_content

from .examples import EXAMPLES

if TYPE_CHECKING:
    from trappoint.laying.measures import Measure

BOGGART = (EXAMPLES / "boggart-bridge.layout.json").read_text("utf-8")
DATA = json.loads(BOGGART)
NUMBERS = (True, 1, 8, 45, 100, 250.5, 1900, 3800)
ENDS = ("buffer", "edge", "edge:new")
KNOWN = {**DATA, "arms": [arm["id"] for each in DATA["signals"].values() for arm in each["arms"]]}
PLACES = ("plan", "tracks/up-loop", "points/rp", "arms/3L", "signals/13", "edges/town-up")
STANDING = {"up-loop": "goods", "refuge": True}
WHERE = ("middle", "up", "down", *(f"beyond {signal}" for signal in DATA["signals"]))
ODD: list[object] = [
    *(None, "", " ", "a b", "x/y", "é", "../x", "edge:", "edge:a b", "beyond", "beyond x"),
    *(-1, 0, 1e-9, 1e308, float("inf"), float("nan"), 10**400, [], {}, [[]], ["main", 3]),
    *("a" * 41, "\0", "\ud800", {"do": "x"}, "normal", "toe"),
]


def _likely(measure: Measure) -> tuple[object, ...]:
    """Return values of a measure's kind."""
    if isinstance(measure, OrNone):
        return (None, *_likely(measure.one))
    if isinstance(measure, Things | Several | OneOrMore):
        measure = measure.one
    if isinstance(measure, Thing | Named):
        return tuple(key for kind in measure.kinds for key in KNOWN.get(kind, ["none"]))
    if isinstance(measure, Word):
        return measure.words
    kinds: dict[type, tuple[object, ...]] = {
        Quantity: NUMBERS, Yes: (True, False), OuterEnd: ENDS, Where: WHERE, Place: PLACES,
        Lies: ({"c1": "reverse", "c2": "reverse"}, {"rp": "normal"}, {}), Trains: (STANDING, {}),
        Whereabouts: ("up-loop", "edge:town-up"), Lever: ("1",), LeverNumber: (1, "2"),
    }  # fmt: skip
    return kinds.get(type(measure), ("new", "Newly laid"))


def test_any_step_is_done_in_order_or_refused_in_words() -> None:
    chosen = random.Random("any step")
    done: set[str] = set()
    for _ in range(amount(200, long=10_000)):
        verb = VERBS[chosen.choice(sorted(VERBS))]
        given = [key for key in verb.measures if key in verb.needed or chosen.random() < 0.3]
        odd = chosen.choice([*given, *verb.measures, ""]) if chosen.random() < 0.2 else None
        step: dict[str, object] = {"do": verb.name}
        for key in given:
            step[key] = chosen.choice(ODD if key == odd else _likely(verb.measures[key]))
        try:
            text = lay(BOGGART, [step]).text
        except Refused as refused:
            assert refused.message.endswith((".", "?")), step
            assert refused.fix.endswith("."), step
            continue
        done.add(verb.name)
        assert tidy_content(text) == text, step
        assert not faults(json.loads(text)), step
    assert len(done) > len(VERBS) // 3
