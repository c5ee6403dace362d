"""Giving a thing another id, wherever it is named."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.kinds import NAMED_BY_KEY, ONE_OF
from trappoint.core.quoting import listed
from trappoint.lsp.fixes import Edit
from trappoint.model.references import ANYTHING, told_apart_from
from trappoint.schema.published import layout_schema

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.lsp.names import Key, LiveText, Name


class Refused(NamedTuple):
    """Why a thing can not be called so."""

    why: str


def renamable(sketch: LiveText, offset: int) -> Name | Refused:
    """Return the name at an offset, if the thing can be given another."""
    name = sketch.at(offset)
    if name is None:
        return Refused("There is no id here that could be changed.")
    kind, called = key = sketch.key_of(name)
    if kind == "rules":
        return Refused("The names of rules are Trappoint's own.")
    if kind == "legs" and not sketch.known(key):
        return Refused("The legs of points and crossings have the names that the format gives.")
    if not sketch.known(key):
        return Refused(f"Nothing in this plan is called {called}.")
    if len(sketch.defined.get(key, ())) > 1:
        return Refused(
            f"Two things are called {called}: first give one of them another id by hand."
        )
    return name


def rename(sketch: LiveText, offset: int, new: str) -> list[Edit] | Refused:
    """Return the changes that give a thing another id, or why it can not have it."""
    name = renamable(sketch, offset)
    if isinstance(name, Refused):
        return name
    key = sketch.key_of(name)
    refused = (
        _bad(key[0], new) or _taken(sketch, key, new) or unclear(sketch, key, new, sketch.names)
    )
    return refused or [edit_of(use, new) for use in sketch.used[key]]


def edit_of(use: Name, new: str) -> Edit:
    """Return the change that writes another id where a thing is named."""
    before, after = (json.dumps(text, ensure_ascii=False)[1:-1] for text in use.around)
    return Edit(use.start, use.end, f"{before}{new}{after}")


def _bad(kind: str, new: str) -> Refused | None:
    form = layout_schema()["$defs"]["lever_number" if kind == "levers" else "id"]
    if re.fullmatch(form["pattern"].strip("^$"), new, re.ASCII):
        return None
    return Refused(f"“{new}” can not be an id. {form['description']}")


def _taken(sketch: LiveText, key: Key, new: str) -> Refused | None:
    kind, called = key
    if new == called or (kind == "legs" and new == called.partition(".")[2]):
        return Refused(f"It is called {new} already.")
    if kind == "legs":
        table = called.partition(".")[0]
        if ("legs", f"{table}.{new}") in sketch.defined:
            return Refused(f"{table} has a road {new} already.")
        return None
    for other in told_apart_from(kind):
        if sketch.known((other, new)):
            there = "there are points" if other == "points" else f"there is {_a(other)}"
            return Refused(f"{new} is taken: {there} of that name.")
    return None


def _a(kind: str) -> str:
    word = ONE_OF.get(kind, kind.rstrip("s"))
    if kind == "points":
        return word
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def unclear(sketch: LiveText, key: Key, new: str, names: Iterable[Name]) -> Refused | None:
    """Refuse where a bare id under ``accept`` would come to mean something else.

    ``names`` are those of the plan that has the thing, or of one that names it on a board.
    """
    kind, called = key
    if kind not in ANYTHING:
        return None
    for name in names:
        if name.kinds != ANYTHING:
            continue
        others = [k for k in NAMED_BY_KEY if k != kind and (k, called) in sketch.defined]
        if name.name == called and others:
            what = listed([_a(each) for each in (kind, *others)], "and")
            return Refused(
                f"An accepted finding is at {'/'.join((*name.boards, called))}, which is {what}: "
                f"write a pointer there, such as /{kind}/{'~1'.join((*name.boards, called))}."
            )
        if name.name == new:
            return Refused(
                f"An accepted finding is at {'/'.join((*name.boards, new))}, and would then be at "
                f"this {ONE_OF[kind]} too: write a pointer there."
            )
    return None
