"""Test that merges lose nothing, on random plans; and the results of single cases."""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings

from amount import amount
from merge.versions import (
    Plan,
    also_called,
    change,
    finish,
    finished,
    leaves,
    merge,
    sheet,
    without_order,
    write,
)
from properties.dressed import dressed_plan
from schema.test_layout_schema import EVERYTHING
from tidy.documents import Json, documents, read, tagged
from trappoint.core.resources import read_resource
from trappoint.merging.merge import Merged
from trappoint.source.reading import Unreadable, read_document
from trappoint.tidying.tidy import tidy_content

KELPIE: Plan = json.loads(read_resource("kelpie-quay.layout.json"))


def in_order(value: Json) -> Json:
    """Return data in which the order of keys counts."""
    if isinstance(value, dict):
        return [(key, in_order(member)) for key, member in value.items()]
    return [in_order(entry) for entry in value] if isinstance(value, list) else tagged(value)


def assert_kept(base: Json, ours: Json, theirs: Json, merged: Merged) -> None:
    """Every value of either version is in the result, in a conflict, or was removed."""
    base, ours, theirs = (read(write(document)) for document in (base, ours, theirs))
    found = {*leaves(finished(merged, "ours")), *leaves(finished(merged, "theirs"))}
    before = set(leaves(base))
    for one, other in ((ours, theirs), (theirs, ours)):
        taken_away = before - set(leaves(other))
        lost = {
            leaf for leaf in set(leaves(one)) - found if not also_called({leaf}, merged) & found
        }
        assert lost <= also_called(taken_away, merged)
    # No value comes from nowhere, or comes back after both removed it.
    assert found <= also_called(set(leaves(ours)) | set(leaves(theirs)), merged)


def assert_even(base: Json, ours: Json, theirs: Json, merged: Merged) -> None:
    """The order of the two versions does not matter."""
    turned = merge(base, theirs, ours)
    assert Counter(c.path for c in turned.conflicts) == Counter(c.path for c in merged.conflicts)
    for side, other in (("ours", "theirs"), ("theirs", "ours")):
        assert without_order(finished(merged, side)) == without_order(finished(turned, other))


def assert_marked(merged: Merged) -> None:
    """A file has marks if there are conflicts, and is no plan until the marks are gone."""
    marks = sum(line == "=======" for line in merged.text.splitlines())
    assert bool(marks) == bool(merged.conflicts)
    assert marks <= len(merged.conflicts)
    document = read_document(merged.text, "plan")
    assert isinstance(document, Unreadable) == bool(merged.conflicts)
    if isinstance(document, Unreadable):
        assert "conflict between two versions" in document.findings[0].message
    assert all(conflict.sentence().endswith(".") for conflict in merged.conflicts)


@settings(max_examples=amount(40, long=2000), deadline=None)
@given(documents(), documents(), documents())
def test_any_three_documents(base: Json, ours: Json, theirs: Json) -> None:
    merged = merge(base, ours, theirs)
    assert_kept(base, ours, theirs, merged)
    assert_even(base, ours, theirs, merged)


@settings(max_examples=amount(25, long=1000), deadline=None)
@given(documents(), documents())
def test_an_unchanged_side_gives_the_other(base: Json, other: Json) -> None:
    for merged in (merge(base, base, other), merge(base, other, base), merge(base, other, other)):
        assert merged.conflicts == []
        assert tagged(read(merged.text)) == tagged(read(write(other)))


def base_plan(seed: int) -> Plan:
    return dressed_plan(seed) if seed % 3 == 0 else copy.deepcopy((EVERYTHING, KELPIE)[seed % 2])


@pytest.mark.parametrize("seed", range(amount(15, long=2000)))
def test_changed_plans(seed: int) -> None:
    rng = random.Random(seed)
    base = base_plan(seed)
    for times in (1, 6, 15):
        ours, theirs = change(rng, base, times), change(rng, base, times)
        merged = merge(base, ours, theirs)
        assert_kept(base, ours, theirs, merged)
        assert_even(base, ours, theirs, merged)
        assert_marked(merged)
        for one, two in ((base, theirs), (theirs, base), (theirs, theirs)):
            same = merge(base, one, two)
            assert same.conflicts == []
            assert in_order(read(tidied(same.text))) == in_order(read(tidied(write(theirs))))


