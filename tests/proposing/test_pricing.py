"""Proposals by cost: the club's own parts are free, and the cheapest proposal comes first."""

from __future__ import annotations

import json
from typing import Any

from trappoint.core.terminal import RenderOptions
from trappoint.parts.store import Store
from trappoint.parts.store_reading import read_store
from trappoint.proposing.proposal import Proposal, propose
from trappoint.reporting import propose_json, propose_text

ONE_WAY: Any = {
    "format": "trappoint-layout/1",
    "title": "Hinkypunk Halt",
    "tracks": {
        "left-road": {"up": "buffer", "down": "p.left", "running": "down"},
        "right-road": {"up": "buffer", "down": "p.right", "running": "down"},
        "line": {"up": "p.toe", "down": "q.toe", "running": "down", "stand": False},
        "quay": {"up": "q.left", "down": "buffer", "running": "down"},
        "shed": {"up": "q.right", "down": "buffer", "running": "down"},
    },
    "points": {"p": {"normal": "left"}, "q": {"normal": "left"}},
}
"""Two roads to two roads over one line. Signals must hold trains on the first two: each with an arm
for either of the others, or with one arm for the line. In that case a third signal at the end of
the line has the two arms."""


def a_store(*, sold: bool = True, **owned: int) -> Store:
    """A post costs 3, a bracket of two dolls 9, an arm 2, and postage 1."""
    serves: dict[str, Any] = {
        "post": {"as_mount": {"mounts": ["post"], "dolls": 1}},
        "bracket": {"as_mount": {"mounts": ["bracket"], "dolls": 2}},
        "arm": {"as_arm": {"kinds": ["stop"]}},
    }
    prices = {"post": "3.00", "bracket": "9.00", "arm": "2.00"}
    offers = {name: {"contains": {name: 1}, "price": price} for name, price in prices.items()}
    shops = {"gnome-lane": {"postage": "1.00", "offers": offers}} if sold else {}
    text = {
        "format": "trappoint-store/1",
        "currency": "GBP",
        "parts": {name: {**part, "owned": owned.get(name, 0)} for name, part in serves.items()},
        "shops": shops,
    }
    report = read_store(json.dumps(text), "a.store.json")
    assert report.store is not None, report.findings
    return report.store


def proposed(store: Store | None) -> Proposal:
    return propose(json.dumps(ONE_WAY), store=store)


def signals(proposal: Proposal) -> list[str]:
    return sorted(reason.track for reason in proposal.drafts[0].reasons)


def test_without_a_store_the_fewest() -> None:
    """Two brackets with four arms are six things; two posts, a bracket and four arms seven."""
    assert signals(proposed(None)) == ["left-road", "right-road"]


def test_all_bought() -> None:
    """Two brackets and four arms: 18 + 8. Two posts, a bracket, four arms: 6 + 9 + 8. And 1."""
    proposal = proposed(a_store())
    assert signals(proposal) == ["left-road", "line", "right-road"]
    assert proposal.drafts[0].cost == 2400
    assert proposal.drafts[0].least


def test_what_is_owned_turns_the_choice_round() -> None:
    """With both brackets in the drawer the arms alone are bought: 8, and 1."""
    proposal = proposed(a_store(bracket=2))
    assert signals(proposal) == ["left-road", "right-road"]
    assert proposal.drafts[0].cost == 900


def test_all_owned_costs_nothing() -> None:
    proposal = proposed(a_store(sold=False, bracket=1, post=2, arm=4))
    assert signals(proposal) == ["left-road", "line", "right-road"]
    assert proposal.drafts[0].cost == 0


def test_missing_parts_are_reported() -> None:
    proposal = proposed(a_store(sold=False))
    assert proposal.drafts[0].cost is None
    assert proposal.drafts[0].report.holds
    told = propose_text.render(proposal, RenderOptions())
    assert "The store lacks parts for its new signals." in told


def test_it_is_printed() -> None:
    proposal = proposed(a_store())
    told = " ".join(propose_text.render(proposal, RenderOptions()).split())
    assert "3 signals with 4 stop arms; by the piece, no choice of signals is cheaper." in told
    assert "Its new signals cost 24.00 GBP" in told
    data = json.loads(propose_json.render(proposal, RenderOptions()))
    assert data["currency"] == "GBP"
    assert data["proposals"][0]["cost"] == "24.00"
