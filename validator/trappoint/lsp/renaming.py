"""Renaming: gives a thing another id everywhere in a plan."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from trappoint.core.kinds import NAMED_BY_KEY, ONE_OF
from trappoint.core.quoting import listed
from trappoint.fixing.text_fixes import Edit
from trappoint.model.references import ANYTHING, told_apart_from
from trappoint.schema.published import layout_schema

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.lsp.names import Key, LiveText, Name


class RefusedError(Exception):
    """Raised if a thing cannot be renamed; the message gives the reason."""


def renamable(sketch: LiveText, offset: int) -> Name:
    """Return the name at an offset. Raises ``RefusedError`` if it cannot be changed."""
    name = sketch.at(offset)
    if name is None:
        raise RefusedError("There is no id here to rename.")
    kind, called = key = sketch.key_of(name)
    if kind == "rules":
        raise RefusedError("The names of rules cannot be changed.")
    if kind == "legs" and not sketch.known(key):
        raise RefusedError("The format fixes the names of the legs of points and crossings.")
    if not sketch.known(key):
        raise RefusedError(f"The plan has nothing with the id {called}.")
    if len(sketch.defined.get(key, ())) > 1:
        raise RefusedError(f"Two things have the id {called}. Change one of them by hand first.")
    return name


def rename(sketch: LiveText, offset: int, new: str) -> list[Edit]:
    """Return the changes that give a thing another id.

    Raises ``RefusedError`` if the id is not allowed.
    """
    key = sketch.key_of(renamable(sketch, offset))
    _must_be_id(key[0], new)
    _must_be_free(sketch, key, new)
    must_stay_clear(sketch, key, new, sketch.names)
    return [edit_of(use, new) for use in sketch.used[key]]


def edit_of(use: Name, new: str) -> Edit:
    """Return the change of one place that names a thing."""
    before, after = (json.dumps(text, ensure_ascii=False)[1:-1] for text in use.around)
    return Edit(use.start, use.end, f"{before}{new}{after}")


def _must_be_id(kind: str, new: str) -> None:
    form = layout_schema()["$defs"]["lever_number" if kind == "levers" else "id"]
    if not re.fullmatch(form["pattern"].strip("^$"), new, re.ASCII):
        raise RefusedError(f"“{new}” is not a valid id. {form['description']}")


def _must_be_free(sketch: LiveText, key: Key, new: str) -> None:
    kind, called = key
    if new == called or (kind == "legs" and new == called.partition(".")[2]):
        raise RefusedError(f"The id is {new} already.")
    if kind == "legs":
        table = called.partition(".")[0]
        if ("legs", f"{table}.{new}") in sketch.defined:
            raise RefusedError(f"{table} already has a road {new}.")
        return
    for other in told_apart_from(kind):
        if sketch.known((other, new)):
            there = "there are points" if other == "points" else f"there is {_a(other)}"
            raise RefusedError(f"{new} is taken: {there} with this id.")


def _a(kind: str) -> str:
    word = ONE_OF.get(kind, kind.rstrip("s"))
    if kind == "points":
        return word
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def must_stay_clear(sketch: LiveText, key: Key, new: str, names: Iterable[Name]) -> None:
    """Raise ``RefusedError`` if a bare id under ``accept`` would then mean something else.

    ``names`` are the names in the thing's own plan, or in a plan that has it on a board.
    """
    kind, called = key
    if kind not in ANYTHING:
        return
    for name in names:
        if name.kinds != ANYTHING:
            continue
        others = [k for k in NAMED_BY_KEY if k != kind and (k, called) in sketch.defined]
        if name.name == called and others:
            what = listed([_a(each) for each in (kind, *others)], "and")
            raise RefusedError(
                f"An accepted finding is at {'/'.join((*name.boards, called))}, which is {what}: "
                f"write a pointer instead, such as /{kind}/{'~1'.join((*name.boards, called))}."
            )
        if name.name == new:
            raise RefusedError(
                f"An accepted finding is at {'/'.join((*name.boards, new))}, and would then mean "
                f"this {ONE_OF[kind]} too: write a pointer instead."
            )