def tidied(text: str) -> str:
    done = tidy_content(text)
    assert isinstance(done, str)
    return done


def test_the_changes_do_conflict_and_do_not() -> None:
    """The tests above have merges of every kind."""
    conflicts, followed = Counter[int](), Counter[bool]()
    for seed in range(amount(54, long=900)):
        rng = random.Random(seed)
        base = base_plan(seed)
        merged = merge(base, change(rng, base, 6), change(rng, base, 6))
        conflicts[min(2, len(merged.conflicts))] += 1
        followed[bool(merged.renames.ours or merged.renames.theirs)] += 1
    assert min(followed.values()) > 5, followed
    assert min(conflicts.values()) > 1, conflicts
    assert len(conflicts) == 3


@pytest.mark.parametrize("seed", range(40))
def test_changes_to_different_things_are_both_made(seed: int) -> None:
    """The merged plan equals the plan with one change after the other."""
    rng = random.Random(seed)
    base = base_plan(seed)
    things = [(kind, id_) for kind in base if isinstance(base[kind], dict) for id_ in base[kind]]
    rng.shuffle(things)
    half = len(things) // 2
    ours, theirs, both = (copy.deepcopy(base) for _ in range(3))
    for side, own in ((ours, things[:half]), (theirs, things[half:])):
        for kind, id_ in own:
            what = rng.randrange(4)
            for plan in (side, both):
                if what == 0:
                    del plan[kind][id_]
                elif what == 1:
                    plan[kind][id_]["note"] = f"Changed: {id_}."
                elif what == 2:
                    plan[kind][f"{id_}-2"] = {"note": f"Added beside {id_}."}
    merged = merge(base, ours, theirs)
    assert merged.conflicts == []
    assert tagged(read(merged.text)) == tagged(read(write(both)))


def edited(path: str, value: Any, base: Plan = KELPIE) -> Plan:
    """Return a plan (Kelpie Quay) with one value changed, added or (None) removed."""
    plan = copy.deepcopy(base)
    *above, last = path.split("/")
    box: Any = plan
    for part in above:
        box = box[int(part)] if isinstance(box, list) else box.setdefault(part, {})
    if value is None:
        del box[int(last) if isinstance(box, list) else last]
    elif isinstance(box, list):
        box.insert(int(last), value)
    else:
        box[last] = value
    return plan


def only_conflict(ours: Plan, theirs: Plan, base: Plan = KELPIE) -> tuple[str, Merged]:
    merged = merge(base, ours, theirs)
    assert_kept(base, ours, theirs, merged)
    assert_even(base, ours, theirs, merged)
    assert_marked(merged)
    (conflict,) = merged.conflicts
    return conflict.sentence(), merged


def clean(ours: Plan, theirs: Plan, base: Plan = KELPIE) -> Plan:
    merged = merge(base, ours, theirs)
    assert [c.sentence() for c in merged.conflicts] == []
    plan: Plan = json.loads(merged.text)
    return plan


def test_two_values_of_one_thing() -> None:
    plan = clean(edited("tracks/main/length_mm", 1500), edited("tracks/main/radius_mm", 900))
    assert plan["tracks"]["main"]["length_mm"] == 1500
    assert plan["tracks"]["main"]["radius_mm"] == 900


def test_one_value_in_two_ways() -> None:
    said, merged = only_conflict(
        edited("tracks/main/length_mm", 1500), edited("tracks/main/length_mm", 1400)
    )
    assert said == "track main, length_mm: ours has 1500, theirs has 1400; before, it was 1450."
    assert (
        "<<<<<<< ours\n"
        '    "main": {"up": "p1.right", "down": "p2.left", "length_mm": 1500},\n'
        "=======\n"
        '    "main": {"up": "p1.right", "down": "p2.left", "length_mm": 1400},\n'
        ">>>>>>> theirs\n"
    ) in merged.text
    assert finish(merged.text, "ours") == tidied(write(edited("tracks/main/length_mm", 1500)))


