"""Random steps, one after another: the plan stays in order, and is undone to where it began."""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING

from amount import amount
from trappoint.laying.catalogue import VERBS, offers
from trappoint.laying.history import History
from trappoint.laying.order import faults
from trappoint.laying.refusing import Refused
from trappoint.model.building import build_layout
from trappoint.tidying.tidy import tidy_content

from .examples import EXAMPLES, places

if TYPE_CHECKING:
    from trappoint.laying.offering import Ask, Offer

NAMES = ("kelpie-quay", "pixie-ring", "boggart-bridge", "selkie-harbour")
BEGINNINGS = [
    None,
    *((EXAMPLES / f"{name}.layout.json").read_text("utf-8") for name in NAMES),
]
STEPS = 8


def test_random_steps_keep_a_plan_in_order_and_are_undone() -> None:
    done: set[str] = set()
    for seed in range(amount(40, long=10_000)):
        chosen = random.Random(seed)
        history = History(chosen.choice(BEGINNINGS))
        texts = [history.text]
        while len(texts) <= STEPS:
            verb = _one_step(history, chosen)
            if verb is not None:
                done.add(verb)
                texts.append(history.text)
                assert history.text is not None
                _is_in_order(history.text)
        for text in reversed(texts[:-1]):
            assert history.undo() == text
        for text in texts[1:]:
            assert history.redo() == text
    assert len(done) > len(VERBS) // 2


def _one_step(history: History, chosen: random.Random) -> str | None:
    """Press a random offer at a random place; return its verb, None if the answers are refused."""
    data = json.loads(history.text or '{"tracks": {}}')
    layout = build_layout(data)
    found: list[Offer] = []
    while not found:
        found = offers(layout, chosen.choice(list(places(layout))))
    verb = chosen.choice(sorted({str(offer.step["do"]) for offer in found}))
    offer = chosen.choice([each for each in found if each.step["do"] == verb])
    answers: dict[str, object] = {}
    if chosen.random() < 0.5:
        answers = {ask.key: _answer(ask, chosen) for ask in offer.asks}
    before = history.text
    try:
        history.do([offer.pressed(**answers)])
    except Refused as refused:
        assert answers, (offer, refused.message)  # The defaults always work.
        assert refused.message
        assert refused.fix
        assert history.text == before
        return None
    return verb


def _answer(ask: Ask, chosen: random.Random) -> object:
    if ask.kind == "choice":
        return chosen.choice(ask.choices)[0]
    if ask.kind == "number":
        return chosen.choice([ask.value, 3, 50, 333.3, 1450])
    return chosen.random() < 0.5 if ask.kind == "yes" else ask.value


def _is_in_order(text: str) -> None:
    assert tidy_content(text) == text
    assert not faults(json.loads(text))
