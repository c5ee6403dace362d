"""Every kind of mistake against the schema has a plain message at the right place."""

from __future__ import annotations

import copy
import json
import time
from typing import Any

import pytest

from schema.test_layout_schema import EVERYTHING
from trappoint.core.quoting import described, listed, number, quoted
from trappoint.core.resources import read_resource
from trappoint.schema.validation import schema_findings
from trappoint.source.limits import MAX_FINDINGS
from trappoint.source.positions import place_findings
from trappoint.source.reading import Document, read_document

GONE = object()
KELPIE_QUAY = json.loads(read_resource("kelpie-quay.layout.json"))
END_FORMS = (
    "A track end is buffer, edge:NAME (the track leaves the plan), joint:NAME (two track ends "
    "meet), POINTS.toe, .left, .right or .middle, CROSSING.a1, .a2, .b1 or .b2, or TURNTABLE.ROAD."
)


def _with(path: str, value: object) -> Any:
    plan = copy.deepcopy(KELPIE_QUAY)
    *above, last = path.split("/")
    box = plan
    for part in above:
        if isinstance(box, dict) and part not in box:
            box[part] = {}
        box = box[int(part)] if isinstance(box, list) else box[part]
    if value is GONE:
        del box[last]
    elif isinstance(box, list):
        box[int(last)] = value
    else:
        box[last] = value
    return plan


