"""A report depends on the track and the signals of a plan, not on ids, order, up or left.

Each test makes a change that means nothing, or a change of view, and expects the same verdict and
the same findings at the same places.
"""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from oracle.plans import large_plan, random_plan
from properties.changes import (
    OTHER_END,
    Renaming,
    all_on_their_tracks,
    mirrored,
    reordered,
    turned,
    with_lengths,
)
from properties.dressed import AT_ONE_OF_SEVERAL, dressed_plan
from trappoint import Finding, Report, check

TESTS = Path(__file__).parents[1]
FOLDERS = (TESTS.parent / "examples", TESTS / "outside" / "plans")
FILES = sorted(path for folder in FOLDERS for path in folder.rglob("*.layout.json"))

Plan = dict[str, Any]
Place = tuple[str, ...]

BATCH = 50
BATCHES = range(amount(1, long=40))


@cache
def drawn() -> dict[str, Plan]:
    """Return the example plans that are one readable file each."""
    found = {}
    for path in FILES:
        report = check(path)
        if report.layout is not None and not report.boards:
            found[path.stem.removesuffix(".layout")] = json.loads(path.read_text("utf-8"))
    return found


@cache
def at_random(batch: int) -> dict[str, Plan]:
    seeds = range(batch * BATCH, (batch + 1) * BATCH)
    found = {f"random {seed}": random_plan(random.Random(seed)) for seed in seeds}
    found |= {f"dressed {seed}": dressed_plan(seed) for seed in seeds}
    found[f"large {batch}"] = large_plan(random.Random(batch), points=15)
    return found


SETS = pytest.mark.parametrize("batch", [None, *BATCHES], ids=["examples", *map(str, BATCHES)])


ANY_NUMBER = {"reversing-loop", "two-arms-for-one-route"}
"""Rules with one finding for each necessary change: a section to isolate, an arm to change. The
number of changes depends on the choice of the first ones."""

IN_ORDER_OF_IDS = {"crossover-never-set", "crossover-not-worked-together"}
"""Rules whose messages name two points in the order of their ids."""


GUESSED_BY_SPELLING = {"duty-mismatch", "open-joint", "unknown-reference"}
"""Rules whose fixes name an id with a similar spelling: other ids lead to other fixes."""


def plans(batch: int | None) -> dict[str, Plan]:
    found = drawn() if batch is None else at_random(batch)
    assert len(found) > 20
    return found


def report_on(plan: Plan) -> Report:
    report = check(json.dumps(plan, indent=1), name="plan")
    assert report.fault is None, report.findings
    assert report.layout is not None, report.findings
    return report


def place_of(plan: Plan, finding: Finding) -> Place:
    """Return the pointer of a finding, with the id of an arm instead of its index."""
    parts = finding.pointer.split("/")[1:]
    if parts[:1] == ["signals"] and parts[2:3] == ["arms"] and len(parts) > 3:
        parts[3] = plan["signals"][parts[1]]["arms"][int(parts[3])]["id"]
    return tuple(parts)


Said = Counter[tuple[str, str, str, Place]]


def said_of(plan: Plan, report: Report) -> Said:
    """Return the number of findings for each rule, level and place, accepted or not.

    The place is left out for rules that could report at another place. For rules whose number of
    findings depends on a choice, the number is 1.
    """
    said: Said = Counter()
    for of, findings in (("", report.findings), ("accepted", report.accepted)):
        for finding in findings:
            place = () if finding.rule in AT_ONE_OF_SEVERAL else place_of(plan, finding)
            said[of, finding.rule, finding.level, place] += 1
    return Counter({key: 1 if key[1] in ANY_NUMBER else n for key, n in said.items()})


@SETS
def test_other_ids(batch: int | None) -> None:
    """With other ids, the report is the same word for word, except for the ids."""
    for name, plan in plans(batch).items():
        renaming = Renaming(random.Random(name), plan)
        before, after = report_on(plan), report_on(renaming.apply())
        assert after.holds is before.holds, name
        for mine, theirs in (
            (before.findings, after.findings),
            (before.accepted, after.accepted),
        ):
            told = [words_of(finding) for finding in mine]
            again = [list(map(renaming.back, words_of(finding))) for finding in theirs]
            assert sorted(map(in_any_order, told)) == sorted(map(in_any_order, again)), name


def words_of(finding: Finding) -> list[str]:
    texts = [finding.message, finding.why]
    if finding.rule not in GUESSED_BY_SPELLING:
        texts.append(finding.fix)
    return [finding.rule, finding.level, finding.pointer, *finding.path, *texts]


def in_any_order(words: list[str]) -> list[str]:
    """Return a message with its words sorted, for rules that name points in the order of ids."""
    if words[0] not in IN_ORDER_OF_IDS:
        return words
    return sorted(re.findall(r"[\w-]+", " ".join(words)))


@SETS
def test_another_order_of_keys(batch: int | None) -> None:
    for name, plan in plans(batch).items():
        shuffled = reordered(random.Random(name), plan)
        before, after = report_on(plan), report_on(shuffled)
        assert after.holds is before.holds, name
        assert said_of(plan, before) == said_of(shuffled, after), name


@SETS
def test_up_and_down_exchanged(batch: int | None) -> None:
    """Up and down exchanged, with ``for``, ``running`` and at_mm, the report is the same."""
    exchanged = 0
    for name, given in plans(batch).items():
        plan = with_lengths(given)
        if not all_on_their_tracks(plan):
            continue
        other = turned(plan)
        assert turned(other) == plan
        before, after = report_on(plan), report_on(other)
        assert after.holds is before.holds, name
        assert said_of(plan, before) == with_ends_exchanged(said_of(other, after)), name
        exchanged += 1
    assert exchanged > 20


def with_ends_exchanged(said: Said) -> Said:
    result: Said = Counter()
    for (of, rule, level, place), count in said.items():
        ends = place[:2]
        if place[:1] == ("tracks",):
            ends += tuple(OTHER_END.get(part, part) for part in place[2:])
        else:
            ends += place[2:]
        result[of, rule, level, ends] += count
    return result


@SETS
def test_left_and_right_exchanged(batch: int | None) -> None:
    """Left and right exchanged in legs, lies, sides and order of arms, the report is the same."""
    for name, plan in plans(batch).items():
        other = mirrored(plan)
        before, after = report_on(plan), report_on(other)
        assert after.holds is before.holds, name
        assert said_of(plan, before) == said_of(other, after), name


def test_there_is_something_to_say() -> None:
    """The plans have findings of most rules on track and signals, so the tests cover them."""
    rules: Counter[str] = Counter()
    for batch in (None, *BATCHES):
        for plan in plans(batch).values():
            rules.update(finding.rule for finding in report_on(plan).findings)
    assert len(rules) > 30
