"""Versions of a plan: random changes, and a merged file as a person finishes it."""

from __future__ import annotations

import copy
import itertools
import json
import random
import re
from collections.abc import Callable, Iterator
from typing import Any

from tidy.documents import Digits, Json, read
from trappoint.merging.merge import Merged, merge_sheets
from trappoint.tidying.tree import SourceTree, read_sheet

Plan = dict[str, Any]

MARKS = ("<<<<<<< ours", "=======", ">>>>>>> theirs")


def sheet(document: Json) -> SourceTree:
    """Read a document, given as data or as its text."""
    text = document if isinstance(document, str) else write(document)
    found = read_sheet(text, "plan")
    assert isinstance(found, SourceTree)
    return found


def write(document: Json) -> str:
    """Write a document with the digits of its numbers as they are."""
    if isinstance(document, Digits):
        return str(document)
    if isinstance(document, dict):
        return f"{{{', '.join(f'{json.dumps(k)}: {write(v)}' for k, v in document.items())}}}"
    if isinstance(document, list):
        return f"[{', '.join(map(write, document))}]"
    return json.dumps(document)


def merge(base: Json, ours: Json, theirs: Json) -> Merged:
    """Merge three documents."""
    return merge_sheets(sheet(base), sheet(ours), sheet(theirs))


def finish(text: str, side: str) -> str:
    """Keep one of each two versions and delete the marks, as a person does."""
    kept, now = [], "both"
    for line in text.splitlines(keepends=True):
        if line.rstrip("\r\n") in MARKS:
            now = {MARKS[0]: "ours", MARKS[1]: "theirs", MARKS[2]: "both"}[line.rstrip("\r\n")]
        elif now in ("both", side):
            kept.append(line)
    assert now == "both"
    return "".join(kept)


def finished(merged: Merged, side: str) -> Json:
    """Return the data of a merged file with the version of one side in each conflict."""
    return read(finish(merged.text, side))


def leaves(value: Json, path: tuple[str, ...] = ()) -> Iterator[tuple[object, ...]]:
    """Yield every value that is not an object or a list, with the keys that lead to it.

    The key of a list's entry is its id, or ``*`` if it has none.
    """
    if isinstance(value, dict):
        for key, member in value.items():
            yield from leaves(member, (*path, key))
    elif isinstance(value, list):
        for entry in value:
            id_ = entry.get("id") if isinstance(entry, dict) else None
            yield from leaves(entry, (*path, id_ if type(id_) is str else "*"))
    elif isinstance(value, Digits):
        yield (*path, float(value))
    else:
        yield (*path, type(value).__name__, value)


def also_called(leaves_: set[tuple[object, ...]], merged: Merged) -> set[tuple[object, ...]]:
    """Return leaves with each old id in them and with its new id, in every combination.

    These are more than can exist: a leaf may name one of several things with the same id.
    """
    now = {old: new for (_, old), new in (merged.renames.ours | merged.renames.theirs).items()}
    found = set(leaves_) if not now else set()
    for leaf in leaves_ if now else ():
        found.update(itertools.product(*({part, _called_now(part, now)} for part in leaf)))
    return found


def _called_now(part: object, now: dict[str, str]) -> object:
    if not isinstance(part, str):
        return part
    return re.sub(r"[A-Za-z0-9][\w-]*", lambda word: now.get(word[0], word[0]), part)


def without_order(value: Json) -> Json:
    """Return data with lists without an order sorted, and numbers by value."""
    if isinstance(value, Digits):
        return ("number", float(value))
    if isinstance(value, dict):
        return {key: without_order(member) for key, member in value.items()}
    if isinstance(value, list):
        entries = [without_order(entry) for entry in value]
        ordered = any(isinstance(entry, dict) and "id" in entry for entry in value)
        return entries if ordered else sorted(entries, key=repr)
    return (type(value).__name__, value)


Change = Callable[[random.Random, Plan], None]


def change(rng: random.Random, plan: Plan, times: int) -> Plan:
    """Return a plan with ``times`` random changes."""
    changed = copy.deepcopy(plan)
    for _ in range(times):
        rng.choice(CHANGES)(rng, changed)
    return changed


