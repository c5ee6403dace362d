"""Test that tidying changes the text but not the data, as the standard library reads them."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from amount import amount
from properties.dressed import dressed_plan
from schema.test_layout_schema import EVERYTHING
from tidy.documents import NUMBERS, Digits, Json, documents, read, tagged, write
from trappoint import check
from trappoint.checking.report import Report
from trappoint.core.resources import read_resource
from trappoint.schema.published import layout_schema
from trappoint.source.reading import Unreadable
from trappoint.tidying.tidy import tidy_content

ROOT = Path(__file__).parents[2]
PLANS = sorted(ROOT.glob("examples/**/*.layout.json"))
READABLE = [p for p in PLANS if not isinstance(tidy_content(p.read_bytes(), p.name), Unreadable)]
KELPIE = read_resource("kelpie-quay.layout.json")


def tidy(text: str | bytes) -> str:
    done = tidy_content(text)
    assert isinstance(done, str), done
    return done


def without_empty_lines(text: str) -> str:
    return re.sub(r"\n\n+", "\n", text)


def said(report: Report) -> Counter[object]:
    """Return the findings of a report without lines and columns."""
    assert report.fault is None
    return Counter(
        (f.rule, f.level, f.pointer, f.message, f.why, f.fix, f.path, f.at_key)
        for f in (*report.findings, *report.accepted)
    )


@settings(max_examples=amount(60, long=2000), deadline=None)
@given(documents(), st.randoms(use_true_random=False), st.sampled_from(["\n", "\r\n"]))
@example({"tracks": {"a": {"length_mm": [Digits(n) for n in NUMBERS]}}}, random.Random(1), "\n")
def test_nothing_is_lost(document: Json, rng: random.Random, end: str) -> None:
    text = write(document, rng, end)
    done = tidy(text)
    assert tagged(read(done)) == tagged(read(text))
    assert tidy(done) == done
    assert done.endswith(("}\n", "}\r\n"))


@settings(max_examples=amount(60, long=2000), deadline=None)
@given(documents(), st.randoms(use_true_random=False), st.randoms(use_true_random=False))
def test_one_layout_however_it_was_written(
    document: Json, one: random.Random, other: random.Random
) -> None:
    """Two texts of one document differ only in the author's empty lines after tidying."""
    first, second = tidy(write(document, one)), tidy(write(document, other))
    assert without_empty_lines(first) == without_empty_lines(second)


@settings(max_examples=amount(40, long=1000), deadline=None)
@given(documents())
def test_lines_are_broken_where_they_can_be(document: Json) -> None:
    """A line over 100 columns holds a single value, which cannot be broken."""
    for line in tidy(json.dumps(document)).splitlines() if _plain(document) else ():
        if len(line) > 100:
            alone = line.strip().rstrip(",")
            value = read(f"{{{alone}}}") if re.match(r'"(?:[^"\\]|\\.)*": ', alone) else None
            if value is None:
                assert not isinstance(read(alone), dict | list) or read(alone) in ({}, [])
            else:
                ((_, inner),) = value.items()
                assert not isinstance(inner, dict | list) or not inner


def _plain(document: Json) -> bool:
    return not re.search(
        "[\x0b\x0c\x1c-\x1e\x85\u2028\u2029]", json.dumps(document, ensure_ascii=False)
    )


@pytest.mark.parametrize("seed", range(amount(12, long=60)))
def test_a_check_says_the_same(seed: int) -> None:
    rng = random.Random(seed)
    plan = dressed_plan(seed)
    for kind in ("tracks", "points", "signals"):
        for id_, thing in plan.get(kind, {}).items():
            plan[kind][id_] = dict(rng.sample(list(thing.items()), len(thing)))
    text = json.dumps(dict(rng.sample(list(plan.items()), len(plan))), indent=1)
    before, after = check(text), check(tidy(text))
    assert before.holds == after.holds
    assert said(before) == said(after)
    assert before.table is not None
    assert after.table is not None
    assert before.table.to_json() == after.table.to_json()


@pytest.mark.parametrize("path", READABLE, ids=lambda path: path.stem)
def test_the_examples_are_tidy(path: Path) -> None:
    text = path.read_text("utf-8")
    assert tidy(text) == text


def test_most_examples_can_be_read() -> None:
    assert len(READABLE) > len(PLANS) - 6


