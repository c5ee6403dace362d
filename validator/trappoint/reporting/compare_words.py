"""What a comparison says, in sections and rows, the same for each format that people read."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.comparing.terms import Ref, post_of
from trappoint.core.findings import LEVELS
from trappoint.core.quoting import listed, visible
from trappoint.reporting.compare_fields import (
    KINDS,
    describe,
    named,
    subject,
    tell_fields,
)
from trappoint.reporting.wording import BY_WHAT, name_of, verdict_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

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


class Row(NamedTuple):
    """One thing to tell, and what there is to tell of it, in one sentence or more."""

    lead: str
    told: tuple[str, ...]


class RowSection(NamedTuple):
    """Rows of one sort."""

    title: str
    rows: tuple[Row, ...]


def headline(comparison: Comparison) -> str:
    """Say which plans were compared."""
    old, new = name_of(comparison.old.name), name_of(comparison.new.name)
    title = _title(comparison.new) or _title(comparison.old)
    return f"{title}: {new}, compared with {old}" if title else f"{new}, compared with {old}"


def _title(side: Side) -> str:
    return side.report.layout.title if side.report.layout is not None else ""


def verdict(comparison: Comparison) -> list[str]:
    """Say whether the plan held before and holds now, and whether anything has changed."""
    old, new = comparison.old.report, comparison.new.report
    if comparison.old.absent:
        return [f"There was no such plan before. It {verdict_of(new)}"]
    if comparison.new.absent:
        return ["There is no such plan any more."]
    told = [_verdict(comparison)]
    if comparison.same == "bytes":
        told.append("The two plans are the same, letter for letter.")
    elif comparison.same == "meaning":
        told.append(
            "Nothing has changed in the railway's terms: only how the plan is written, or its "
            "notes."
        )
    elif comparison.names is None:
        told.append(
            "They cannot be compared: one of them cannot be read as a plan, for what is below."
            if old.layout is not None or new.layout is not None
            else "They cannot be compared: neither can be read as a plan."
        )
    elif not comparison.worked:
        told.append(
            "What the arms mean, routes, conflicts and duties cannot be compared: for that, both "
            "plans must be in order."
        )
    for word, side in (("before", comparison.old), ("now", comparison.new)):
        if side.left_out:
            things = [
                f"{KINDS.get(kind, kind)} {name}"
                for kind, name in sorted(side.left_out)
                if kind != "arms"  # they are named with their signals
            ]
            told.append(
                f"Not compared, for it cannot be understood as it stands {word}: "
                f"{', '.join(things).replace(' *', '')}."
            )
    return told


def _verdict(comparison: Comparison) -> str:
    old, new = comparison.old.report, comparison.new.report
    now = verdict_of(new)
    if old.holds is new.holds and old.holds is not None:
        return f"Still {now}"
    if old.holds is not None:
        return f"Before it {'held' if old.holds else 'did not hold'}. Now it {now}"
    before = verdict_of(old).replace("cannot be judged", "could not be judged")
    return f"Before it {before.replace('must be put', 'had to be put')} Now it {now}"


def sections(comparison: Comparison) -> Iterator[RowSection]:
    """Yield the sections that have something to say, what matters most first."""
    if comparison.old.absent or comparison.new.absent:
        yield from _counted(comparison)
        return
    for title, rows in (
        ("Findings that are new", _findings(comparison.findings_new, new=True)),
        ("Track and signals", _things(comparison)),
        ("Arms that mean something else now", _arms(comparison)),
        ("Routes lost", _routes(comparison.routes_lost)),
        ("Routes gained", _routes(comparison.routes_gained)),
        ("Conflicts", _conflicts(comparison)),
        ("Duties", _duties(comparison)),
        ("Findings that have gone", _findings(comparison.findings_gone, new=False)),
    ):
        found = tuple(rows)
        if found:
            yield RowSection(title, found)


def _counted(comparison: Comparison) -> Iterator[RowSection]:
    """Of a plan that came or went as a whole, say what there is of each kind."""
    title, side = "What there is", comparison.new
    if side.absent:
        title, side = "What there was", comparison.old
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
        told = [found.message]
        if change.accepted:
            told.append("Was accepted before." if new else "Is accepted now.")
        yield Row(lead, tuple(told))


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
    """Return whether an arm came or went with its signal, which tells of it."""
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
    told = tell_fields(change)
    if change.renamed and change.old is not None:
        told = [f"renamed: it was called {change.old.id}", *told]
    return subject(thing), tuple(told)


def _arms_of(side: Side, signal: str) -> list[Thing]:
    return [
        thing
        for (kind, _), thing in (side.things or {}).items()
        if kind == "arms" and post_of(thing) == signal
    ]


# --- how it is worked


def _arms(comparison: Comparison) -> Iterator[Row]:
    for change in comparison.arms:
        lead = f"arm {change.new}"
        if change.old != change.new:
            lead += f" (was {change.old})"
        yield Row(lead, (f"before: {_meaning(change.before)}", f"now: {_meaning(change.now)}"))


def _meaning(meaning: ArmMeaning) -> str:
    if meaning.kind == "distant":
        told = listed([named(ref) for ref in meaning.tells], "and")
        return f"tells beforehand of {told}" if told else "tells of nothing"
    kind = "" if meaning.kind == "stop" else f"{meaning.kind}, "
    if not meaning.ways:
        return f"{kind}leave for nothing"
    return kind + "; or ".join(tell_way(way) for way in meaning.ways)


def tell_way(way: RouteInWords) -> str:
    """Put a route into words, with the points that it needs."""
    over = [named(ref) for ref in way.over]
    if over and way.over[0] == way.start:
        over[0] = f"the rest of {over[0]}"
    goal = named(way.ends_at)
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
    return f"from {named(way.start)}{along} {end}{f' ({needs})' if needs else ''}{past}"


def _routes(ways: Iterable[SignalWay]) -> Iterator[Row]:
    by_signal: dict[Ref, list[str]] = {}
    for each in ways:
        told = ("shunting " if each.shunting else "") + tell_way(each.way)
        by_signal.setdefault(each.signal, []).append(told)
    for signal, told_of in by_signal.items():
        yield Row(f"signal {named(signal)}", tuple(told_of))


def _conflicts(comparison: Comparison) -> Iterator[Row]:
    """Tell of pairs of arms that are in both plans each; of others by the arm that came or went."""
    with_arm: dict[tuple[str, str], list[str]] = {}
    for change in comparison.conflicts:
        if change.between_both:
            one, other = (named(ref) for ref in change.arms)
            yield Row(f"{one} and {other}", (_conflict(change),))
        else:
            lead, word, other = _came_or_went(comparison, change)
            with_arm.setdefault((lead, word), []).append(other)
    for (lead, word), others in with_arm.items():
        yield Row(lead, (f"{word} {listed(others, 'and')}",))


def _came_or_went(comparison: Comparison, change: ConflictChange) -> tuple[str, str, str]:
    """Return the arm that is in one plan alone, a few words, and the other one."""
    one, other = change.arms
    names = comparison.names
    gained = bool(change.now)
    alone = names is not None and (
        not names.was_there(other) if gained else other.kind == "gone" != one.kind
    )
    if alone and (not gained or (names is not None and names.was_there(one))):
        one, other = other, one
    state = "new" if gained else "gone"
    words = "may never be off with" if gained else "was never off with"
    return f"{one.id} ({state})", words, other.id


def _conflict(change: ConflictChange) -> str:
    if not change.before:
        return f"gained: now {_cases(change.now)}"
    if not change.now:
        return f"lost: may now be off together; before {_cases(change.before)}"
    if all(case.when is None for case in (*change.before, *change.now)):
        now, before = (
            [BY_WHAT[case.by] for case in cases] for cases in (change.now, change.before)
        )
        return f"still never together: now {listed(now, 'and')}; before {listed(before, 'and')}"
    return f"changed: now {_cases(change.now)}; before {_cases(change.before)}"


def _cases(cases: Iterable[ExclusionCase]) -> str:
    told = []
    for case in cases:
        if case.when is None:
            told.append(f"never together, {BY_WHAT[case.by]}")
        elif case.when:
            lies = " and ".join(f"{named(ref)} is {lie}" for ref, lie in case.when)
            told.append(f"not together while {lies}, {BY_WHAT[case.by]}")
        else:
            told.append(f"not together on some roads, {BY_WHAT[case.by]}")
    return "; ".join(told)


def _duties(comparison: Comparison) -> Iterator[Row]:
    by_signal: dict[Ref, tuple[list[str], list[str]]] = {}
    for change in comparison.duties:
        told = by_signal.setdefault(change.signal, ([], []))
        told[change.gained].append(f"{change.duty} {named(change.at)}")
    for signal, (lost, gained) in by_signal.items():
        sentences = []
        if gained:
            sentences.append(f"gained: {'; '.join(gained)}")
        if lost:
            sentences.append(f"lost: {'; '.join(lost)}")
        yield Row(f"signal {named(signal)}", tuple(sentences))