def test_a_conflict_has_the_names_beside_the_ids() -> None:
    """A name in either version is used; a new name of ours comes before that of the base."""
    base = edited("tracks/main/name", "Main line", edited("signals/1/arms/0/name", "Platform"))
    longer, shorter = (edited("tracks/main/length_mm", mm, base) for mm in (1500, 1400))
    lead = "track {} (main), length_mm: ours has 1500, theirs has 1400; before, it was 1450."
    assert only_conflict(longer, shorter, base)[0] == lead.format("Main line")
    longer["tracks"]["main"]["name"] = "Quay road"
    assert only_conflict(longer, shorter, base)[0] == lead.format("Quay road")
    up, down = (edited("signals/1/arms/0/note", note, base) for note in ("High.", "Low."))
    for plan in (down, base):
        plan["signals"]["1"]["name"] = "Branch home"
    up["signals"]["1"]["name"] = "Up home"
    said, _ = only_conflict(up, down, base)
    assert said == (
        'signal Up home (1), arm Platform (1L), note: both add it: ours has "High.", theirs has '
        '"Low.".'
    )


def test_removed_and_changed() -> None:
    said, merged = only_conflict(edited("signals/7", None), edited("signals/7/side", "left"))
    assert said == "signal 7: ours removes it, theirs changes its side."
    # It was the last signal. A thing that may be removed must not be last: no comma follows it.
    assert json.loads(finish(merged.text, "ours")) == edited("signals/7", None)
    assert json.loads(finish(merged.text, "theirs")) == edited("signals/7/side", "left")


def renamed(text: str, old: str, new: str) -> Plan:
    """Return Kelpie Quay with an id changed everywhere, in quotes or before a dot."""
    plan: Plan = json.loads(text.replace(f'"{old}"', f'"{new}"').replace(f'"{old}.', f'"{new}.'))
    return plan


KELPIE_TEXT = json.dumps(KELPIE)


@pytest.mark.parametrize("old", ["main", "siding", "p1", "p2", "loop-west", "1L", "B"])
def test_a_rename_is_followed(old: str) -> None:
    """The merged plan equals the plan with the new ids and then the other change."""
    ours = renamed(KELPIE_TEXT, old, "renamed")
    for number, (path, value) in enumerate(
        (
            ("tracks/main/length_mm", 1500),
            ("tracks/siding/stand", False),
            ("points/p1/lock", True),
            ("points/p2/normal", "right"),
            ("signals/1/arms/0/to", "siding"),
            ("signals/1/arms/0/expects", {"p1": "reverse", "p2": "normal"}),
            ("signals/4/duties", ["starter platform B", "junction p3", "holds loop-west"]),
            ("signals/9", {"track": "main", "for": "up", "at_mm": 9, "arms": [{"id": "9"}]}),
            ("platforms/B/tracks", ["loop-west", "main"]),
            ("worked_together", [["p1", "p2"]]),
            ("scenes/s", {"points": {"p1": "left"}, "off": ["1L"], "trains": {"main": True}}),
            ("levers/1", {"points": ["p1", "p2"]}),
            ("accept/0", {"rule": "x", "at": "/scenes/s/points/p1", "because": "x"}),
            ("accept/0", {"rule": "x", "at": "siding", "because": "x"}),
        )
    ):
        base = {**KELPIE, "accept": []} if path.startswith("accept") else KELPIE
        theirs = edited(path, value, base)
        wanted = renamed(json.dumps(theirs), old, "renamed")
        if number == 6:
            duties = wanted["signals"]["4"]["duties"]
            wanted["signals"]["4"]["duties"] = [
                duty.removesuffix(old) + "renamed" if duty.endswith(f" {old}") else duty
                for duty in duties
            ]
        if path.startswith("accept") and f"/{old}" in value["at"]:
            wanted["accept"][0]["at"] = value["at"].replace(f"/{old}", "/renamed")
        own = {**ours, "accept": []} if path.startswith("accept") else ours
        assert clean(own, theirs, base) == wanted, path
        assert clean(theirs, own, base) == wanted, path


