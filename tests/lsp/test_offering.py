"""Completions, tested against the check."""

from __future__ import annotations

import json

import pytest

from amount import amount
from lsp.plans import EXAMPLES, FULL, KELPIE, checked, data, some, with_cursor
from trappoint.checking.check import check_content
from trappoint.lsp.completion import CompletionOffer, offers
from trappoint.lsp.document_state import CheckedText
from trappoint.lsp.names import LiveText
from trappoint.lsp.schema_lookup import form_at, words_of
from trappoint.schema.validation import layout_acceptor

KNOWN = checked(KELPIE)


def words(old: str, new: str, text: str = KELPIE, known: CheckedText = KNOWN) -> list[str]:
    sketch, offset = with_cursor(text, old, new)
    return [offer.choice.text for offer in offers(sketch, offset, known, LiveText(text))]


def written(sketch: LiveText, offer: CompletionOffer) -> str:
    return sketch.text[: offer.start] + offer.written + sketch.text[offer.end :]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_free_ends_are_those_that_the_check_lets_stand(name: str) -> None:
    """Try every leg at every end: it is offered if the check has no finding there."""
    text = EXAMPLES[name]
    plan = data(text)
    ends = [(track, end) for track in plan["tracks"] for end in ("up", "down")]
    legs = {plan["tracks"][t][end] for t, end in ends if "." in plan["tracks"][t][end]}
    assert len(legs) > 8
    legs = set(some(sorted(legs), amount(8, long=20))) | {
        plan["tracks"][t][end] for t, end in some(ends, 6)
    }
    legs = {leg for leg in legs if "." in leg}
    for track, end in some(ends, 6):
        said = plan["tracks"][track][end]
        sketch = LiveText(text)
        node = sketch.root.get("tracks")
        node = node and node.get(track)
        node = node and node.get(end)
        assert node is not None
        found = offers(sketch, node.start + 1, CheckedText())
        free = {offer.choice.text for offer in found if "." in offer.choice.text}
        for leg in legs:
            changed = json.loads(text)
            changed["tracks"][track][end] = leg
            told = {
                finding.rule
                for finding in check_content(json.dumps(changed), "plan").findings
                if finding.pointer == f"/tracks/{track}/{end}"
                or f"already meets {leg}." in finding.message
            }
            assert (leg in free) is ("leg-met-twice" not in told), (leg, said)
        for offer in found:
            if offer.choice.text == said:
                assert data(written(sketch, offer)) == plan


def test_what_is_offered_for_a_word_is_what_the_schema_takes() -> None:
    sketch = LiveText(FULL)
    accepts = layout_acceptor()
    count = 0
    for path in (
        ("tracks", "loop", "running"),
        ("points", "p1", "normal"),
        ("signals", "1", "mount"),
        ("signals", "1", "form"),
        ("signals", "1", "for"),
        ("standard",),
    ):
        node = sketch.root
        for part in path:
            found = node.get(part)
            if found is None:
                break
            node = found
        else:
            got = offers(sketch, node.start + 1, CheckedText())
            assert [offer.choice.text for offer in got] == words_of(form_at(path))
            for offer in got:
                assert accepts(data(written(sketch, offer)))
                count += 1
    assert count > 8


TO = '"to": "loop-west"'


def test_the_roads_of_the_signal_come_first() -> None:
    assert words(TO, '"to": "|"')[:2] == ["loop-west", "main"]
    assert {"siding", "A", "B"} <= set(words(TO, '"to": "|"'))


def test_a_list_has_nothing_twice() -> None:
    assert "main" not in words('"tracks": ["main"]', '"tracks": ["main", "|"]')
    assert "main" in words('"tracks": ["main"]', '"tracks": ["|"]')


def test_arms() -> None:
    assert words(TO, '"under": "|"') == ["1R"]
    assert "1L" not in words(TO, '"never_with": ["|"]')
    assert {"1R", "7R"} <= set(words(TO, '"never_with": ["|"]'))
    distant = '"repeats": "|", "kind": "distant"'
    assert {"1R", "7R"} <= set(words(TO, distant))


