"""Each offer of each place of each example can be pressed, and leaves the plan in order."""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING

import pytest

from amount import amount
from trappoint.laying.catalogue import VERBS, offers
from trappoint.laying.order import faults
from trappoint.laying.steps import lay
from trappoint.model.building import build_layout
from trappoint.tidying.tidy import tidy_content

from .examples import EXAMPLES, IN_ORDER, layout_of, places

if TYPE_CHECKING:
    from pathlib import Path

    from trappoint.laying.offering import Offer


@pytest.mark.parametrize("path", IN_ORDER, ids=lambda path: path.stem)
def test_each_offer_of_each_place_can_be_pressed(path: Path) -> None:
    text = path.read_text("utf-8")
    layout = layout_of(text, path)
    everywhere = [(place, offer) for place in places(layout) for offer in offers(layout, place)]
    assert everywhere
    chosen = random.Random(path.stem)
    sample = min(len(everywhere), amount(12, long=len(everywhere)))
    for place, offer in chosen.sample(everywhere, sample):
        laid = lay(text, [offer.pressed()])
        assert laid.text == tidy_content(laid.text), (place, offer)
        assert not faults(json.loads(laid.text)), (place, offer)
        assert laid.said[0].endswith("."), (place, offer)
        after = build_layout(json.loads(laid.text))
        assert set(laid.touched) <= set(places(after)), (place, offer)


def test_questions_have_defaults_of_their_kinds() -> None:
    for path in IN_ORDER:
        layout = build_layout(json.loads(path.read_text("utf-8")))
        for place in places(layout):
            for offer in offers(layout, place):
                _is_sound(offer)


def _is_sound(offer: Offer) -> None:
    verb = VERBS[str(offer.step["do"])]
    asked = [ask.key for ask in offer.asks]
    assert len(asked) == len(set(asked))
    assert {*asked, *offer.step} - {"do"} <= set(verb.measures)
    assert set(verb.needed) <= {*asked, *offer.step}
    for ask in offer.asks:
        assert ask.optional or ask.value is not None
        if ask.kind == "choice":
            assert ask.value is None or ask.value in [value for value, _ in ask.choices]
        else:
            assert not ask.choices
    assert offer.label[0].isupper()
    assert len(offer.label) <= 50


def test_what_is_most_common_comes_first() -> None:
    layout = layout_of((EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8"))
    labels = [offer.label for offer in offers(layout, "tracks/main")]
    track = ("Lay a loop here", "Lay a siding here", "Put in points", "Cross over to ...")
    assert [label for label in labels if label in track] == list(track)
    assert labels[-1] == "Take the track out, and close up"