def test_both_rename_one_thing_alike() -> None:
    ours = renamed(KELPIE_TEXT, "main", "platform-road")
    theirs = edited("tracks/platform-road/length_mm", 1500, ours)
    assert clean(ours, theirs)["tracks"]["platform-road"]["length_mm"] == 1500
    assert list(clean(ours, theirs)["tracks"]) == list(ours["tracks"])


def test_both_rename_one_thing_differently() -> None:
    ours, theirs = (renamed(KELPIE_TEXT, "siding", name) for name in ("wharf", "pier"))
    merged = merge(KELPIE, ours, theirs)
    assert_kept(KELPIE, ours, theirs, merged)
    assert_even(KELPIE, ours, theirs, merged)
    assert_marked(merged)
    said = {conflict.sentence() for conflict in merged.conflicts}
    assert "track siding: ours renames it to wharf, theirs to pier." in said
    assert finished(merged, "ours") == read(write(ours))
    assert finished(merged, "theirs") == read(write(theirs))


def test_a_new_id_that_the_other_version_uses_is_not_followed() -> None:
    ours = renamed(KELPIE_TEXT, "siding", "wharf")
    theirs = edited("tracks/wharf", {"up": "edge:sea", "down": "buffer"})
    merged = merge(KELPIE, ours, theirs)
    assert merged.renames.ours == {}
    assert_kept(KELPIE, ours, theirs, merged)
    assert_even(KELPIE, ours, theirs, merged)
    assert [c.sentence()[:30] for c in merged.conflicts] == ["track wharf: both add it: ours"]


def test_a_thing_in_another_place_is_not_the_same_thing() -> None:
    """A person must say if it is the same thing."""
    ours = edited("tracks/platform-road", {**KELPIE["tracks"]["main"], "up": "edge:east"})
    del ours["tracks"]["main"]
    said, _ = only_conflict(ours, edited("tracks/main/length_mm", 1500))
    assert said == "track main: ours removes it, theirs changes its length_mm."


def test_renamed_and_changed_in_a_document_that_is_no_plan() -> None:
    """A plan that cannot be understood is merged by its ids alone."""
    base = {**KELPIE, "unknown": 1}
    ours = {**edited("tracks/platform-road", KELPIE["tracks"]["main"]), "unknown": 1}
    del ours["tracks"]["main"]
    theirs = {**edited("tracks/main/length_mm", 1500), "unknown": 1}
    said, merged = only_conflict(ours, theirs, base)
    assert said == (
        "track main: ours removes it or renames it to platform-road, theirs changes its length_mm."
    )
    assert finished(merged, "ours")["tracks"].keys() == ours["tracks"].keys()
    arms = edited("signals/1/arms", [{"id": "1X", "to": "loop-west"}, {"id": "1R", "to": "main"}])
    said, _ = only_conflict(
        {**edited("signals/1/arms/0/to", "siding"), "unknown": 1}, {**arms, "unknown": 1}, base
    )
    assert said == "signal 1, arm 1L: theirs removes it or renames it to 1X, ours changes its to."


def test_renamed_and_not_changed() -> None:
    ours = edited("tracks/platform-road", KELPIE["tracks"]["main"])
    del ours["tracks"]["main"]
    plan = clean(ours, edited("tracks/siding/length_mm", 1))
    assert list(plan["tracks"]) == list(ours["tracks"])
    assert plan["tracks"]["siding"]["length_mm"] == 1


def test_all_things_of_a_kind_removed_and_changed() -> None:
    ours, theirs = edited("points", None), change_all(KELPIE, "points")
    merged = merge(KELPIE, ours, theirs)
    assert [c.path for c in merged.conflicts] == [("points", p) for p in ("p1", "p2", "p3")]
    assert_kept(KELPIE, ours, theirs, merged)
    assert_marked(merged)
    assert json.loads(finish(merged.text, "theirs")) == theirs


def change_all(plan: Plan, kind: str) -> Plan:
    changed = copy.deepcopy(plan)
    for thing in changed[kind].values():
        thing["note"] = "Changed."
    return changed