def test_keys_stand_in_the_order_of_the_schema() -> None:
    schema = layout_schema()
    plan = {key: EVERYTHING[key] for key in sorted(EVERYTHING, reverse=True)}
    plan["signals"] = {
        id_: {key: signal[key] for key in sorted(signal)}
        for id_, signal in EVERYTHING["signals"].items()
    }
    done = read(tidy(json.dumps(plan)))
    assert list(done) == [key for key in schema["properties"] if key in plan]
    order = list(schema["$defs"]["signal"]["properties"])
    for signal in done["signals"].values():
        assert list(signal) == sorted(signal, key=order.index)
        for arm in signal["arms"]:
            of_arms = list(schema["$defs"]["arm"]["properties"])
            assert list(arm) == sorted(arm, key=of_arms.index)


@pytest.mark.parametrize("kind", ["tracks", "signals", "levers", "scenes"])
def test_ids_stay_in_the_order_of_the_author(kind: str) -> None:
    ids = ["9", "2", "10", "b", "a"]
    entry = EVERYTHING[kind][next(iter(EVERYTHING[kind]))]
    done = read(tidy(json.dumps({kind: dict.fromkeys(ids, entry)})))
    assert list(done[kind]) == ids


def test_keys_that_are_not_known_come_last_in_their_order() -> None:
    text = '{"zebra": 1, "format": "trappoint-layout/1", "ape": {"b": 1, "a": 2}, "title": "T"}'
    done = read(tidy(text))
    assert list(done) == ["format", "title", "zebra", "ape"]
    assert list(done["ape"]) == ["b", "a"]


def test_the_layout_whole(rewrite: bool) -> None:
    """Compare a plan with short, broken and empty entries and empty lines to the expected file."""
    golden = Path(__file__).parent / "tidy.layout.json"
    crowded = (Path(__file__).parent / "untidy.layout.json").read_text("utf-8")
    if rewrite:
        golden.write_text(tidy(crowded), "utf-8")
    assert tidy(crowded) == golden.read_text("utf-8")


def test_an_empty_line_between_two_things_stays() -> None:
    text = KELPIE.replace('    "siding":', '\n\n\n    "siding":').replace(
        '  "points"', '\n  "points"'
    )
    done = tidy(text)
    assert '\n\n    "siding": ' in done
    assert '\n\n  "points": {\n' in done
    assert done.count("\n\n") == 2
    assert tidy(done) == done


def test_what_can_be_seen_is_not_escaped_and_the_rest_is() -> None:
    done = tidy('{"title": "Caf\\u00e9 \\ud83d\\ude82 \\/ \\u0041\\u0009\\u000a\\u0001\\u2028"}')
    assert '"Café 🚂 / A\\t\\n\\u0001\u2028"' in done


def test_line_ends() -> None:
    assert "\r" not in tidy(KELPIE)
    windows = KELPIE.replace("\n", "\r\n")
    done = tidy(windows)
    assert done == tidy(KELPIE).replace("\n", "\r\n")  # as git on Windows checks files out
    assert tidy(done) == done
    mixed = KELPIE.replace("\n", "\r\n", 3)
    assert tidy(mixed) == tidy(KELPIE)
    assert tidy(KELPIE.replace("\n", "\r")) == tidy(KELPIE)


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b'{"a": 1, "a": 2}', "duplicate-key"),
        (b'{"a": NaN}', "not-a-number"),
        (b'{"a": 1e999}', "number-out-of-range"),
        (b"\xef\xbb\xbf{}", "byte-order-mark"),
        (b"{} {}", "trailing-text"),
        (b"[1]", "not-a-plan"),
        (b'{"a": "\xff"}', "not-utf8"),
        (b"", "empty-file"),
        (b'{"a": "\\ud800"}', "not-json"),
        (b'{"a": ' + b"[" * 64 + b"]" * 64 + b"}", "too-deep"),
        (b"<<<<<<< ours\n{}\n=======\n{}\n>>>>>>> theirs\n", "not-json"),
        (b'{"format": "trappoint-layout/2"}', "unknown-format"),
    ],
)
def test_what_can_not_be_read_is_refused(content: bytes, rule: str) -> None:
    done = tidy_content(content)
    assert isinstance(done, Unreadable)
    said_of_it = [finding.rule for finding in done.findings]
    assert len(said_of_it) == 1
    assert done.findings[0].line >= 1
    assert rule in said_of_it


def test_as_deep_as_may_be() -> None:
    text = '{"a": ' + "[" * 63 + "]" * 63 + "}"
    assert tagged(read(tidy(text))) == tagged(read(text))
