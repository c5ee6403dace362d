"""Quick fixes: each removes its finding and causes no other."""

from __future__ import annotations

import json
import random
from collections import Counter

import pytest

from amount import amount
from lsp.plans import FULL, KELPIE
from rules.plans import example_files, example_text
from trappoint.checking.check import check_content
from trappoint.checking.report import Report
from trappoint.fixing.text_fixes import Fix, apply_edits, fix_of
from trappoint.lsp.names import LiveText
from trappoint.rules.catalogue import all_rules
from trappoint.source.text_positions import TextPlaces
from trappoint.source.tolerant_json import read_tolerantly


def fixes(report: Report) -> list[tuple[str, Fix]]:
    text = report.text or ""
    root, places = read_tolerantly(text), TextPlaces(text)
    found = [(f.rule, fix_of(root, places, f)) for f in report.findings if not f.file]
    return [(rule, fix) for rule, fix in found if fix is not None]


def test_the_examples_of_all_rules() -> None:
    counted = Counter[str]()
    for rule in (rule for rule in all_rules() if rule.stage != "store"):
        text, files = example_text(rule.fails), example_files(rule.fails)
        report = check_content(text, "plan", files=files)
        for of, fix in fixes(report):
            after = check_content(apply_edits(report.text or "", fix.edits), "plan", files=files)
            before_count = sum(f.rule == of for f in report.findings)
            assert sum(f.rule == of for f in after.findings) < before_count, (of, fix)
            counted[of] += 1
    assert len(counted) >= 5, counted


SLIPS: tuple[tuple[str, str, str], ...] = (
    ('"length_mm": 1450', '"lenght_mm": 1450', "unknown-key"),
    ('"mount": "bracket"', '"mount": "braket"', "wrong-value"),
    ('"length_mm": 900', '"length_mm": "900"', "wrong-type"),
    ('"tracks": ["main"]', '"tracks": "main"', "wrong-type"),
    ('"tracks": ["main"]', '"tracks": ["main", "main"]', "duplicate-item"),
    ('"track": "siding"', '"track": "sidng"', "unknown-reference"),
    ('"p1.toe"', '"p1.teo"', "unknown-reference"),
    ('"up": "p2.toe"', '"up": "p2,toe"', "bad-track-end"),
    ('"down": "buffer"', '"down": "bufer"', "bad-track-end"),
    ('"down": "edge:quarry"', '"down": "egde:quarry"', "bad-track-end"),
    ('"stand": true', '"stand": "true"', "wrong-type"),
    ('"p2": {"normal": "left"},', '"p2": {"normal": "left"}', "not-json"),
    ('"p3": {"normal": "right"}', '"p3": {"normal": "right"},', "not-json"),
    ('"normal": "left"', 'normal: "left"', "not-json"),
    ('"normal": "left"', '"normal"= "left"', "not-json"),
    ('"normal": "left"', '"normal": left', "not-json"),
    ('"p2": {"normal": "left"}', '"p2": {"normal": "left", "normal": "left"}', "duplicate-key"),
    ('"format": "trappoint-layout/1",', "", "missing-key"),
)


@pytest.mark.parametrize(("good", "bad", "rule"), SLIPS, ids=[f"{s[2]}-{s[1]}" for s in SLIPS])
def test_a_slip_is_put_right(good: str, bad: str, rule: str) -> None:
    assert KELPIE.count(good) >= 1
    text = KELPIE.replace(good, bad, 1)
    found = [fix for of, fix in fixes(check_content(text, "plan")) if of == rule]
    if rule == "bad-track-end" and "," in bad:
        assert found == []  # nobody can know that a comma is a full stop
        return
    assert len(found) == 1
    assert json.loads(apply_edits(text, found[0].edits)) == json.loads(KELPIE)


def test_what_could_be_meant_otherwise_has_no_fix() -> None:
    twice = KELPIE.replace(
        '"p2": {"normal": "left"}', '"p2": {"normal": "left", "normal": "right"}'
    )
    assert fixes(check_content(twice, "plan")) == []
    unmet = KELPIE.replace(
        '"p2": {"normal": "left"}', '"p2": {"normal": "left"}, "p9": {"normal": "left"}'
    )
    assert fixes(check_content(unmet, "plan")) == []


@pytest.mark.parametrize("seed", range(amount(30, long=600)))
def test_a_mistyped_word_comes_back_or_is_left_alone(seed: int) -> None:
    """One mistake in one word or id: two letters exchanged, or the last letter missing."""
    rng = random.Random(seed)
    sketch = LiveText(FULL)
    name = rng.choice([n for n in sketch.names if n.end - n.start > 3 and not n.defines])
    word = FULL[name.start : name.end]
    place = rng.randrange(len(word) - 1)
    typo = rng.choice([word[:-1], word[:place] + word[place + 1] + word[place] + word[place + 2 :]])
    text = FULL[: name.start] + typo + FULL[name.end :]
    for rule, fix in fixes(check_content(text, "plan")):
        if rule in ("unknown-reference", "unknown-key"):
            after = check_content(apply_edits(text, fix.edits), "plan")
            before = check_content(text, "plan")
            assert sum(f.rule == rule for f in after.findings) < sum(
                f.rule == rule for f in before.findings
            )
