"""Steps, refusals, undo, and what a step leaves alone."""

from __future__ import annotations

import difflib
import json

import pytest

from trappoint.laying.catalogue import VERBS, offers
from trappoint.laying.history import History
from trappoint.laying.order import RULES, faults
from trappoint.laying.refusing import Refused
from trappoint.laying.steps import lay
from trappoint.tidying.tidy import tidy_content

from .examples import EXAMPLES, IN_ORDER, layout_of

KELPIE = (EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8")


def test_without_steps_the_text_stays() -> None:
    untidy = KELPIE.replace("  ", "\t")
    assert lay(untidy, []) == (untidy, (), ())


def test_beginning_with_nothing() -> None:
    laid = lay(None, [{"do": "lay-line", "up": "edge:west", "down": "buffer", "name": "Main line"}])
    assert json.loads(laid.text) == {
        "format": "trappoint-layout/1",
        "tracks": {"main-line": {"up": "edge:west", "down": "buffer"}},
    }
    assert laid.said == ("Line main-line leads from edge west to a buffer.",)
    assert laid.touched == ("tracks/main-line",)


REFUSALS = [
    (3, "A step is an object", "under `do`"),
    ({}, "The step has no verb.", "Write the verb"),
    ({"do": "lay-lin"}, 'There is no verb "lay-lin".', "Write lay-line if"),
    ({"do": "lay-line", "nmae": "x"}, 'no measure "nmae"', "Write name if"),
    ({"do": "put-in-points"}, "does not say track", "Add `track`: the id of a track."),
    ({"do": "put-in-points", "track": "mian"}, 'no track "mian"', "Write main if"),
    ({"do": "put-in-points", "track": ["main"]}, "is a list", "the id of a track"),
    ({"do": "put-in-points", "track": "main", "hand": "lft"}, 'the text "lft"', "Give left."),
    ({"do": "put-in-points", "track": "main", "at_mm": 1450}, "not between", "less than 1450"),
    ({"do": "put-in-points", "track": "main", "at_mm": True}, "is true", "a distance in mm"),
    ({"do": "put-in-points", "track": "main", "at": "beyond 1"}, "not on main", "Name a signal"),
    ({"do": "put-in-points", "track": "main", "points": "p1"}, "called p1 already", "another id"),
    ({"do": "lay-line", "length_mm": "900"}, 'the text "900"', "Give a length in mm"),
    ({"do": "lay-line", "length_mm": 0}, "the number 0", "from 0.001"),
    ({"do": "lay-line", "length_mm": 10**400}, "the number 1000", "from 0.001"),
    ({"do": "lay-line", "up": "edge:town"}, "an edge town already", "another name"),
    ({"do": "lay-line", "up": "edge:a", "down": "edge:a"}, "Both ends", "its own name"),
]


@pytest.mark.parametrize(("step", "message", "fix"), REFUSALS)
def test_a_wrong_step_is_refused_in_words(step: object, message: str, fix: str) -> None:
    good = {"do": "lay-line"}
    with pytest.raises(Refused) as refused:
        lay(KELPIE, [good, step])  # type: ignore[list-item]  # wrong on purpose
    assert refused.value.step == 1
    assert message in refused.value.message
    assert fix in refused.value.fix


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "Line 1"),
        ('{"format": "trappoint-layout/1"}', "Line 1"),
        ('{"format": "trappoint-layout/1", "tracks": {"t": {"up": 3, "down": "buffer"}}}', "up"),
    ],
)
def test_a_text_that_is_no_plan_is_refused(text: str, message: str) -> None:
    with pytest.raises(Refused) as refused:
        lay(text, [{"do": "lay-line"}])
    assert "The text is no plan yet." in refused.value.message
    assert message in refused.value.message


def test_undo_and_redo_give_the_same_bytes() -> None:
    history = History(KELPIE)
    texts: list[str | None] = [KELPIE]
    for step in ({"do": "lay-line"}, {"do": "put-in-points", "track": "main"}):
        texts.append(history.do([step]).text)
    assert (history.can_undo, history.can_redo) == (True, False)
    assert [history.undo(), history.undo(), history.undo()] == [texts[1], texts[0], texts[0]]
    assert [history.redo(), history.redo(), history.redo()] == [texts[1], texts[2], texts[2]]
    history.undo()
    history.do([{"do": "call-plan", "title": "Another quay"}])
    assert not history.can_redo


