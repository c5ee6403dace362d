"""Cases worked by hand, with their sums."""

from __future__ import annotations

import json
from typing import Any

import pytest

from parts.random_stores import needs_of
from trappoint.parts.planning import PartsPlan, Scheme, plan_parts
from trappoint.parts.store_reading import read_store

pytest.importorskip("highspy")

POST, ARM = "mount:post", "arm:stop"


def solve(things: list[tuple[str, str, str, int]], at_most: int | None = None, **store: Any) -> Any:
    whole = {"format": "trappoint-store/1", "currency": "GBP", **store}
    report = read_store(json.dumps(whole), "case")
    assert report.store is not None, report.findings
    return plan_parts(report.store, needs_of(things), at_most=at_most)


def scheme_of(answer: PartsPlan) -> Scheme:
    assert answer.scheme is not None
    return answer.scheme


def bought(answer: PartsPlan) -> dict[str, int]:
    return {
        f"{order.shop.id}/{offer.id}": count
        for order in scheme_of(answer).orders
        for offer, count in order.packs
    }


def made(answer: PartsPlan) -> list[tuple[str, int]]:
    return [(step.recipe.id, step.times) for step in scheme_of(answer).steps]


def posts(count: int) -> list[tuple[str, str, str, int]]:
    return [(str(number), POST, "upper-quadrant", 1) for number in range(count)]


PARTS: dict[str, Any] = {
    "post": {"as_mount": {"mounts": ["post"]}},
    "doll": {"owned": 0},
    "bracket": {"owned": 2},
}
SPLIT = {"split": {"uses": {"bracket": 1}, "yields": {"post": 1, "doll": 1}, "minutes": 20}}
STAND = {"stand": {"uses": {"doll": 1}, "yields": {"post": 1}, "minutes": 15}}


def shop(price: str, pack: int = 1, **more: Any) -> dict[str, Any]:
    return {"offers": {"p": {"contains": {"post": pack}, "price": price}}, **more}


def test_converting_beats_buying() -> None:
    """Four posts: two brackets give two posts and two dolls, the dolls two posts more.

    Bought: 4 x 3.00 = 12.00. Made: nothing, and 2 x 20 + 2 x 15 = 70 minutes.
    """
    answer = solve(posts(4), parts=PARTS, recipes=SPLIT | STAND, shops={"s": shop("3.00")})
    assert (scheme_of(answer).totals, scheme_of(answer).minutes) == ({}, 70)
    assert made(answer) == [("split", 2), ("stand", 2)]
    assert scheme_of(answer).left_over == {}


def test_of_what_costs_the_same_the_least_work() -> None:
    """Three posts. Split 2, stand 1: 55 minutes. Nothing less will do, and one doll is left."""
    answer = solve(posts(3), parts=PARTS, recipes=SPLIT | STAND)
    assert (made(answer), scheme_of(answer).minutes) == ([("split", 2), ("stand", 1)], 55)
    assert scheme_of(answer).left_over == {"doll": 1}


def test_postage_turns_the_choice_round() -> None:
    """Three posts. near: 3 x 2.40 = 7.20. far: 3 x 2.00 = 6.00, but 2.50 to send them: 8.50.

    Of eight: near 19.20; far 16.00 + 2.50 = 18.50.
    """
    for count, choice, total in ((3, "near/p", 720), (8, "far/p", 1850)):
        parts = {"post": PARTS["post"]}
        shops = {"near": shop("2.40"), "far": shop("2.00", postage="2.50")}
        answer = solve(posts(count), parts=parts, shops=shops)
        assert bought(answer) == {choice: count}
        assert scheme_of(answer).totals == {"GBP": total}


def test_one_more_than_needed_is_cheaper_where_it_frees_the_postage() -> None:
    """Four posts at 2.00: 8.00 + 2.50 = 10.50. Five: 10.00, sent free."""
    shops = {"far": shop("2.00", postage="2.50", free_from="10.00")}
    answer = solve(posts(4), parts={"post": PARTS["post"]}, shops=shops)
    assert (bought(answer), scheme_of(answer).totals) == ({"far/p": 5}, {"GBP": 1000})
    assert scheme_of(answer).left_over == {"post": 1}


def test_packs() -> None:
    """Seven posts: a ten for 11.00, or a five for 6.00 and two for 2.00 each: 10.00."""
    offers: dict[str, Any] = {
        "ten": {"contains": {"post": 10}, "price": "11.00"},
        "five": {"contains": {"post": 5}, "price": "6.00"},
        "one": {"contains": {"post": 1}, "price": "2.00"},
    }
    parts = {"post": PARTS["post"]}
    answer = solve(posts(7), parts=parts, shops={"s": {"offers": offers}})
    assert bought(answer) == {"s/five": 1, "s/one": 2}
    offers["one"]["stock"] = 1
    assert bought(solve(posts(7), parts=parts, shops={"s": {"offers": offers}})) == {"s/ten": 1}


