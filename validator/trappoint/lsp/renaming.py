"""Giving a thing another id, wherever it is named."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from trappoint.core.kinds import NAMED_BY_KEY, ONE_OF
from trappoint.core.quoting import listed
from trappoint.lsp.fixes import Edit
from trappoint.model.references import ANYTHING, told_apart_from
from trappoint.schema.published import layout_schema

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.lsp.names import Key, LiveText, Name


class RefusedError(Exception):
    """What is asked of a name cannot be done. The message says why."""


def renamable(sketch: LiveText, offset: int) -> Name:
    """Return the name at an offset. Raises ``RefusedError`` where it cannot be changed."""
    name = sketch.at(offset)
    if name is None:
        raise RefusedError("There is no id here that could be changed.")
    kind, called = key = sketch.key_of(name)
    if kind == "rules":
        raise RefusedError("The names of rules are Trappoint's own.")
    if kind == "legs" and not sketch.known(key):
        raise RefusedError("The legs of points and crossings have the names that the format gives.")
    if not sketch.known(key):
        raise RefusedError(f"Nothing in this plan is called {called}.")
    if len(sketch.defined.get(key, ())) > 1:
        raise RefusedError(
            f"Two things are called {called}: first give one of them another id by hand."
        )
    return name


def rename(sketch: LiveText, offset: int, new: str) -> list[Edit]:
    """Return the changes that give a thing another id.

    Raises ``RefusedError`` where it cannot have it.
    """
    key = sketch.key_of(renamable(sketch, offset))
    _must_be_id(key[0], new)
    _must_be_free(sketch, key, new)
    must_stay_clear(sketch, key, new, sketch.names)
    return [edit_of(use, new) for use in sketch.used[key]]


def edit_of(use: Name, new: str) -> Edit:
    """Return the change that writes another id where a thing is named."""
    before, after = (json.dumps(text, ensure_ascii=False)[1:-1] for text in use.around)
    return Edit(use.start, use.end, f"{before}{new}{after}")


def _must_be_id(kind: str, new: str) -> None:
    form = layout_schema()["$defs"]["lever_number" if kind == "levers" else "id"]
    if not re.fullmatch(form["pattern"].strip("^$"), new, re.ASCII):
        raise RefusedError(f"“{new}” cannot be an id. {form['description']}")


def _must_be_free(sketch: LiveText, key: Key, new: str) -> None:
    kind, called = key
    if new == called or (kind == "legs" and new == called.partition(".")[2]):
        raise RefusedError(f"It is called {new} already.")
    if kind == "legs":
        table = called.partition(".")[0]
        if ("legs", f"{table}.{new}") in sketch.defined:
            raise RefusedError(f"{table} has a road {new} already.")
        return
    for other in told_apart_from(kind):
        if sketch.known((other, new)):
            there = "there are points" if other == "points" else f"there is {_a(other)}"
            raise RefusedError(f"{new} is taken: {there} of that name.")


def _a(kind: str) -> str:
    word = ONE_OF.get(kind, kind.rstrip("s"))
    if kind == "points":
        return word
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def must_stay_clear(sketch: LiveText, key: Key, new: str, names: Iterable[Name]) -> None:
    """Raise ``RefusedError`` where a bare id under ``accept`` would come to mean something else.

    ``names`` are those of the plan that has the thing, or of one that names it on a board.
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
                f"write a pointer there, such as /{kind}/{'~1'.join((*name.boards, called))}."
            )
        if name.name == new:
            raise RefusedError(
                f"An accepted finding is at {'/'.join((*name.boards, new))}, and would then be at "
                f"this {ONE_OF[kind]} too: write a pointer there."
            )