# Changed place in Kelpie Quay: new value, rule, pointer, message, fix.
CASES: dict[str, tuple[object, str, str, str, str]] = {
    "tracks/main/length_mm": (
        "900",
        "wrong-type",
        "/tracks/main/length_mm",
        'length_mm of track main must be a number, but it is the text "900".',
        "Take the quotes away: 900.",
    ),
    "tracks/siding/length_mm": (
        "61 cm",
        "wrong-type",
        "/tracks/siding/length_mm",
        'length_mm of track siding must be a number, but it is the text "61 cm".',
        "Write 610: lengths are in millimetres.",
    ),
    "tracks/main/stand": (
        "true",
        "wrong-type",
        "/tracks/main/stand",
        'stand of track main must be true or false, but it is the text "true".',
        "Take the quotes away: true.",
    ),
    "tracks/main": (
        [],
        "wrong-type",
        "/tracks/main",
        "track main must be an object in braces, but it is an empty list.",
        "Write an object in braces.",
    ),
    "tracks": (
        None,
        "wrong-type",
        "/tracks",
        "tracks must be an object in braces, but it is null.",
        "Write an object in braces.",
    ),
    "title": (
        7,
        "wrong-type",
        "/title",
        "title must be a text in double quotes, but it is the number 7.",
        'Put it into double quotes: "7".',
    ),
    "platforms/A/tracks": (
        "main",
        "wrong-type",
        "/platforms/A/tracks",
        'tracks of platform A must be a list, but it is the text "main".',
        'Put it into square brackets: ["main"].',
    ),
    "signals/1/arms/0/to": (
        True,
        "wrong-type",
        "/signals/1/arms/0/to",
        "to of arm 1L of signal 1 must be a text in double quotes or a list, but it is true.",
        "Write a text in double quotes or a list.",
    ),
    "signals/1/arms/1/id": (
        8.0,
        "wrong-type",
        "/signals/1/arms/1/id",
        "id of arm 2 of signal 1 must be a text in double quotes, but it is the number 8.",
        'Put it into double quotes: "8".',
    ),
    "signals/1/arms/0/doll": (
        1.5,
        "wrong-type",
        "/signals/1/arms/0/doll",
        "doll of arm 1L of signal 1 must be a whole number, but it is the number 1.5.",
        "Write a whole number.",
    ),
    "format": (
        {},
        "wrong-type",
        "/format",
        "format must be a text in double quotes, but it is an object in braces.",
        "Write a text in double quotes.",
    ),
    "tracks/main/lenght_mm": (
        5,
        "unknown-key",
        "/tracks/main/lenght_mm",
        'Track main has an unknown key "lenght_mm".',
        "Perhaps length_mm is meant.",
    ),
    "points/p1/colour": (
        True,
        "unknown-key",
        "/points/p1/colour",
        'Points p1 have an unknown key "colour".',
        "Known here: normal, kind, crossing_number, measure, angle_degrees, leg_mm, toe_mm, "
        "curves, trap, lock, draw, name and note. Free text can stand in note.",
    ),
    "sigals": (
        {},
        "unknown-key",
        "/sigals",
        'The plan has an unknown key "sigals".',
        "Perhaps signals is meant.",
    ),
    "signals/4/arms/1/under the": (
        1,
        "unknown-key",
        "/signals/4/arms/1/under the",
        'Arm 4R of signal 4 has an unknown key "under the".',
        "Known here: id, kind, to, doll, under, repeats, height_mm, track, for, at_mm, expects, "
        "never_with, name and note. Free text can stand in note.",
    ),
    "tracks/main/up": (
        GONE,
        "missing-key",
        "/tracks/main",
        "Track main has no up.",
        'Add for instance "up": "buffer".',
    ),
    "points/p1/normal": (
        GONE,
        "missing-key",
        "/points/p1",
        "Points p1 have no normal.",
        'Add for instance "normal": "right".',
    ),
    "points/p2/measure": (
        "right-angle",
        "missing-key",
        "/points/p2",
        "Points p2 have no crossing_number.",
        'Add for instance "crossing_number": 8.',
    ),
    "signals/2/arms/0/id": (
        GONE,
        "missing-key",
        "/signals/2/arms/0",
        "Arm 1 of signal 2 has no id.",
        'Add for instance "id": "1".',
    ),
    "turntables/table": (
        {},
        "missing-key",
        "/turntables/table",
        "Turntable table has no roads.",
        'Add for instance "roads": ["1", "2"].',
    ),
    "signals/1/for": (
        "dwn",
        "wrong-value",
        "/signals/1/for",
        'for of signal 1 must be down or up, but it is the text "dwn".',
        "Perhaps down is meant.",
    ),
    "signals/2/mount": (
        "wall",
        "wrong-value",
        "/signals/2/mount",
        'mount of signal 2 must be post, bracket, gantry or ground, but it is the text "wall".',
        'Write "post", "bracket", "gantry" or "ground".',
    ),
    "tracks/loop-east/running": (
        2,
        "wrong-value",
        "/tracks/loop-east/running",
        "running of track loop-east must be both, down or up, but it is the number 2.",
        'Write "both", "down" or "up".',
    ),
    "signals/3/arms/0/expects": (
        {"p1": "Revers"},
        "wrong-value",
        "/signals/3/arms/0/expects/p1",
        "p1 of expects of arm 3 of signal 3 must be normal, reverse, left, right, middle, "
        'straight or slip, but it is the text "Revers".',
        "Perhaps reverse is meant.",
    ),
    "scenes/noon/trains": (
        {"main": False},
        "wrong-value",
        "/scenes/noon/trains/main",
        "main of trains of scene noon must be true or the id of a train, but it is false.",
        "Take the entry out.",
    ),
    "scenes/dusk/trains": (
        {"main": 1},
        "wrong-type",
        "/scenes/dusk/trains/main",
        "main of trains of scene dusk must be true or the id of a train, but it is the number 1.",
        'Put it into double quotes: "1".',
    ),
    "tracks/my track": (
        {"up": "buffer", "down": "buffer"},
        "bad-id",
        "/tracks/my track",
        '"my track" in tracks cannot be an id: it has a space in it.',
        'Write for instance "my-track".',
    ),
    "points/": (
        {"normal": "left"},
        "bad-id",
        "/points/",
        '"" in points cannot be an id: it is empty.',
        "Write an id.",
    ),
    "yards/-y": (
        {},
        "bad-id",
        "/yards/-y",
        '"-y" in yards cannot be an id: it begins with a hyphen.',
        'Write for instance "y".',
    ),
    "yards/_y": (
        {},
        "bad-id",
        "/yards/_y",
        '"_y" in yards cannot be an id: it begins with an underline.',
        'Write for instance "y".',
    ),
    "trains/Z\u00fcgle": (
        {},
        "bad-id",
        "/trains/Z\u00fcgle",
        '"Z\u00fcgle" in trains cannot be an id: it has the character "\u00fc" in it.',
        'Write for instance "Z-gle".',
    ),
    "boards/" + "b" * 41: (
        {"plan": "b.layout.json"},
        "bad-id",
        "/boards/" + "b" * 41,
        '"' + "b" * 41 + '" in boards cannot be an id: it has 41 characters.',
        'Write for instance "' + "b" * 40 + '".',
    ),
    "signals/2/track": (
        "main.1",
        "bad-id",
        "/signals/2/track",
        'track of signal 2 cannot be "main.1": it has a full stop in it.',
        "Write the id of a track.",
    ),
    "signals/5/track": (
        "west//main",
        "bad-id",
        "/signals/5/track",
        'track of signal 5 cannot be "west//main": it has an empty part or too many parts.',
        "Write the id of a track.",
    ),
    "signals/6/arms/0/to": (
        ["loop west"],
        "bad-id",
        "/signals/6/arms/0/to/0",
        'entry 1 of to of arm 6 of signal 6 cannot be "loop west": it has a space in it.',
        'Write "loop-west".',
    ),
    "tracks/main/down": (
        "p2:left",
        "bad-track-end",
        "/tracks/main/down",
        'down of track main is "p2:left", which is no track end.',
        'Perhaps "p2.left" is meant.',
    ),
    "tracks/siding/down": (
        "buffers",
        "bad-track-end",
        "/tracks/siding/down",
        'down of track siding is "buffers", which is no track end.',
        'Perhaps "buffer" is meant.',
    ),
    "tracks/town-line/up": (
        "edge",
        "bad-track-end",
        "/tracks/town-line/up",
        'up of track town-line is "edge", which is no track end.',
        'Give it a name, for instance "edge:west".',
    ),
    "tracks/town-line/down": (
        "p1",
        "bad-track-end",
        "/tracks/town-line/down",
        'down of track town-line is "p1", which is no track end.',
        'Say which leg or road it meets, for instance "p1.toe".',
    ),
    "tracks/quarry-line/down": (
        "egde:quarry",
        "bad-track-end",
        "/tracks/quarry-line/down",
        'down of track quarry-line is "egde:quarry", which is no track end.',
        'Perhaps "edge:quarry" is meant.',
    ),
    "tracks/loop-west/up": (
        "points p1.left",
        "bad-track-end",
        "/tracks/loop-west/up",
        'up of track loop-west is "points p1.left", which is no track end.',
        'Write "p1.left".',
    ),
    "tracks/quarry-line/up": (
        "p2 toe",
        "bad-track-end",
        "/tracks/quarry-line/up",
        'up of track quarry-line is "p2 toe", which is no track end.',
        'Write "p2.toe".',
    ),
    "signals/2/at_mm": (
        -0.5,
        "out-of-range",
        "/signals/2/at_mm",
        "at_mm of signal 2 must be 0 or more, but it is -0.5.",
        "Write a number that is 0 or more.",
    ),
    "tracks/main/radius_mm": (
        0,
        "out-of-range",
        "/tracks/main/radius_mm",
        "radius_mm of track main must be more than 0, but it is 0.",
        "Write a number that is more than 0.",
    ),
    "points/p3/curves": (
        {"left": {"hand": "left", "radius_mm": 600}},
        "missing-key",
        "/points/p3",
        "Points p3 have no leg_mm.",
        'Add for instance "leg_mm": 200.',
    ),
    "tracks/main/curve": (
        "left",
        "missing-key",
        "/tracks/main",
        "Track main has no radius_mm.",
        'Add for instance "radius_mm": 900.',
    ),
    "points/p3/angle_degrees": (
        120,
        "out-of-range",
        "/points/p3/angle_degrees",
        "angle_degrees of points p3 must be less than 90, but it is 120.",
        "Write a number that is less than 90.",
    ),
    "points/p1/angle_degrees": (
        12,
        "exclusive-keys",
        "/points/p1/angle_degrees",
        "Points p1 have both crossing_number and angle_degrees.",
        "Take one of them out.",
    ),
    "levers/4": (
        {"arms": ["2"], "points": ["p1"]},
        "exclusive-keys",
        "/levers/4/points",
        "Lever 4 has both points and arms.",
        "Take one of them out.",
    ),
    "signals/7/arms": (
        [],
        "too-few",
        "/signals/7/arms",
        "arms of signal 7 must have at least one entry, but it has none.",
        "Add what is missing, or take the whole list out.",
    ),
    "worked_together": (
        [["p1", "p2"], ["p3"]],
        "too-few",
        "/worked_together/1",
        "entry 2 of worked_together must have at least two entries, but it has only 1.",
        "Add what is missing, or take the whole list out.",
    ),
    "platforms/B/tracks": (
        ["main", "loop-west", "main"],
        "duplicate-item",
        "/platforms/B/tracks/2",
        'tracks of platform B names "main" twice.',
        "Take one of the two out.",
    ),
    "platforms/B/name": (
        "",
        "empty-text",
        "/platforms/B/name",
        "name of platform B is empty.",
        "Write it, or take the key out.",
    ),
    "levers/A1": (
        {},
        "bad-form",
        "/levers/A1",
        'levers has the key "A1", which is no lever number.',
        'For instance: "12".',
    ),
    "accept": (
        [{"rule": "Unheld exit", "at": "/signals/6"}],
        "bad-form",
        "/accept/0/rule",
        'rule of accepted finding 1 is "Unheld exit", which is no name of a rule.',
        'For instance: "unheld-exit".',
    ),
    "joins": (
        [{"a": "west:main", "b": "east.main"}],
        "bad-form",
        "/joins/0/b",
        'b of join 1 is "east.main", which is no edge of a board.',
        'For instance: "west:main".',
    ),
    "boards/east": (
        {"plan": "/etc/plan.json"},
        "bad-form",
        "/boards/east/plan",
        'plan of board east is "/etc/plan.json", which is no path of a plan.',
        'For instance: "boards/west.layout.json".',
    ),
}