def test_the_rules_that_a_plan_in_order_keeps() -> None:
    assert [rule.id for rule in RULES] == [
        "too-large",
        "unknown-reference",
        "unmet-leg",
        "leg-met-twice",
        "open-joint",
        "in-two-yards",
        "signal-off-its-track",
        "signals-on-one-spot",
        "yard-exits-overlap",
        "arm-id-twice",
        "no-such-lie",
        "angle-and-curves",
    ]
    broken = json.loads(KELPIE)
    broken["signals"]["2"]["track"] = "mian"
    assert [finding.rule for finding in faults(broken)] == ["unknown-reference"]
    assert faults({"format": "trappoint-layout/1"})
    assert not faults(json.loads(KELPIE))


def test_a_plan_that_is_not_in_order_can_be_worked_on() -> None:
    broken = tidy_content(
        KELPIE.replace('"track": "main", "for": "up"', '"track": "x", "for": "up"')
    )
    assert isinstance(broken, str)
    laid = lay(broken, [{"do": "put-in-points", "track": "siding"}])
    assert [finding.rule for finding in faults(json.loads(laid.text))] == ["unknown-reference"]


def test_lines_of_the_text_that_no_step_concerns_stay() -> None:
    for path in IN_ORDER:
        text = path.read_text("utf-8")
        laid = lay(text, [{"do": "lay-line"}]).text
        lines = [[line.removesuffix(",") for line in each.splitlines()] for each in (text, laid)]
        changed = [line for line in difflib.ndiff(*lines) if line[0] in "+-"]
        bare = '-   "tracks": {}' in changed  # An empty map becomes one of several lines.
        assert len(changed) == (4 if bare else 1), path
        assert [line for line in changed if line.startswith('+     "line')], path


def test_line_ends_and_empty_lines_stay() -> None:
    text = (EXAMPLES / "boggart-bridge.layout.json").read_text("utf-8")
    laid = lay(text.replace("\n", "\r\n"), [{"do": "put-in-points", "track": "refuge"}]).text
    assert laid.count("\r\n") == laid.count("\n")
    assert laid.replace("\r\n", "\n").count("\n\n") == text.count("\n\n")
    less = lay(text, [{"do": "take-out-track", "track": "refuge"}]).text
    # All three tracks between two empty lines are gone: one of the lines is enough.
    assert less.count("\n\n") == text.count("\n\n") - 1
    assert json.loads(less)["worked_together"] == [["c1", "c2"], ["l2", "t2"]]


def test_what_names_a_platform_goes_with_it() -> None:
    plan = json.loads(KELPIE)
    plan["trains"] = {"local": {}}
    plan["sessions"] = {"day": {"moves": [{"train": "local", "from": "edge:town", "to": "A"}]}}
    plan["signals"]["1"]["arms"][1]["to"] = "A"
    plan["signals"]["1"]["duties"] = ["home platform A", "junction p1"]
    laid = lay(json.dumps(plan), [{"do": "take-out-track", "track": "main"}])
    after = json.loads(laid.text)
    assert list(after["platforms"]) == ["B"]
    assert after["sessions"]["day"]["moves"] == []
    assert [arm["id"] for arm in after["signals"]["1"]["arms"]] == ["1L"]
    assert "duties" not in after["signals"]["1"]
    assert "platform A" in laid.said[0]


def test_places_that_are_not_there_have_no_offers() -> None:
    layout = layout_of(KELPIE)
    assert offers(layout, "tracks/main")
    for place in ("", "tracks", "tracks/x", "tracks/main/left", "points/p1/up", "boards/x", "x/y"):
        assert offers(layout, place) == []


def test_each_measure_of_each_verb_is_a_parameter() -> None:
    import inspect
    import keyword

    for verb in VERBS.values():
        keys = [f"{key}_" if keyword.iskeyword(key) else key for key in verb.measures]
        named = list(inspect.signature(verb.act).parameters)
        if named[-1] == "options":
            # A shape takes what its list of options says; tests/shapes tests that.
            keys, named = keys[: len(named) - 2], named[:-1]
        assert named in (["draft", *keys], ["draft", "measures"]), verb.name
        assert verb.told.endswith(".")