def test_lies() -> None:
    assert words(TO, '"expects": {"|"}') == ["p1", "p2", "p3"]
    assert words(TO, '"expects": {"p2": "right", "|"}') == ["p1", "p3"]
    assert words(TO, '"expects": {"p1": "|"}') == ["normal", "reverse", "left", "right"]
    crossings = '"worked_together": [["|"]], "crossings": {"x": {"kind": "KIND"}}, "title"'
    assert "x" in words('"title"', crossings.replace("KIND", "single-slip"))
    assert "x" not in words('"title"', crossings.replace("KIND", "diamond"))
    assert "middle" not in words(TO, '"expects": {"p1": "|"}')


def test_keys_are_those_that_are_not_there_yet() -> None:
    found = words(TO, f'{TO}, "|"')
    assert "expects" in found
    assert not {"id", "to"} & set(found)
    assert words(TO, '"|": "loop-west"')[0] == "kind"


@pytest.mark.parametrize(
    ("typed", "choice", "after"),
    [
        ('"to": |', "main", '"to": "main"'),
        ('"to": "|"', "main", '"to": "main"'),
        ('"to": "ma|"', "main", '"to": "main"'),
        ('"to": "m|n"', "main", '"to": "main"'),
        ('"to": "m|', "main", '"to": "main"'),
        ('"to": m|', "main", '"to": "main"'),
        ('"to": ["|', "main", '"to": ["main"'),
        ('"|"', "to", '"to": '),
        ('"t|": "main"', "to", '"to": "main"'),
        ('"kind": "stop", |', "to", '"kind": "stop", "to": '),
        ('"kind": "stop" |', "to", '"kind": "stop" , "to": '),
    ],
)
def test_what_is_written(typed: str, choice: str, after: str) -> None:
    sketch, offset = with_cursor(KELPIE, TO, typed)
    found = next(o for o in offers(sketch, offset, KNOWN) if o.choice.text == choice)
    assert written(sketch, found) == KELPIE.replace(TO, after, 1)


def test_a_text_without_its_closing_bracket_still_knows_the_ids_of_before() -> None:
    cut = KELPIE[: KELPIE.index('"loop-east"')]
    sketch = LiveText(
        f'{cut}"new": {{"up": "joint:x", "down":\n  "signals": {{\n    "1": {{"track": "'
    )
    found = offers(sketch, len(sketch.text), KNOWN, LiveText(KELPIE))
    assert {"main", "siding"} <= {offer.choice.text for offer in found}


def test_joints_and_scenes_and_trains() -> None:
    text = KELPIE.replace('"down": "buffer"', '"down": "joint:quay"')
    assert "joint:quay" in words('"p1.toe"', '"|"', text)
    assert "joint:quay" not in words('"joint:quay"', '"|"', text)  # it would be its own other end
    scene = '"trains": {"t": {}}, "scenes": {"s": {"trains": {"main": |}}}, "title"'
    assert words('"title"', scene) == ["t", "true"]
    on = '"scenes": {"s": {"trains": {"|": true}}}, "title"'
    assert "main" in words('"title"', on)
    assert "A" not in words('"title"', on)


def test_accepted_findings() -> None:
    bad = "".join(line for line in KELPIE.splitlines(True) if '"6": {' not in line)
    known = checked(bad)
    rules = words('"title"', '"accept": [{"rule": "|"}], "title"', bad, known)
    assert rules[0] == "unheld-exit"
    assert len(rules) > 50
    at = '"accept": [{"rule": "unheld-exit", "at": "|"}], "title"'
    assert words('"title"', at, bad, known)[0] == "/tracks/siding/up"


def test_duties_are_those_that_follow_from_the_track() -> None:
    found = words('"for": "down", "mount"', '"duties": ["|"], "for": "down", "mount"')
    assert found == list(KNOWN.duties("1"))
    assert found


def test_nothing_is_raised_anywhere() -> None:
    for text in (FULL, KELPIE):
        sketch = LiveText(text)
        for offset in range(0, len(text), amount(23, long=5)):
            offers(sketch, offset, CheckedText())
            offers(LiveText(text[:offset]), offset, KNOWN, sketch)


def test_the_names_of_edges_are_offered_where_something_is_said_about_them() -> None:
    new = '"edges": {"|"},\n  "points": {'
    assert {"town", "quarry"} <= set(words('"points": {', new))
    assert "held" in words('"points": {', '"edges": {"town": {"|"}},\n  "points": {')