@pytest.mark.parametrize("path", CASES)
def test_one_slip_makes_one_finding(path: str) -> None:
    value, rule, pointer, message, fix = CASES[path]
    (finding,) = schema_findings(_with(path, value))
    assert (finding.rule, finding.pointer) == (rule, pointer)
    assert finding.message == message
    assert finding.fix == fix
    assert finding.level == "error"
    assert finding.why.endswith(".")
    if rule == "bad-track-end":
        assert finding.why == END_FORMS


def test_every_place_of_accept_that_is_none() -> None:
    for bad in ("", "a b", "/a~2", "~", "a//b"):
        (finding,) = schema_findings(_with("accept", [{"rule": "a", "at": bad}]))
        assert (
            finding.message == f'at of accepted finding 1 is "{bad}", which is no place in a plan.'
        )
        assert finding.why == (
            "A place in a plan is a JSON pointer, which begins with a slash, or an id."
        )


def test_another_format_is_all_that_is_said() -> None:
    plan = _with("format", "trappoint-layout/2") | {"unheard-of": 1}
    (finding,) = schema_findings(plan)
    assert (finding.rule, finding.pointer) == ("unknown-format", "/format")
    assert finding.message == 'The format "trappoint-layout/2" is not known.'
    assert finding.fix == ('Write "trappoint-layout/1" if this is a layout plan of that edition.')


