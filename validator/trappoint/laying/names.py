"""Verbs for names, ids and notes, for the order of things, and for accepted findings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.kinds import LINES, MAPS, ONE_OF
from trappoint.core.quoting import described, listed, quoted
from trappoint.core.spelling import nearest
from trappoint.laying.describing import as_keys, called, changed, entries
from trappoint.laying.draft import as_tree
from trappoint.laying.measures import ID, LENGTH, Text, Word
from trappoint.laying.mending import rename
from trappoint.laying.naming import taken
from trappoint.laying.reference_measures import LONG_NAME, NOTE, Form, OrNone, Place
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb, verb
from trappoint.model.references import ANYTHING, told_apart_from

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft

NEW_ID = Form(ID.pattern, "an id of at most 40 letters, digits, hyphens and underlines")


def _thing_at(draft: Draft, place: tuple[str, str]) -> dict[str, Any]:
    """Return the object of a place that can have a name or a note."""
    kind, key = place
    if kind == "plan":
        return draft.tree
    if kind == "arms":
        return draft.arms()[key]
    if kind in LINES:
        raise Refused(f"A plan says nothing of {ONE_OF[kind]} {key} there.", "Use describe-edge.")
    return draft.thing(kind, key)


def _name(draft: Draft, *, at: tuple[str, str], name: str | None) -> str:
    if at[0] == "plan":
        raise Refused("The name of a plan is its title.", "Use call-plan.")
    before = called(draft, *at, begin=True)
    thing = _thing_at(draft, at)
    changed(draft, at, thing, {"name": name})
    return f"{before} is called {name}." if name else f"{before} has no name now."


def _note(draft: Draft, *, at: tuple[str, str], note: str | None) -> str:
    thing = _thing_at(draft, at)
    what = "The plan" if at[0] == "plan" else called(draft, *at, begin=True)
    if note is None:
        thing.pop("note", None)
    else:
        thing["note"] = note
    if at[0] != "plan":
        draft.touch(*at)
    return f"{what} has a note." if note else f"{what} has no note now."


# --- ids


def _rename(draft: Draft, *, at: tuple[str, str], to: str) -> str:
    kind, key = at
    if kind == "plan":
        raise Refused("A plan has a title and no id.", "Use call-plan.")
    if kind == "levers":
        raise Refused("A lever has a number and no id.", "Use move-lever.")
    if key == to:
        raise Refused(f"The id is {to} already.", "Give another id.")
    for other in told_apart_from(kind):
        names = taken(draft, other) if other in LINES else _names(draft, other)
        if to in names:
            raise Refused(f"{to} is taken by {_a(other)}.", "Give another id.")
    _stay_clear(draft, at, to)
    before = called(draft, kind, key, begin=True)
    rename(draft, kind, key, to)
    return f"{before} has the id {to} now, everywhere in this plan."


def _names(draft: Draft, kind: str) -> set[str]:
    return set(draft.arms() if kind == "arms" else draft.things(kind))


def _a(kind: str) -> str:
    noun = ONE_OF.get(kind, kind.rstrip("s"))
    return noun if noun == "points" else f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _stay_clear(draft: Draft, at: tuple[str, str], to: str) -> None:
    """Refuse a new id with which an accepted finding would mean another thing."""
    kind, key = at
    if kind not in ANYTHING:
        return
    for entry in entries(draft, "accept"):
        where = entry["at"]
        others = [each for each in ANYTHING if each != kind and key in _names(draft, each)]
        if where == to or (where == key and others):
            raise Refused(
                f"An accepted finding is at {where}, which would then mean another thing too.",
                "Take back the accepted finding first.",
            )


# --- the plan itself


def _describe_plan(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    if "schema" in given:
        given["$schema"] = given.pop("schema")
    if not given:
        raise Refused("The step changes nothing.", "Give a measure to change.")
    for key, value in given.items():
        if value is None:
            draft.tree.pop(key, None)
        else:
            draft.tree[key] = as_tree(value)
    words = [key.removeprefix("$").removesuffix("_mm") for key in given]
    return f"The plan says its {listed(words, 'and')}."


class _Ids:
    """All ids of a kind, in a new order."""

    told = "a list of ids"

    def read(self, draft: Draft, where: str, value: object) -> tuple[str, ...]:
        """Return the ids; the verb compares them with the plan."""
        if not isinstance(value, list | tuple) or not all(isinstance(each, str) for each in value):
            raise Refused(f"{where} is {described(value)}.", f"Give {self.told}.")
        return tuple(value)


def _put_in_order(draft: Draft, *, kind: str, ids: tuple[str, ...]) -> str:
    things = draft.things(kind)
    for key in ids:
        if key not in things:
            near = nearest(key, things)
            fix = f"Write {near} if you mean that." if near else "Leave it out."
            raise Refused(f"The plan has no {ONE_OF[kind]} {quoted(key)}.", fix)
    order = [*dict.fromkeys(ids), *(key for key in things if key not in ids)]
    for key in order:
        things[key] = things.pop(key)
    return f"The text lists the {kind} in a new order."


# --- accepted findings


class _At:
    """Where a finding is accepted: a place, all things of a kind, or an id."""

    told = "a place such as signals/4, the name of a map such as trains, or an id"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the place as the format has it."""
        if isinstance(value, str) and value in MAPS:
            return f"/{value}"
        if isinstance(value, str) and "/" in value:
            kind, key = Place().read(draft, where, value)
            return key if kind == "arms" else f"/{kind}/{key}"
        known = {key for kind in ANYTHING for key in _names(draft, kind)}
        if not isinstance(value, str) or value not in known:
            raise Refused(f"{where} is {described(value)}.", f"Give {self.told}.")
        return value


