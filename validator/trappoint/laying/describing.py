"""Verbs that add, change and take out things, each described by its measures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.kinds import ONE_OF
from trappoint.core.quoting import described, listed
from trappoint.core.quoting import number as digits
from trappoint.laying.draft import as_tree, plain
from trappoint.laying.measures import Fresh, Thing
from trappoint.laying.mending import take_out
from trappoint.laying.naming import fresh
from trappoint.laying.reference_measures import LONG_NAME, NOTE, OrNone
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb
from trappoint.model.names import with_id

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from trappoint.laying.draft import Draft
    from trappoint.laying.draft import Thing as Data
    from trappoint.laying.measures import Measure

Given = dict[str, Any]
"""The measures that a step gives, by their keys in the format."""


class Described(NamedTuple):
    """A kind of thing that steps add, change and take out."""

    kind: str
    """The key of its map."""
    measures: Mapping[str, Measure]
    """Its keys in the format, without name and note."""
    needed: tuple[str, ...] = ()
    """The keys that each such thing has."""
    first_id: Callable[[Draft, Given], str] | None = None
    """The id of a new one, if the step gives none; None if the step must."""
    ready: Callable[[Draft, Given], None] | None = None
    """Puts the measures of a new one or of a change right, or refuses them."""

    @property
    def one(self) -> str:
        """The noun for one, which is the key under which steps name it."""
        return ONE_OF[self.kind]

    def all_measures(self) -> dict[str, Measure]:
        """Return its measures with name and note."""
        return {**self.measures, "name": LONG_NAME, "note": NOTE}

    def add(self, verb: str, told: str) -> Verb:
        """Return the verb that adds one."""
        needed = self.needed if self.first_id else ("id", *self.needed)
        return Verb(verb, told, self.new_measures(), needed, self.added)

    def new_measures(self) -> dict[str, Measure]:
        """Return the measures of a new one."""
        return {"id": Fresh(self.kind), **self.all_measures()}

    def change(self, verb: str, told: str) -> Verb:
        """Return the verb that changes one; null takes a measure away."""
        measures = {
            key: measure if key in self.needed else OrNone(measure)
            for key, measure in self.all_measures().items()
        }
        return Verb(
            verb, told, {self.one: Thing((self.kind,)), **measures}, (self.one,), self._changed
        )

    def gone(self, verb: str, told: str) -> Verb:
        """Return the verb that takes one out."""
        return Verb(verb, told, {self.one: Thing((self.kind,))}, (self.one,), self._taken_out)

    def added(self, draft: Draft, **measures: Any) -> str:
        """Add one and return a sentence on it."""
        given = as_keys(measures)
        if self.ready:
            self.ready(draft, given)
        key = given.pop("id", None) or (self.first_id(draft, given) if self.first_id else "")
        draft.add(self.kind, key, {name: as_tree(value) for name, value in given.items()})
        return f"The plan has {called(draft, self.kind, key)} now."

    def _changed(self, draft: Draft, **measures: Any) -> str:
        given = as_keys(measures)
        key = given.pop(self.one)
        if self.ready:
            self.ready(draft, given)
        return changed(draft, (self.kind, key), draft.thing(self.kind, key), given)

    def _taken_out(self, draft: Draft, **measures: Any) -> str:
        return taken_out(draft, self.kind, measures[self.one])


def id_from(kind: str, stem: str) -> Callable[[Draft, Given], str]:
    """Return the function that gives a new thing its id: from its name, or a free one."""
    return lambda draft, given: fresh(draft, kind, stem, given.get("name"))


def as_keys(measures: Mapping[str, Any]) -> Given:
    """Return the measures under their own keys: ``for`` for the parameter ``for_``."""
    return {key.removesuffix("_"): value for key, value in measures.items()}


def changed(draft: Draft, place: tuple[str, str], thing: Data, given: Given) -> str:
    """Set the measures of a thing and return a sentence on them; None takes one away."""
    if not given:
        raise Refused("The step changes nothing.", "Give a measure to change.")
    put_into(thing, given)
    draft.touch(*place)
    return f"{called(draft, *place, begin=True)}: {listed(list(_told(given)), 'and')}."


def put_into(thing: Data, given: Given) -> None:
    """Set the measures of a thing; None takes one away."""
    for key, value in given.items():
        if value is None:
            thing.pop(key, None)
        else:
            thing[key] = as_tree(value)


def taken_out(draft: Draft, kind: str, key: str) -> str:
    """Take out a thing with all that cannot be without it, and return a sentence on it."""
    name = called(draft, kind, key, begin=True)
    more = take_out(draft, (kind, key))
    if not more:
        return f"{name} is taken out."
    return f"{name} is taken out, and with it {listed(list(more), 'and')}."


def entries(draft: Draft, kind: str) -> list[Any]:
    """Return the entries of a list of the plan, to read; empty if there is none."""
    found = draft.tree.get(kind)
    return found if isinstance(found, list) else []


def called(draft: Draft, kind: str, key: str, *, begin: bool = False) -> str:
    """Return what people call a thing: ``platform A``, ``signal Down home (2)``."""
    thing = draft.arms().get(key, {}) if kind == "arms" else draft.things(kind).get(key, {})
    words = f"{ONE_OF[kind]} {with_id(str(thing.get('name', '')), key)}"
    return words[:1].upper() + words[1:] if begin else words


def _told(given: Given) -> Iterator[str]:
    for key, value in given.items():
        word, unit = (
            _WORDS.get(key, key.replace("_mm", "").replace("_percent", "").replace("_", " ")),
            "",
        )
        if key.endswith("_mm"):
            unit = " mm"
        elif key.endswith("_percent"):
            unit = " per cent"
        if value is None:
            yield f"no {word}"
        elif isinstance(value, bool):
            yield word if value else f"not {word}"
        elif isinstance(value, dict):
            each = [f"{name} {_text(own)}" for name, own in value.items()]
            yield f"{word} {listed(each, 'and')}"
        else:
            yield f"{word} {_text(value)}{unit}".rstrip()


def _text(value: Any) -> str:
    value = plain(value)
    if isinstance(value, list | tuple):
        return listed([_text(each) for each in value], "and") or "none"
    if isinstance(value, str):
        return value if len(value) <= _LONGEST else f"{value[: _LONGEST - 3]}..."
    if value is True:
        return "any train"
    return digits(value) if isinstance(value, int | float) else described(value)


_LONGEST = 60
_WORDS = {
    "at_mm": "from the up end",
    "for": "for trains that run",
    "from_centre_mm": "from the centre of its track",
    "post_mm": "post",
    "spacing_mm": "tracks apart",
    "lock": "facing-point lock",
    "never_with": "never with",
    "under": "beneath",
    "longest_coach_mm": "longest coach",
}
"""The words for measures whose keys do not say it."""