def test_the_whole_plan_in_two_ways() -> None:
    merged = merge({"a": 1}, {"a": 2}, {})
    assert merged.text == '<<<<<<< ours\n{\n  "a": 2\n}\n=======\n{}\n>>>>>>> theirs\n'
    assert finished(merged, "theirs") == {}


def test_one_id_for_two_things_is_a_conflict() -> None:
    """Their members must not be mixed into a third thing, which nobody wrote."""
    base = {**KELPIE, "levers": {"1": {"points": ["p1"]}}}
    ours = {**base, "levers": {**base["levers"], "2": {"points": ["p2"]}}}
    theirs = {**base, "levers": {**base["levers"], "2": {"arms": ["2"]}}}
    said, merged = only_conflict(ours, theirs, base)
    assert said == (
        'lever 2: both add it: ours has {"points": ["p2"]}, theirs has {"arms": ["2"]}.'
    )
    assert finished(merged, "ours")["levers"] == ours["levers"]
    assert finished(merged, "theirs")["levers"] == theirs["levers"]


def test_one_id_for_the_same_thing_is_none() -> None:
    plan = edited("levers/1", {"points": ["p1"]})
    assert clean(plan, copy.deepcopy(plan)) == plan


def test_numbers_are_the_same_in_other_digits() -> None:
    base = write(KELPIE)
    ours, theirs = base.replace("1450", "1450.0"), base.replace("1450", "1600")
    assert '"length_mm": 1600' in merge(base, ours, theirs).text
    assert merge(base, ours, theirs).conflicts == []
    assert '"length_mm": 1450.0' in merge(base, ours, base).text
    assert '"length_mm": 1.45e3' in merge(base, base, base.replace("1450", "1.45e3")).text


def test_two_arms_of_one_signal() -> None:
    plan = clean(edited("signals/1/arms/0/to", "siding"), edited("signals/1/arms/1/note", "Low."))
    assert plan["signals"]["1"]["arms"] == [
        {"id": "1L", "to": "siding"},
        {"id": "1R", "to": "main", "note": "Low."},
    ]


def test_arms_added_at_two_ends_of_a_bracket() -> None:
    plan = clean(edited("signals/1/arms/0", {"id": "1A"}), edited("signals/1/arms/2", {"id": "1Z"}))
    assert [arm["id"] for arm in plan["signals"]["1"]["arms"]] == ["1A", "1L", "1R", "1Z"]


def test_arms_added_at_one_place() -> None:
    """Arms give leave for routes from left to right: their order cannot be guessed."""
    ours, theirs = (edited("signals/1/arms/1", {"id": id_}) for id_ in ("1A", "1B"))
    said, _ = only_conflict(ours, theirs)
    assert (
        said
        == "signal 1, arms: ours and theirs have different orders, and the order has a meaning."
    )


def test_an_arm_removed_and_changed_is_shown_alone() -> None:
    ours = edited("signals/1/arms/0", None)
    theirs = edited("signals/1/arms/0/to", "siding")
    said, merged = only_conflict(ours, theirs)
    assert said == "signal 1, arm 1L: ours removes it, theirs changes its to."
    assert (
        '      "arms": [\n<<<<<<< ours\n=======\n        {"id": "1L", "to": "siding"},\n'
        '>>>>>>> theirs\n        {"id": "1R", "to": "main"}\n      ]\n'
    ) in merged.text


def test_the_last_arm_removed_and_changed_is_shown_with_its_signal() -> None:
    ours = edited("signals/1/arms/1", None)
    theirs = edited("signals/1/arms/1/to", "siding")
    _, merged = only_conflict(ours, theirs)
    assert json.loads(finish(merged.text, "ours")) == ours
    assert json.loads(finish(merged.text, "theirs")) == theirs


