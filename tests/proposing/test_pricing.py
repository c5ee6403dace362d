"""Proposals by cost: the club's own parts are free, and the cheapest proposal comes first."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from trappoint.cli import main
from trappoint.core.terminal import RenderOptions
from trappoint.parts.store import Store
from trappoint.parts.store_reading import read_store
from trappoint.proposing.proposal import Draft, Proposal, propose
from trappoint.reporting import propose_json, propose_text
from trappoint.reporting.propose_parts import passed_over

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


def store_data(*, sold: bool = True, **owned: int) -> dict[str, Any]:
    """A post costs 3, a bracket of two dolls 9, an arm 2, and postage 1."""
    serves: dict[str, Any] = {
        "post": {"as_mount": {"mounts": ["post"], "dolls": 1}},
        "bracket": {"as_mount": {"mounts": ["bracket"], "dolls": 2}},
        "arm": {"as_arm": {"kinds": ["stop"]}},
    }
    prices = {"post": "3.00", "bracket": "9.00", "arm": "2.00"}
    offers = {name: {"contains": {name: 1}, "price": price} for name, price in prices.items()}
    shops = {"gnome-lane": {"postage": "1.00", "offers": offers}} if sold else {}
    return {
        "format": "trappoint-store/1",
        "currency": "GBP",
        "parts": {name: {**part, "owned": owned.get(name, 0)} for name, part in serves.items()},
        "shops": shops,
    }


def a_store(*, sold: bool = True, **owned: int) -> Store:
    report = read_store(json.dumps(store_data(sold=sold, **owned)), "a.store.json")
    assert report.store is not None, report.findings
    return report.store


def proposed(store: Store | None) -> Proposal:
    return propose(json.dumps(ONE_WAY), store=store)


def signals_of(draft: Draft) -> list[str]:
    return sorted(reason.track for reason in draft.reasons)


def signals(proposal: Proposal) -> list[str]:
    return signals_of(proposal.drafts[0])


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


def test_only_what_can_be_had_is_proposed() -> None:
    """With one bracket: the three signals, not the two brackets that are the fewest."""
    store = a_store(sold=False, post=2, arm=4, bracket=1)
    proposal = propose(json.dumps(ONE_WAY), store=store, count=3)
    assert [signals_of(draft) for draft in proposal.drafts] == [["left-road", "line", "right-road"]]
    assert all(draft.cost is None for draft in proposal.passed_over)


def test_what_is_short_and_that_nothing_cures_it() -> None:
    store = a_store(sold=False, post=2, arm=3)
    proposal = propose(json.dumps(ONE_WAY), store=store, count=2)
    assert proposal.drafts == () and len(proposal.passed_over) == 2
    missing = [
        sum(count for _, count in draft.parts.plan.short)
        for draft in proposal.passed_over
        if draft.parts
    ]
    assert missing == sorted(missing) and missing[0] == 2
    told = passed_over(proposal, store)
    assert told[0] == (
        "Not to be had: 3 signals with 4 arms. The store lacks 1 x stop arm, upper-quadrant; 1 x "
        "bracket of 2 dolls, upper-quadrant. No purchase cures that: no shop sells stop arm, "
        "upper-quadrant and bracket of 2 dolls, upper-quadrant, and no recipe makes them."
    )


def test_the_least_purchase_that_cures_it() -> None:
    proposal = proposed(a_store(bracket=1, post=1, arm=4))
    told = " ".join(propose_text.render(proposal, RenderOptions()).split())
    assert "Its new signals cost 4.00 GBP, the least of these proposals." in told
    assert "The drawer is short of 1 x post, upper-quadrant." in told
    assert "The least purchase: from gnome-lane, 1 x post, GBP 4.00 with postage." in told
    data = json.loads(propose_json.render(proposal, RenderOptions()))
    (order,) = data["proposals"][0]["buy"]
    assert order["total"] == "4.00" and data["proposals"][0]["short_at_home"][0]["by"] == 1


def test_ready_made_signals_turn_the_choice_round() -> None:
    """Two ready-made homes and a bracket: the three signals cost nothing."""
    home = {"mount": "post", "form": "upper-quadrant", "dolls": [["stop"]]}
    data = store_data(bracket=1, arm=2)
    data["parts"]["home"] = {"owned": 2, "as_signal": home}
    report = read_store(json.dumps(data), "a.store.json")
    assert report.store is not None
    proposal = proposed(report.store)
    assert signals(proposal) == ["left-road", "line", "right-road"]
    assert proposal.drafts[0].cost == 0
    assert proposal.drafts[0].parts is not None
    scheme = proposal.drafts[0].parts.plan.scheme
    assert scheme is not None and sorted(scheme.ready.values()) == ["home", "home"]


def test_the_command_says_that_none_can_be_had(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan, store = tmp_path / "a.layout.json", tmp_path / "a.store.json"
    plan.write_text(json.dumps(ONE_WAY), "utf-8")
    store.write_text(json.dumps(store_data(sold=False)), "utf-8")
    assert main(["propose", str(plan), "--store", str(store), "--best", "1"]) == 1
    said = capsys.readouterr()
    assert said.out == "" and "no proposal can be had from this store." in said.err
    assert "No purchase cures that" in said.err


def test_it_is_printed() -> None:
    proposal = proposed(a_store())
    told = " ".join(propose_text.render(proposal, RenderOptions()).split())
    assert "3 signals with 4 arms; by the piece, no choice of signals is cheaper." in told
    assert "Its new signals cost 24.00 GBP" in told
    data = json.loads(propose_json.render(proposal, RenderOptions()))
    assert data["currency"] == "GBP"
    assert data["proposals"][0]["cost"] == "24.00"