@pytest.mark.parametrize("value", [[], "text", 5, None, False])
def test_what_is_no_object(value: object) -> None:
    (finding,) = schema_findings(value)
    assert (finding.rule, finding.pointer) == ("not-a-plan", "")


@pytest.mark.parametrize(("opening", "closing"), [('{"a":', "}"), ("[", "]")])
def test_too_deep_is_found_where_the_reading_let_it_pass(opening: str, closing: str) -> None:
    text = '{"note":\n' + opening * 64 + "1" + closing * 64 + "}"
    document = read_document(text, "plan")
    assert isinstance(document, Document)
    (finding,) = place_findings(text, schema_findings(document.data))
    assert finding.rule == "too-deep"
    assert (finding.line, finding.column) == (2, 1 + 63 * len(opening))
    allowed = read_document('{"note":\n' + opening * 63 + "1" + closing * 63 + "}", "plan")
    assert isinstance(allowed, Document)
    assert "too-deep" not in [f.rule for f in schema_findings(allowed.data)]


def test_findings_stand_in_the_order_of_the_document_and_at_their_places() -> None:
    text = """{
  "tracks": {
    "b": {"up": "buffer", "down": "p1", "size": 3},
    "a": {"down": "buffer"}
  },
  "points": {"p 1": {"normal": "left"}},
  "colour": "red",
  "signals": {"1": {"for": "down", "track": "b",
    "arms": [{"id": "1"}, {"id": 2, "ki\\u006ed": "stp"}]}}
}"""
    document = read_document(text, "plan")
    assert isinstance(document, Document)
    findings = place_findings(text, schema_findings(document.data))
    assert [(f.line, f.column, f.rule) for f in findings] == [
        (1, 1, "missing-key"),
        (3, 35, "bad-track-end"),
        (3, 41, "unknown-key"),
        (4, 10, "missing-key"),
        (6, 14, "bad-id"),
        (7, 3, "unknown-key"),
        (9, 34, "wrong-type"),
        (9, 50, "wrong-value"),
    ]
    assert findings[1].path == ("b",)