def _thing(rng: random.Random, plan: Plan) -> tuple[Plan, str]:
    kinds = [kind for kind, things in plan.items() if isinstance(things, dict) and things]
    things = plan[rng.choice(kinds or ["tracks"])]
    return things, rng.choice(sorted(things) or [""])


def _take_away(rng: random.Random, plan: Plan) -> None:
    things, id_ = _thing(rng, plan)
    things.pop(id_, None)


def _add(rng: random.Random, plan: Plan) -> None:
    things, id_ = _thing(rng, plan)
    if id_:
        things[f"new-{rng.randrange(4)}"] = copy.deepcopy(things[id_])


def _say(rng: random.Random, plan: Plan) -> None:
    things, id_ = _thing(rng, plan)
    if id_:
        things[id_][rng.choice(("note", "name"))] = rng.choice(("a", "b", "c"))


def _unsay(rng: random.Random, plan: Plan) -> None:
    things, id_ = _thing(rng, plan)
    if things.get(id_):
        del things[id_][rng.choice(sorted(things[id_]))]


def _measure(rng: random.Random, plan: Plan) -> None:
    for track in rng.sample(sorted(plan["tracks"]), min(1, len(plan["tracks"]))):
        plan["tracks"][track]["length_mm"] = rng.choice((100, 250.5, 250.0, 250))


def _rearm(rng: random.Random, plan: Plan) -> None:
    signals = [s for s in plan.get("signals", {}).values() if s.get("arms")]
    if not signals:
        return
    arms = rng.choice(signals)["arms"]
    what = rng.randrange(4)
    if what == 0:
        arms.insert(rng.randint(0, len(arms)), {"id": f"new-{rng.randrange(9)}"})
    elif what == 1 and len(arms) > 1:
        arms.pop(rng.randrange(len(arms)))
    elif what == 2:
        rng.shuffle(arms)
    else:
        rng.choice(arms)["never_with"] = rng.sample(("1", "2", "3", "4"), rng.randint(0, 3))


def _regroup(rng: random.Random, plan: Plan) -> None:
    groups = plan.setdefault("worked_together", [])
    what = rng.randrange(3)
    if what == 0 or not groups:
        groups.append(rng.sample(("p1", "p2", "p3", "p4", "p5"), 2))
    elif what == 1:
        groups.pop(rng.randrange(len(groups)))
    else:
        group = rng.choice(groups)
        group[:] = list(dict.fromkeys([*group, rng.choice(("p6", "p7", "p8"))]))


def _accept(rng: random.Random, plan: Plan) -> None:
    at = f"/tracks/{rng.randrange(3)}"
    plan.setdefault("accept", [])
    plan["accept"] = [entry for entry in plan["accept"] if entry["at"] != at]
    if rng.random() < 0.7:
        plan["accept"].append({"rule": "unheld-exit", "at": at, "because": rng.choice("abc")})


def _shuffle(rng: random.Random, plan: Plan) -> None:
    for kind in ("tracks", "signals"):
        things = plan.get(kind, {})
        plan[kind] = dict(rng.sample(list(things.items()), len(things)))


def _rename(rng: random.Random, plan: Plan) -> None:
    """Change an id everywhere."""
    things, id_ = _thing(rng, plan)
    new, text = f"renamed-{rng.randrange(9)}", json.dumps(plan)
    if things and id_ not in plan and new not in text:
        plan.clear()
        plan |= json.loads(text.replace(f'"{id_}"', f'"{new}"').replace(f'"{id_}.', f'"{new}.'))


def _drop(rng: random.Random, plan: Plan) -> None:
    if rng.random() < 0.3:
        plan.pop(rng.choice(("levers", "scenes", "yards", "worked_together", "accept")), None)


CHANGES: tuple[Change, ...] = (
    *(_take_away, _add, _say, _say, _unsay, _measure, _rearm, _rearm, _regroup, _accept),
    *(_shuffle, _drop, _rename, _rename),
)
KEEPING_IDS = tuple(change for change in CHANGES if change is not _rename)