class _Rule:
    """The name of a rule."""

    told = "the name of a rule"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the name."""
        from trappoint.rules.catalogue import all_rules

        known = [rule.id for rule in all_rules()]
        if not isinstance(value, str) or value not in known:
            near = nearest(value, known) if isinstance(value, str) else None
            fix = f"Write {near} if you mean that." if near else f"Give {self.told}."
            raise Refused(f"There is no rule {described(value)}.", fix)
        return value


def _accept(
    draft: Draft, *, rule: str, at: str, because: str | None = None, note: str | None = None
) -> str:
    accepted = draft.list_of("accept")
    if any((entry["rule"], entry["at"]) == (rule, at) for entry in accepted):
        raise Refused(f"{rule} is accepted there already.", "Leave it as it is.")
    more = {key: value for key, value in (("because", because), ("note", note)) if value}
    accepted.append({"rule": rule, "at": at, **more})
    return f"The club accepts {rule} at {at}."


def _accept_no_more(draft: Draft, *, rule: str, at: str) -> str:
    accepted = draft.list_of("accept")
    kept = [entry for entry in accepted if (entry["rule"], entry["at"]) != (rule, at)]
    if len(kept) == len(accepted):
        draft.drop_empty("accept")
        raise Refused(f"{rule} is not accepted there.", "Give a finding that is accepted.")
    accepted[:] = kept
    draft.drop_empty("accept")
    return f"The club no longer accepts {rule} at {at}."


VERBS = (
    verb(
        "name",
        "Gives a thing a name, or with null takes it away.",
        at=Place(),
        name=OrNone(LONG_NAME),
    )(_name),
    verb(
        "note",
        "Writes a note on a thing or on the plan, or with null takes it away.",
        at=Place(),
        note=OrNone(NOTE),
    )(_note),
    verb(
        "rename",
        "Gives a thing another id, in every place of the plan that names it.",
        at=Place(),
        to=NEW_ID,
    )(_rename),
    Verb(
        "describe-plan",
        "Says the gauge of the plan, how far apart its tracks are, or the schema it names.",
        {
            "gauge_mm": OrNone(LENGTH),
            "spacing_mm": OrNone(LENGTH),
            "schema": OrNone(Text("the path or the name of the schema")),
        },
        (),
        _describe_plan,
    ),
    verb(
        "put-in-order",
        "Lists things in a new order in the text; those not named come last.",
        kind=Word(MAPS),
        ids=_Ids(),
    )(_put_in_order),
    verb(
        "accept",
        "Accepts a finding at a place, because of something.",
        rule=_Rule(),
        at=_At(),
        because=Text("the reason"),
        note=NOTE,
    )(_accept),
    verb("accept-no-more", "Takes back that a finding is accepted.", rule=_Rule(), at=_At())(
        _accept_no_more
    ),
)
