"""The sections and rows of a comparison in words, for text, Markdown and pages."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.comparing.terms import Ref, post_of
from trappoint.core.findings import LEVELS
from trappoint.core.quoting import listed, visible
from trappoint.reporting.compare_fields import (
    KINDS,
    called,
    describe,
    named,
    subject,
    tell_fields,
)
from trappoint.reporting.wording import by_what, name_of, verdict_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.comparing.model import (
        ArmMeaning,
        Comparison,
        ConflictChange,
        ExclusionCase,
        FindingChange,
        RouteInWords,
        Side,
        SignalWay,
        ThingChange,
    )
    from trappoint.comparing.terms import Thing
    from trappoint.interlocking.conflicts import By


class Row(NamedTuple):
    """One changed thing, and its changes as sentences."""

    lead: str
    sentences: tuple[str, ...]


class RowSection(NamedTuple):
    """Rows of one sort, with their heading."""

    title: str
    rows: tuple[Row, ...]


def headline(comparison: Comparison) -> str:
    """Return the title of the plan and the names of the two texts."""
    old, new = name_of(comparison.old.name), name_of(comparison.new.name)
    title = _title(comparison.new) or _title(comparison.old)
    return f"{title}: {new}, compared with {old}" if title else f"{new}, compared with {old}"


def _title(side: Side) -> str:
    return side.report.layout.title if side.report.layout is not None else ""


def verdict(comparison: Comparison) -> list[str]:
    """Return whether the plan held before, whether it holds now, and whether it has changed."""
    old, new = comparison.old.report, comparison.new.report
    if comparison.old.absent:
        return [f"This plan is new. It {verdict_of(new)}"]
    if comparison.new.absent:
        return ["This plan was deleted."]
    sentences = [_verdict(comparison)]
    if comparison.same == "bytes":
        sentences.append("The two texts are identical.")
    elif comparison.same == "meaning":
        sentences.append(
            "The railway is the same: only the form of the text, or its notes, changed."
        )
    elif comparison.names is None:
        sentences.append(
            "Not compared: one of the texts cannot be read as a plan; see the findings below."
            if old.layout is not None or new.layout is not None
            else "Not compared: neither text can be read as a plan."
        )
    elif not comparison.worked:
        sentences.append(
            "Arms, routes, conflicts and duties were not compared: one of the plans has errors."
        )
    for word, side in (("old", comparison.old), ("new", comparison.new)):
        if side.left_out:
            things = [
                f"{KINDS.get(kind, kind)} {name}"
                for kind, name in sorted(side.left_out)
                if kind != "arms"  # they are named with their signals
            ]
            sentences.append(
                f"Not compared, because of errors in the {word} plan: "
                f"{', '.join(things).replace(' *', '')}."
            )
    return sentences


def _verdict(comparison: Comparison) -> str:
    old, new = comparison.old.report, comparison.new.report
    now = verdict_of(new)
    if old.holds is new.holds and old.holds is not None:
        return f"Still {now}"
    if old.holds is not None:
        return f"Before it {'held' if old.holds else 'did not hold'}. Now it {now}"
    return f"Before: {verdict_of(old)} Now: {now}"


def sections(comparison: Comparison) -> Iterator[RowSection]:
    """Yield the sections that have rows, the most important first."""
    if comparison.old.absent or comparison.new.absent:
        yield from _counted(comparison)
        return
    for title, rows in (
        ("New findings", _findings(comparison.findings_new, new=True)),
        ("Track and signals", _things(comparison)),
        ("Arms with a new meaning", _arms(comparison)),
        ("Routes lost", _routes(comparison, comparison.routes_lost)),
        ("Routes gained", _routes(comparison, comparison.routes_gained)),
        ("Conflicts", _conflicts(comparison)),
        ("Duties", _duties(comparison)),
        ("Findings gone", _findings(comparison.findings_gone, new=False)),
    ):
        found = tuple(rows)
        if found:
            yield RowSection(title, found)


def _counted(comparison: Comparison) -> Iterator[RowSection]:
    """Yield the number of things of each kind in a new or a deleted plan."""
    title, side = "Contents of the new plan", comparison.new
    if side.absent:
        title, side = "Contents of the old plan", comparison.old
    kinds = [thing.kind for thing in (side.things or {}).values()]
    rows = [
        Row(kind.replace("_", " "), (str(kinds.count(kind)),)) for kind in COUNTED if kind in kinds
    ]
    if rows:
        yield RowSection(title, tuple(rows))


COUNTED = ("tracks", "points", "crossings", "turntables", "platforms", "yards", "signals", "arms")


def _findings(changes: Iterable[FindingChange], *, new: bool) -> Iterator[Row]:
    for change in sorted(changes, key=lambda each: -LEVELS.index(each.finding.level)):
        found = change.finding
        file = f", {visible(found.file)}" if found.file else ""
        lead = f"{found.level} {found.rule}{file}"
        lead += f", line {found.line}" if found.line else ""
        sentences = [found.message]
        if change.accepted:
            sentences.append("It was accepted before." if new else "It is accepted now.")
        yield Row(lead, tuple(sentences))


# --- things


def _things(comparison: Comparison) -> Iterator[Row]:
    order = list(KINDS)
    posts: set[tuple[str, str | None]] = {
        (side, thing.id)
        for change in comparison.things
        if change.kind == "signals"
        for side, thing in (("old", change.old), ("new", change.new))
        if thing is not None and None in (change.old, change.new)
    }
    for change in sorted(comparison.things, key=lambda each: order.index(each.kind)):
        if not _with_its_post(change, posts):
            yield Row(*_thing(comparison, change))


def _with_its_post(change: ThingChange, posts: set[tuple[str, str | None]]) -> bool:
    """Return whether an arm came or went with its signal, whose row lists it."""
    if change.kind != "arms":
        return False
    if change.old is None and change.new is not None:
        return ("new", post_of(change.new)) in posts
    if change.new is None and change.old is not None:
        return ("old", post_of(change.old)) in posts
    return False


def _thing(comparison: Comparison, change: ThingChange) -> tuple[str, tuple[str, ...]]:
    if change.new is None:
        thing, word, side = change.old, "gone", comparison.old
    else:
        thing, word, side = change.new, "added" if change.old is None else "", comparison.new
    if thing is None:  # never: a change has at least one
        return "", ()
    if word:
        what = describe(thing, _arms_of(side, thing.id) if thing.kind == "signals" else ())
        return subject(thing), (f"{word}: {what}" if what else word,)
    sentences = tell_fields(change)
    if change.renamed and change.old is not None:
        sentences = [f"renamed from {change.old.id}", *sentences]
    return subject(thing), tuple(sentences)


def _arms_of(side: Side, signal: str) -> list[Thing]:
    return [
        thing
        for (kind, _), thing in (side.things or {}).items()
        if kind == "arms" and post_of(thing) == signal
    ]


# --- how it is worked


def _arms(comparison: Comparison) -> Iterator[Row]:
    for change in comparison.arms:
        lead = f"arm {_called(comparison, Ref('arms', change.new))}"
        if change.old != change.new:
            lead += f" (was {change.old})"
        before, now = (_meaning(comparison, each) for each in (change.before, change.now))
        yield Row(lead, (f"before: {before}", f"now: {now}"))


def _called(comparison: Comparison, ref: Ref) -> str:
    """Return the name and the id of a thing; an arm without a name has that of its signal."""
    for side in (comparison.new, comparison.old):
        things = side.things or {}
        thing = things.get((ref.kind, ref.id))
        while thing is not None:
            text = called(thing)
            if text != thing.id:
                return text if thing.id == ref.id else text.replace(f"({thing.id})", f"({ref.id})")
            post = post_of(thing) if thing.kind == "arms" else None
            thing = None if post is None else things.get(("signals", post))
    return named(ref)


def _meaning(comparison: Comparison, meaning: ArmMeaning) -> str:
    if meaning.kind == "distant":
        repeats = listed([_called(comparison, ref) for ref in meaning.tells], "and")
        return f"repeats {repeats or 'no arm'}"
    kind = "" if meaning.kind == "stop" else f"{meaning.kind}, "
    if not meaning.ways:
        return f"{kind}no route"
    return kind + "; or ".join(tell_way(comparison, way) for way in meaning.ways)


def tell_way(comparison: Comparison, way: RouteInWords) -> str:
    """Return a route in words, with the points that it needs."""
    over = [_called(comparison, ref) for ref in way.over]
    if over and way.over[0] == way.start:
        over[0] = f"the rest of {over[0]}"
    goal = _called(comparison, way.ends_at)
    if way.ends_at.kind == "yards":
        end = f"into yard {goal}"
    elif over and over[-1] == goal and way.ends_at.kind != "signals":
        over.pop()
        end = f"to the end of {goal}"
    else:
        end = f"as far as signal {goal}"
    along = f" over {', '.join(over)}" if over else ""
    needs = ", ".join(f"{named(ref)} {lie}" for ref, lie in way.points)
    past = f"; {listed([named(ref) for ref in way.past], 'and')} off too" if way.past else ""
    return (
        f"from {_called(comparison, way.start)}{along} {end}{f' ({needs})' if needs else ''}{past}"
    )


def _routes(comparison: Comparison, ways: Iterable[SignalWay]) -> Iterator[Row]:
    by_signal: dict[Ref, list[str]] = {}
    for each in ways:
        way = ("shunting " if each.shunting else "") + tell_way(comparison, each.way)
        by_signal.setdefault(each.signal, []).append(way)
    for signal, found in by_signal.items():
        yield Row(f"signal {_called(comparison, signal)}", tuple(found))


def _conflicts(comparison: Comparison) -> Iterator[Row]:
    """Yield a row for each pair of arms in both plans, and one for each arm in one plan alone."""
    before, now = (_seen_to(side) for side in (comparison.old, comparison.new))
    with_arm: dict[tuple[str, str], list[str]] = {}
    for change in comparison.conflicts:
        if change.between_both:
            one, other = (_called(comparison, ref) for ref in change.arms)
            yield Row(f"{one} and {other}", (_conflict(change, before, now),))
        else:
            lead, word, other = _came_or_went(comparison, change)
            with_arm.setdefault((lead, word), []).append(other)
    for (lead, word), others in with_arm.items():
        yield Row(lead, (f"{word} {listed(others, 'and')}",))


def _came_or_went(comparison: Comparison, change: ConflictChange) -> tuple[str, str, str]:
    """Return the arm that is in one plan alone, the words after it, and the other arm."""
    one, other = change.arms
    names = comparison.names
    gained = bool(change.now)
    alone = names is not None and (
        not names.was_there(other) if gained else other.kind == "gone" != one.kind
    )
    if alone and (not gained or (names is not None and names.was_there(one))):
        one, other = other, one
    state = "new" if gained else "gone"
    words = "conflicts with" if gained else "conflicted with"
    return f"{one.id} ({state})", words, _called(comparison, other)


def _seen_to(side: Side) -> Mapping[By, str]:
    layout = side.report.layout
    return {} if layout is None else by_what(layout)


def _conflict(change: ConflictChange, before: Mapping[By, str], now: Mapping[By, str]) -> str:
    old, new = _cases(change.before, before), _cases(change.now, now)
    if not change.before:
        return f"gained: {new}"
    if not change.now:
        return f"lost: may now be off together; before {old}"
    if all(case.when is None for case in (*change.before, *change.now)):
        old = listed([before[case.by] for case in change.before], "and")
        new = listed([now[case.by] for case in change.now], "and")
        return f"still never together: now {new}; before {old}"
    return f"changed: now {new}; before {old}"


def _cases(cases: Iterable[ExclusionCase], sees: Mapping[By, str]) -> str:
    parts = []
    for case in cases:
        if case.when is None:
            parts.append(f"never together, {sees[case.by]}")
        elif case.when:
            lies = " and ".join(f"{named(ref)} is {lie}" for ref, lie in case.when)
            parts.append(f"not together while {lies}, {sees[case.by]}")
        else:
            parts.append(f"not together on some roads, {sees[case.by]}")
    return "; ".join(parts)


def _duties(comparison: Comparison) -> Iterator[Row]:
    by_signal: dict[Ref, tuple[list[str], list[str]]] = {}
    for change in comparison.duties:
        lost_and_gained = by_signal.setdefault(change.signal, ([], []))
        lost_and_gained[change.gained].append(f"{change.duty} {named(change.at)}")
    for signal, (lost, gained) in by_signal.items():
        sentences = []
        if gained:
            sentences.append(f"gained: {'; '.join(gained)}")
        if lost:
            sentences.append(f"lost: {'; '.join(lost)}")
        yield Row(f"signal {_called(comparison, signal)}", tuple(sentences))
