"""Random merges, plain and criss-cross, by the driver and by real git, lose nothing."""

from __future__ import annotations

import json
import random
from collections import Counter
from pathlib import Path

import pytest

from amount import amount
from merge.histories import History, Merge, crosswise, merged, merges, three_way
from merge.nothing_lost import Values, base_of_bases, conflicts, mistakes, values_of
from merge.test_merging import KELPIE, base_plan, edited, renamed
from merge.versions import Plan

MARK = "=======\n"


def base_values(history: History) -> Values:
    if not history.bases:
        return values_of(history.base)
    one, other = history.bases
    return base_of_bases(history.base, one, other)


def assert_nothing_lost(history: History, merge: Merge) -> str:
    """Check one merge and return how it ended."""
    assert "so git works on the lines" not in merge.said
    base = base_values(history)
    wrong = list(mistakes(base, history.ours, history.theirs, merge.kept))
    assert wrong == []
    real = conflicts(base, history.ours, history.theirs)
    for kind, name, *_ in real:
        said = kind if kind == "accept" else name
        assert any(said in sentence for sentence in merge.named), (kind, name, merge.named)
    marked = MARK in merge.text
    assert marked == bool(merge.named)
    if marked:
        assert merge.code != 0
        return "conflict" if real else "conflict in a list"
    return "clean" if merge.code == 0 else "refused"


def without_git(history: History) -> Merge:
    done = merged(history)
    said = "".join(f"plan: conflict: {each.sentence()}\n" for each in done.conflicts)
    return Merge(int(bool(done.conflicts)), said, done.text)


def histories(kind: str, number: int) -> list[History]:
    make = three_way if kind == "three_way" else crosswise
    found = []
    for seed in range(number):
        rng = random.Random(f"{kind} {seed}")
        found.append(make(rng, base_plan(seed)))
    return found


@pytest.mark.parametrize("kind", ["three_way", "crosswise"])
def test_random_merges(kind: str) -> None:
    ended = Counter[str]()
    for history in histories(kind, amount(12, long=1000)):
        ended[assert_nothing_lost(history, without_git(history))] += 1
    print(kind, dict(ended))
    assert ended["clean"] > 1
    assert ended["conflict"] > 1


@pytest.mark.parametrize(("kind", "sample", "long"), [("three_way", 4, 60), ("crosswise", 5, 200)])
def test_random_merges_by_git(tmp_path: Path, kind: str, sample: int, long: int) -> None:
    ended = Counter[str]()
    found = histories(kind, amount(sample, long=long))
    for history, merge in zip(found, merges(tmp_path, found), strict=True):
        ended[assert_nothing_lost(history, merge)] += 1
        assert [*map(values_of, merge.kept)] == [*map(values_of, without_git(history).kept)]
    print(kind, "by git", dict(ended))
    assert ended["clean"] + ended["refused"] > 0
    assert ended["conflict"] > 0


def test_the_check_sees_what_is_lost() -> None:
    """With the plan before, or one of the bases, as the base, some values get lost."""
    for each in (lambda history: history.base, lambda history: history.bases[0]):
        lost = 0
        for history in histories("crosswise", 16):
            plain = merged(History(each(history), (), history.ours, history.theirs))
            kept = Merge(0, "", plain.text).kept
            lost += any(mistakes(base_values(history), history.ours, history.theirs, kept))
        assert lost > 1


# --- single criss-cross merges


def settled(one: Plan, other: Plan, ours: Plan, theirs: Plan) -> list[str]:
    """Return the sentences of a criss-cross merge of versions of Kelpie Quay, by the driver."""
    history = History(KELPIE, (one, other), ours, theirs)
    done = merged(history)
    turned = merged(history._replace(ours=theirs, theirs=ours))
    assert len(turned.conflicts) == len(done.conflicts)
    assert done.text.count(MARK) == min(1, len(done.conflicts))
    if done.conflicts:
        assert Merge(1, "", done.text).kept == (ours, theirs)
    return [conflict.sentence() for conflict in done.conflicts]


LENGTHS = [edited("tracks/main/length_mm", length) for length in (1500, 1400, 1600)]
LONG, SHORT, LONGEST = LENGTHS
NO_SEVEN, LEFT_SEVEN = edited("signals/7", None), edited("signals/7/side", "left")
TWO, OTHER_TWO = edited("levers/2", {"points": ["p2"]}), edited("levers/2", {"arms": ["2"]})
ENDS = "; their bases differ too."