def test_words_are_our_own() -> None:
    # The validator's sentences use the type names of Python and the keywords of the schema.
    plan = json.loads(json.dumps(EVERYTHING).replace("true", '"x"').replace('"n"', "3"))
    findings = schema_findings(plan)
    assert len(findings) > 20
    for finding in findings:
        said = f"{finding.message} {finding.why} {finding.fix}"
        for foreign in ("is not of type", "required property", "does not match", "None", "True"):
            assert foreign not in said


@pytest.mark.parametrize(
    "part",
    [
        {f"trak{n}": 1 for n in range(100_000)},
        {"accept": [5] * 200_000},
        {"platforms": {"a": {"tracks": [1, "x"] * 100_000}}},
        {"signals": {str(n): {} for n in range(50_000)}},
        {"accept": [{"rule": "a", "at": "/" + "~" * 1_000_000}]},
    ],
    ids=["keys", "entries", "mixed", "signals", "pattern"],
)
def test_a_document_that_is_wrong_throughout_ends_soon(part: dict[str, Any]) -> None:
    begun = time.process_time()
    findings = schema_findings({"format": "trappoint-layout/1", "tracks": {}} | part)
    assert 1 <= len(findings) <= MAX_FINDINGS
    # Measured at under 1 s each; the limit only excludes quadratic cost.
    assert time.process_time() - begun < 20


def test_one_wrong_entry_among_many_right_ones_is_found() -> None:
    good = {"up": "buffer", "down": "buffer"}
    tracks: dict[str, Any] = {f"t{n}": good for n in range(20_000)}
    tracks["t19999"] = {"up": "buffer", "down": "bufer"}
    findings = schema_findings({"format": "trappoint-layout/1", "tracks": tracks})
    assert [(f.rule, f.pointer) for f in findings] == [("bad-track-end", "/tracks/t19999/down")]


def test_values_in_words() -> None:
    values: tuple[object, ...] = (None, True, False, "a\n", 3, 3.0, -2.5, 1e300, [], [1], {})
    assert [described(value) for value in values] == [
        "null",
        "true",
        "false",
        'the text "a\\n"',
        "the number 3",
        "the number 3",
        "the number -2.5",
        "the number 1e+300",
        "an empty list",
        "a list",
        "an object in braces",
    ]
    assert quoted("x" * 100) == '"' + "x" * 57 + '..."'
    assert quoted('say "a\\b"\x00\u202e\U000e0001') == '"say \\"a\\\\b\\"\\u0000\\u202e\\U000e0001"'
    assert len(number(10**300)) == 60
    assert [listed([]), listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"], "and")] == [
        "",
        "a",
        "a or b",
        "a, b and c",
    ]
