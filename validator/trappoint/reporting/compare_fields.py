"""Words for things and their fields in a comparison, before and now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.comparing.names import GONE
from trappoint.comparing.terms import MISSING, Ref
from trappoint.core.kinds import ONE_OF
from trappoint.core.quoting import listed, number, visible

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.comparing.model import FieldChange, ThingChange
    from trappoint.comparing.terms import Atom, Entry, Field, Thing

ORDER = (
    *("plan", "tracks", "joints", "edges", "points", "crossings", "turntables"),
    *("worked_together", "platforms", "yards", "signals", "arms", "levers", "trains"),
    *("scenes", "sessions", "accept", "boards", "joins"),
)

KINDS: Mapping[str, str] = {
    kind: {**ONE_OF, "plan": "the plan", "worked_together": "worked together:"}[kind]
    for kind in ORDER
}
"""The word for one thing of each kind, in the order of a comparison."""

LABELS: Mapping[str, str] = {
    "up": "up end",
    "down": "down end",
    "running": "trains may run",
    "stand": "trains may stand",
    "held": "held by the neighbour",
    "length_mm": "length",
    "radius_mm": "tightest curve",
    "curve": "curves to the",
    "gradient_percent": "gradient",
    "normal": "normal lie",
    "trap": "trap points",
    "lock": "facing-point lock",
    "crossing_number": "crossing number",
    "measure": "crossing number measured",
    "angle_degrees": "angle",
    "for": "for trains running",
    "at_mm": "position",
    "duties": "expected duties",
    "under": "beneath",
    "doll": "doll from the left",
    "expects": "expected lies",
    "never_with": "expected conflicts",
    "height_mm": "height",
    "longest_coach_mm": "longest coach",
    "engine_mm": "engine",
    "off": "arms off",
    "leg_mm": "legs",
    "toe_mm": "toe",
    "draw": "hint for the diagram",
    "from_centre_mm": "from the centre of the track",
    "post_mm": "thickness of the post",
    "spacing_mm": "distance between tracks",
    "at": "where",
}
"""The words for fields whose key is not the word itself."""

OMITTED: Mapping[str, str] = {
    "at_mm": "at the end that its trains run to",
    "track": "that of its signal",
    "for": "that of its signal",
    "running": "both ways",
}
"""The meaning of omitted fields; others are ``not given``."""


def subject(thing: Thing) -> str:
    """Return a thing by kind, name and id: ``track main``, ``signal Down home (2)``."""
    if thing.kind == "worked_together":
        members = [named(entry[0]) for entry in thing.fields["members"].entries]
        return f"{listed(members, 'and')} together"
    return f"{KINDS.get(thing.kind, thing.kind)} {called(thing)}".rstrip()


def called(thing: Thing) -> str:
    """Return the name and the id of a thing; the id alone if it has no name."""
    field = thing.fields.get("name")
    name = named(field.entries[0][0]) if field is not None and field.entries else ""
    return f"{visible(name)} ({thing.id})" if name else thing.id


def label_of(field: str) -> str:
    """Return the word for a field."""
    return LABELS.get(field, field.removesuffix("_mm").replace("_", " "))


def named(atom: Atom) -> str:
    """Return one part of a field in words."""
    if isinstance(atom, Ref):
        if atom.kind == GONE:
            return f"{atom.id} (now gone)"
        return f"{atom.id} (not in the plan)" if atom.kind == MISSING else atom.id
    if atom is None:
        return "not given"
    if isinstance(atom, bool):
        return "yes" if atom else "no"
    return atom if isinstance(atom, str) else number(atom)


def end_text(entry: Entry) -> str:
    """Return the end of a track in the form of plans: ``p1.left``, ``edge:town``."""
    first = entry[0]
    if not isinstance(first, Ref):
        return named(first)
    if first.kind in ("joints", "edges"):
        return f"{first.kind[:-1]}:{first.id}"
    return f"{first.id}.{entry[1]}" if len(entry) > 1 else first.id


def value(field: str, entries: Iterable[Entry]) -> str:
    """Return the value of a field in words."""
    parts = [_entry(field, entry) for entry in entries]
    return listed(parts, "and") if parts else OMITTED.get(field, "not given")


def _entry(field: str, entry: Entry) -> str:
    words = [named(atom) for atom in entry]
    if field in ("up", "down"):
        first = entry[0]
        lost = words[0].removeprefix(first.id) if isinstance(first, Ref) else ""
        return end_text(entry) + lost
    if field in WRITTEN:
        return WRITTEN[field].format(words[0])
    if field.endswith("_mm"):
        return f"{words[0]} mm"
    if field == "trains" and len(entry) == 2:
        return f"{'a train' if entry[1] is None else words[1]} on {words[0]}"
    return _place(entry) if field == "at" else " ".join(word for word in words if word)


WRITTEN: Mapping[str, str] = {
    "at_mm": "{} mm from the up end",
    "gradient_percent": "{} %",
    "angle_degrees": "{} degrees",
    "crossing_number": "1 in {}",
}
"""The form of the values of some fields."""


def _place(entry: Entry) -> str:
    if len(entry) > 1 and isinstance(entry[1], Ref):
        ref = entry[1]
        below = ", ".join(named(atom) for atom in entry[2:])
        kind = KINDS.get(ref.kind, "")
        return f"{kind} {named(ref)}".strip() + (f", {below}" if below else "")
    return "/".join(named(atom) for atom in entry)


def tell_change(change: FieldChange) -> str:
    """Return the change of a field: its new and its old value, or the entries gained and lost."""
    label = label_of(change.name)
    if change.new.ordered:
        before, now = value(change.name, change.old.entries), value(change.name, change.new.entries)
        return f"{label}: now {now}, before {before}"
    came = [entry for entry in change.new.entries if entry not in change.old.entries]
    went = [entry for entry in change.old.entries if entry not in change.new.entries]
    parts = []
    if came:
        also = "also " if change.old.entries else ""
        parts.append(f"now {also}{value(change.name, came)}")
    if went:
        parts.append(f"no longer {value(change.name, went)}")
    return f"{label}: {'; '.join(parts)}"


def spot(fields: Mapping[str, Field]) -> str:
    """Return the place of a signal, and the trains that it is for."""
    track = value("track", fields["track"].entries)
    heading = value("for", fields["for"].entries)
    at = fields["at_mm"].entries
    where = value("at_mm", at) if at else f"at its {heading} end"
    return f"on {track}, for trains running {heading}, {where}"


def tell_fields(change: ThingChange) -> list[str]:
    """Return the changes of a thing: one sentence for each field, one for a whole move."""
    changed = {field.name: field for field in change.fields}
    sentences = []
    if change.kind == "signals" and changed.keys() & {"track", "for", "at_mm"}:
        old, new = change.old, change.new
        if old is not None and new is not None:
            before = {n: changed[n].old if n in changed else new.fields[n] for n in SPOT}
            sentences.append(f"moved: now {spot(new.fields)}; before {spot(before)}")
            changed = {name: field for name, field in changed.items() if name not in SPOT}
    if change.kind == "tracks" and changed.keys() >= {"up", "down"}:
        up, down = changed["up"], changed["down"]
        if up.old.entries == down.new.entries and down.old.entries == up.new.entries:
            sentences.append("turned round: its up end is now its down end")
            del changed["up"], changed["down"]
    return sentences + [tell_change(field) for field in changed.values()]


SPOT = ("track", "for", "at_mm")


def describe(thing: Thing, arms: Iterable[Thing] = ()) -> str:
    """Return a description of an added or removed thing. ``arms`` are those of a signal."""
    fields = thing.fields
    if thing.kind == "tracks":
        up, down = (end_text(fields[end].entries[0]) for end in ("up", "down"))
        return f"from {up} to {down}{_also(fields, 'length_mm')}"
    if thing.kind == "signals":
        ids = [arm.id for arm in arms]
        word = "arm" if len(ids) == 1 else "arms"
        return spot(fields) + (f"; {word} {listed(ids, 'and')}" if ids else "")
    if thing.kind == "arms":
        kind = value("kind", fields["kind"].entries)
        return f"{kind} arm on signal {value('signal', fields['signal'].entries)}"
    if thing.kind == "points":
        kind = "" if value("kind", fields["kind"].entries) == "turnout" else "three-way, "
        return f"{kind}normally {value('normal', fields['normal'].entries)}"
    if thing.kind == "worked_together":
        return "worked by one lever"
    parts = [
        f"{label_of(name)} {value(name, field.entries)}"
        for name, field in fields.items()
        if field.entries and name != "name"
    ]
    return ", ".join(parts)


def _also(fields: Mapping[str, Field], name: str) -> str:
    return f", {value(name, fields[name].entries)}" if fields[name].entries else ""