@pytest.mark.parametrize(
    ("base", "ours", "theirs", "merged"),
    [
        (["a", "b"], ["a", "b", "c"], ["d", "a", "b"], {"a", "b", "c", "d"}),
        (["a", "b"], ["a"], ["a", "b", "c"], {"a", "c"}),
        (["a"], ["b"], ["a", "c"], {"b", "c"}),
        (["a"], ["b"], ["b"], {"b"}),
        (["a"], ["b"], ["c"], None),
        (["a", "b"], ["a"], ["b"], None),
    ],
)
def test_the_tracks_of_a_platform(
    base: list[str], ours: list[str], theirs: list[str], merged: set[str] | None
) -> None:
    plans = [edited("platforms/A/tracks", tracks) for tracks in (base, ours, theirs)]
    if merged is None:
        only_conflict(plans[1], plans[2], plans[0])
    else:
        assert set(clean(plans[1], plans[2], plans[0])["platforms"]["A"]["tracks"]) == merged


def groups(*worked: str) -> Plan:
    return {**KELPIE, "worked_together": [list(group) for group in worked]}


@pytest.mark.parametrize(
    ("base", "ours", "theirs", "merged"),
    [
        (("ab",), ("ab", "cd"), ("ef", "ab"), {"ab", "cd", "ef"}),
        (("ab",), ("abc",), ("bad",), {"abcd"}),
        (("abc",), ("ab",), ("abcd",), {"abd"}),
        (("ab", "cd"), ("ba",), ("cd", "ab"), {"ab"}),
        ((), ("ab",), ("ba",), {"ab"}),
        (("ab",), (), ("abc",), None),
        (("abc",), ("ab",), ("bc",), None),
    ],
)
def test_worked_together(
    base: tuple[str, ...],
    ours: tuple[str, ...],
    theirs: tuple[str, ...],
    merged: set[str] | None,
) -> None:
    if base == ("abc",) and merged is None:
        merged = {"b"}  # each removes another member, and one member alone is no group
        said, _ = only_conflict(groups(*ours), groups(*theirs), groups(*base))
        assert "together remove all of it" in said
    elif merged is None:
        only_conflict(groups(*ours), groups(*theirs), groups(*base))
    else:
        plan = clean(groups(*ours), groups(*theirs), groups(*base))
        assert {"".join(sorted(group)) for group in plan["worked_together"]} == merged


def test_accepted_findings_are_known_by_rule_and_place() -> None:
    def accepting(**because: str) -> Plan:
        entries = [{"rule": "r", "at": f"/{at}", "because": why} for at, why in because.items()]
        return {**KELPIE, "accept": entries}

    plan = clean(accepting(a="x", b="1"), accepting(c="z", a="y"), accepting(a="x"))
    assert {e["at"]: e["because"] for e in plan["accept"]} == {"/a": "y", "/b": "1", "/c": "z"}
    said, _ = only_conflict(accepting(a="y"), accepting(a="z"), accepting(a="x"))
    assert said == (
        'accepted finding r at /a, because: ours has "y", theirs has "z"; before, it was "x".'
    )


def test_new_things_keep_their_places() -> None:
    base: Plan = {"tracks": {key: {} for key in "abc"}}
    ours: Plan = {"tracks": {key: {} for key in "axbc"}}
    theirs: Plan = {"tracks": {key: {} for key in "abyc"}}
    assert list(read(merge(base, ours, theirs).text)["tracks"]) == [*"axbyc"]
    moved: Plan = {"tracks": {key: {} for key in "cyba"}}
    assert list(read(merge(base, ours, moved).text)["tracks"]) == [*"cybax"]


def test_the_text_of_ours_stays_if_it_is_the_merged_plan() -> None:
    base = json.dumps(KELPIE, indent=8)
    ours = base.replace("Kelpie", "Old Kelpie")
    assert merge(base, ours, base).text == ours
    assert merge(base, base, ours).text == ours
    tidy = tidied(base)
    assert merge(base, tidy, ours).text == tidied(ours)


def test_line_ends_and_empty_lines() -> None:
    base = tidied(write(KELPIE)).replace('    "siding"', '\n    "siding"')
    ours = base.replace("1450", "1500").replace("\n", "\r\n")
    theirs = base.replace("320", "330").replace('\n    "points"', '\n\n    "points"')
    merged = merge(base, ours, theirs).text
    assert merged.count("\n") == merged.count("\r\n")
    expected = base.replace("1450", "1500").replace("320", "330")
    assert merged.replace("\r\n", "\n") == expected
    assert sheet(merged).crlf