def test_currencies_with_a_rate_are_compared_and_without_are_kept_apart() -> None:
    """Two posts: 2 x 3.00 GBP, or 2 x 3.20 EUR = 5.504 GBP at 0.86, which is 5.50 rounded."""
    parts = {"post": PARTS["post"]}
    shops = {"home": shop("3.00"), "abroad": shop("3.20", currency="EUR")}
    answer = solve(posts(2), parts=parts, shops=shops, rates={"EUR": "0.86"})
    assert bought(answer) == {"abroad/p": 2}
    assert scheme_of(answer).totals == {"EUR": 640}
    assert scheme_of(answer).counted == 640 * 8600
    assert bought(solve(posts(2), parts=parts, shops=shops)) == {"home/p": 2}
    # What costs 5.504 is not to be had for 5.50, but for 5.51.
    poor = solve(posts(2), 550, parts=parts, shops=shops, rates={"EUR": "0.86"})
    assert (poor.scheme, poor.least_money) == (None, 551)


def test_a_circle_does_not_live_on_what_it_makes() -> None:
    """rust gives paint and a post out of paint, and there is no paint: none can ever be made.

    Counted at the end alone, it would add up: 1 used, 1 made.
    """
    parts = {"post": PARTS["post"], "paint": {}, "thinner": {}}
    recipes = {
        "thin": {"uses": {"paint": 1}, "yields": {"thinner": 1}},
        "brew": {"uses": {"thinner": 1}, "yields": {"paint": 1, "post": 1}},
    }
    answer = solve(posts(1), parts=parts, recipes=recipes)
    assert answer.scheme is None
    assert [count for _, count in answer.short] == [1]
    # One tin of either starts it, and then there is no end; three posts are three rounds.
    shops = {"s": {"offers": {"tin": {"contains": {"thinner": 1}, "price": "1.00"}}}}
    answer = solve(posts(3), parts=parts, recipes=recipes, shops=shops)
    assert scheme_of(answer).totals == {"GBP": 100}
    assert made(answer) == [
        ("brew", 1), ("thin", 1), ("brew", 1), ("thin", 1), ("brew", 1)
    ]  # fmt: skip


def test_a_circle_that_needs_two_at_once() -> None:
    """press needs two plates at hand and gives a third: of one plate nothing comes."""
    parts = {"post": {**PARTS["post"]}, "plate": {"owned": 1}}
    recipes = {
        "press": {"uses": {"plate": 2}, "yields": {"plate": 3}},
        "bend": {"uses": {"plate": 1}, "yields": {"post": 1}},
    }
    answer = solve(posts(3), parts=parts, recipes=recipes)
    assert answer.scheme is None
    assert [count for _, count in answer.short] == [2]
    shops = {"s": {"offers": {"plate": {"contains": {"plate": 1}, "price": "1.00"}}}}
    answer = solve(posts(3), parts=parts, recipes=recipes, shops=shops)
    assert scheme_of(answer).totals == {"GBP": 100}
    assert scheme_of(answer).proven


def test_what_is_short_and_what_would_help() -> None:
    """Two posts and an arm are needed, there is one post; signal 1 must go."""
    parts = {
        "post": {"owned": 1, **PARTS["post"]},
        "arm": {"as_arm": {"kinds": ["stop"]}, "owned": 1},
    }
    things = [*posts(2), ("0", ARM, "disc", 0)]
    answer = solve(things, parts=parts)
    assert answer.scheme is None
    assert [(want.word, count) for want, count in answer.short] == [("post", 1)]
    assert len(answer.drop) == 1
    assert answer.rest is not None


def test_money_that_does_not_reach() -> None:
    """Three posts cost 9.00; for 7.00 there are two, without one signal."""
    parts = {"post": PARTS["post"]}
    answer = solve(posts(3), 700, parts=parts, shops={"s": shop("3.00")})
    assert (answer.scheme, answer.least_money, answer.short) == (None, 900, ())
    assert len(answer.drop) == 1
    assert answer.rest is not None
    assert answer.rest.totals == {"GBP": 600}
    assert scheme_of(solve(posts(3), 900, parts=parts, shops={"s": shop("3.00")})).totals == {
        "GBP": 900
    }


def test_nothing_needed_and_nothing_there() -> None:
    assert scheme_of(solve([], parts={})).totals == {}
    answer = solve(posts(1), parts={})
    assert answer.scheme is None
    assert [count for _, count in answer.short] == [1]
