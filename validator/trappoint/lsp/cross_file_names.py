"""Names across files: things on boards, and the plans put together from them.

A thing has its id in its own file. A plan with this file as a board calls it ``BOARD/ID``; a plan
with that plan as a board calls it ``BOARD/BOARD/ID``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import visible
from trappoint.lsp.document_state import full_path
from trappoint.lsp.renaming import RefusedError, edit_of, must_stay_clear, renamable, rename

if TYPE_CHECKING:
    from trappoint.fixing.text_fixes import Edit
    from trappoint.lsp.names import Key, LiveText, Name
    from trappoint.lsp.workspace import Shelf


OF_ONE_FILE = ("legs", "joints", "rules")
"""The kinds of things that no other plan can name."""


class NamedPlace(NamedTuple):
    """A thing in its own file, at the place that defines or uses its id."""

    path: str
    sketch: LiveText
    name: Name

    @property
    def key(self) -> Key:
        """Its kind and id in its own file."""
        return self.sketch.key_of(self.name)


class Uses(NamedTuple):
    """The places in a plan that name a thing."""

    path: str
    sketch: LiveText
    names: tuple[Name, ...]


class PlanChange(NamedTuple):
    """The changes to one plan."""

    path: str
    sketch: LiveText
    edits: list[Edit]


def thing_on_board(shelf: Shelf, path: str, name: Name) -> NamedPlace:
    """Return the thing on a board that a name in a plan means, in the board's own file.

    Raises ``RefusedError`` if there is no such thing.
    """
    board = "/".join(name.boards)
    target = shelf.board(path, name.boards)
    sketch = shelf.sketch(target) if target else None
    if target is None or sketch is None:
        raise RefusedError(f"The plan of the board {visible(board)} cannot be read.")
    named = sketch.used.get(sketch.key_of(name), ())
    if not named:
        raise RefusedError(
            f"The board {visible(board)} has nothing with the id {visible(name.name)}."
        )
    return NamedPlace(target, sketch, next((each for each in named if each.defines), named[0]))


def place_of(thing: NamedPlace) -> list[Name]:
    """Return the places that define a thing's id; for an edge, the track ends."""
    found = thing.sketch.defined.get(thing.key)
    return found or [n for n in thing.sketch.used[thing.key] if n.path[0] == "tracks"]


def _names_on(shelf: Shelf, whole: str, board: str) -> Uses | None:
    """Return everything that a plan names on boards with a certain file; None if unreadable."""
    sketch = shelf.sketch(whole)
    if sketch is None:
        return None
    chains = dict.fromkeys(name.boards for name in sketch.on_boards)
    leading = {
        boards
        for boards in chains
        if (found := shelf.board(whole, boards)) and full_path(found) == full_path(board)
    }
    return Uses(whole, sketch, tuple(n for n in sketch.on_boards if n.boards in leading))


def _of_thing(named: Uses, thing: NamedPlace) -> Uses:
    """Return only the names of one thing."""
    key = thing.key
    same = (n for n in named.names if n.name == key[1] and thing.sketch.key_of(n) == key)
    return named._replace(names=tuple(same))


def uses_everywhere(shelf: Shelf, thing: NamedPlace) -> list[Uses]:
    """Return the places that name a thing: in its own file, then in the assembled plans."""
    found = [Uses(thing.path, thing.sketch, tuple(thing.sketch.used.get(thing.key, ())))]
    if thing.key[0] in OF_ONE_FILE:
        return found
    for whole in shelf.wholes(thing.path).paths:
        named = _names_on(shelf, whole, thing.path)
        uses = _of_thing(named, thing) if named else None
        if uses is not None and uses.names:
            found.append(uses)
    return found


def renamable_thing(shelf: Shelf, path: str, sketch: LiveText, offset: int) -> NamedPlace:
    """Return the thing named at an offset of a plan, here or on a board.

    Raises ``RefusedError`` if it cannot be renamed.
    """
    board = sketch.on_board_at(offset)
    if board is None:
        return NamedPlace(path, sketch, renamable(sketch, offset))
    thing = thing_on_board(shelf, path, board)
    unread = shelf.not_read(thing.path)
    if unread:
        raise RefusedError(unread)
    renamable(thing.sketch, thing.name.start)  # raises RefusedError if not
    return thing


def rename_everywhere(shelf: Shelf, thing: NamedPlace, new: str) -> list[PlanChange]:
    """Return the changes that give a thing another id, its own file first.

    Raises ``RefusedError``, also if plans that may name the thing are unknown or unreadable.
    """
    edits = rename(thing.sketch, thing.name.start, new)
    found = [PlanChange(thing.path, thing.sketch, edits)]
    if thing.key[0] in OF_ONE_FILE:
        return found
    wholes = shelf.wholes(thing.path)
    if wholes.unsure:
        raise RefusedError(
            f"{wholes.unsure.rstrip('.')}. A plan put together from it may name "
            f"{thing.key[1]}. Solve this first."
        )
    for whole in wholes.paths:
        named = _names_on(shelf, whole, thing.path)
        if named is None:
            raise RefusedError(f"{visible(whole)} may name {thing.key[1]}, but cannot be read.")
        try:
            must_stay_clear(thing.sketch, thing.key, new, named.names)
        except RefusedError as refused:
            raise RefusedError(f"{visible(whole)}: {refused}") from None
        uses = _of_thing(named, thing)
        if uses.names:
            edits = [edit_of(use, new) for use in uses.names]
            found.append(PlanChange(whole, uses.sketch, edits))
    return found