def test_a_conflict_settled_alike_is_settled() -> None:
    for one, other in ((LONG, SHORT), (NO_SEVEN, LEFT_SEVEN), (TWO, OTHER_TWO)):
        for plan in (one, other, KELPIE):
            assert settled(one, other, plan, plan) == []


def test_a_conflict_settled_in_two_ways_is_one_conflict() -> None:
    main = "track main, length_mm: ours has "
    assert settled(LONG, SHORT, LONG, SHORT) == [f"{main}1500, theirs has 1400{ENDS}"]
    assert settled(LONG, SHORT, SHORT, LONGEST) == [f"{main}1400, theirs has 1600{ENDS}"]
    said = settled(NO_SEVEN, LEFT_SEVEN, NO_SEVEN, LEFT_SEVEN)
    assert [line[:35] for line in said] == ["signal 7: ours has nothing, theirs "]
    said = settled(TWO, OTHER_TWO, TWO, OTHER_TWO)
    assert said == [
        f'lever 2: ours has {{"points": ["p2"]}}, theirs has {{"arms": ["2"]}}{ENDS}',
    ]


def test_a_side_that_went_back_to_the_version_before_is_not_overruled() -> None:
    """Git alone would see no change on that side."""
    said = settled(LONG, SHORT, LONG, KELPIE)
    assert said == [f"track main, length_mm: ours has 1500, theirs has 1450{ENDS}"]
    assert len(settled(NO_SEVEN, LEFT_SEVEN, NO_SEVEN, KELPIE)) == 1
    assert len(settled(LONG, SHORT, edited("tracks/main", None), KELPIE)) == 1
    assert len(merged(History(KELPIE, (TWO, OTHER_TWO), KELPIE, TWO)).conflicts) == 1


def test_a_later_change_is_merged() -> None:
    """Both settle it alike, and one then changes the same thing."""
    noted = edited("signals/7/note", "New lamp.", LEFT_SEVEN)
    history = History(KELPIE, (NO_SEVEN, LEFT_SEVEN), LEFT_SEVEN, noted)
    done = merged(history)
    assert (done.conflicts, json.loads(done.text)) == ([], noted)
    gone = edited("signals/6", None, LONG)
    assert settled(LONG, SHORT, LONG, gone) == []


def test_two_ids_for_one_thing() -> None:
    text = json.dumps(KELPIE)
    wharf, pier = (renamed(text, "siding", name) for name in ("wharf", "pier"))
    for plan in (wharf, pier, KELPIE):
        done = merged(History(KELPIE, (wharf, pier), plan, plan))
        assert (done.conflicts, json.loads(done.text)) == ([], plan)
    done = merged(History(KELPIE, (wharf, pier), wharf, pier))
    assert Merge(1, "", done.text).kept == (wharf, pier)


def test_three_bases() -> None:
    bases = LONG, SHORT, LONGEST
    for ours in (*bases, KELPIE):
        for theirs in (*bases, KELPIE):
            done = merged(History(KELPIE, bases, ours, theirs))
            assert len(done.conflicts) == (ours != theirs)
            assert Merge(0, "", done.text).kept == (ours, theirs)


def test_single_criss_cross_merges_by_git(tmp_path: Path) -> None:
    """Git makes the base from two or three bases; a base that cannot be read is a conflict."""
    cases = [
        History(KELPIE, (LONG, SHORT), SHORT, SHORT | {"title": "Old Quay"}),
        History(KELPIE, (LONG, SHORT), LONG, SHORT),
        History(KELPIE, (LONG, SHORT), LONG, KELPIE),
        History(KELPIE, (LONG, SHORT, LONGEST), LONGEST, SHORT),
        History(KELPIE, (LONG, SHORT | {"format": "none"}), LONG, SHORT),
    ]
    done = list(merges(tmp_path, cases))
    assert [len(merge.named) for merge in done] == [0, 1, 1, 1, 2]
    assert [merge.code for merge in done] == [0, 1, 1, 1, 1]
    assert done[0].kept == (cases[0].theirs, cases[0].theirs)
    for history, merge in zip(cases[1:], done[1:], strict=True):
        assert merge.kept == (history.ours, history.theirs)
        assert merge.text.count(MARK) == 1
    assert "the base version cannot be read" in done[4].said
