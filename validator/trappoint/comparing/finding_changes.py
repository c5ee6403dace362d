"""Find the new findings and those that are gone. A finding is recognised by its rule and place."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from trappoint.comparing.model import FindingChange
from trappoint.comparing.pointers import pointer_parts
from trappoint.comparing.terms import Ref

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable

    from trappoint.comparing.model import Side
    from trappoint.comparing.names import Names
    from trappoint.core.findings import Finding

Place = tuple[object, ...]

CHOSEN = ("up-meets-up", "reversing-loop")
"""Rules that point at one of several places that could be changed. Another choice is no change; nor
is another number of such findings if the plan is the same."""


def findings_changed(
    one: Side, other: Side, names: Names | None, *, gone: bool
) -> tuple[FindingChange, ...]:
    """Return the findings of ``one`` that ``other`` does not have.

    ``names`` leads from the old plan to the new. ``gone`` is True if ``one`` is the old plan.
    """
    of_one = _Places(one, names if gone else None)
    of_other = _Places(other, None if gone else names)
    left = _without(one.report.findings, other.report.findings, of_one, of_other, names, gone=gone)
    accepted = Counter(of_other.key(finding) for finding in other.report.accepted)
    found = []
    for finding in left:
        key = of_one.key(finding)
        found.append(FindingChange(finding, accepted[key] > 0))
        accepted[key] -= 1
    return tuple(found)


def _without(
    ours: Iterable[Finding],
    theirs: Iterable[Finding],
    of_ours: _Places,
    of_theirs: _Places,
    names: Names | None,
    *,
    gone: bool,
) -> list[Finding]:
    """Return our findings that have no partner among theirs. The surest pairs are made first."""

    def same_place(one: Finding, other: Finding) -> bool:
        return of_ours.key(one) == of_theirs.key(other)

    alike = _SameThings((of_ours if gone else of_theirs).side, names)

    def same_things(one: Finding, other: Finding) -> bool:
        return alike(one, other) if gone else alike(other, one)

    ways: tuple[Callable[[Finding, Finding], bool], ...] = (
        lambda one, other: one.message == other.message and same_place(one, other),
        lambda one, other: same_things(one, other) and same_place(one, other),
        same_things,
        same_place,
    )
    left = list(ours)
    rest: dict[str, list[Finding]] = {}
    for finding in theirs:
        rest.setdefault(finding.rule, []).append(finding)
    for same in ways:
        unpaired = []
        for finding in left:
            others = rest.get(finding.rule, [])
            found = next((n for n, other in enumerate(others) if same(finding, other)), None)
            if found is None:
                unpaired.append(finding)
            else:
                del others[found]
        left = unpaired
    return left


class _SameThings:
    """Tests if two findings are about the same things, though they point at different ones.

    A rule about two things points at one of them, which may depend on their order. The name of a
    section of several tracks may depend on their order too.
    """

    def __init__(self, old: Side, names: Names | None) -> None:
        self.names = names
        self._beside: dict[str, set[str]] = {}
        """The tracks of each section that has several, by the section's name."""
        if old.report.facts is not None:
            network = old.report.facts.network
            for place in network.pieces:
                tracks = network.tracks_of(place)
                if len(tracks) > 1:
                    self._beside[network.places[place].name] = set(tracks)

    def __call__(self, old: Finding, new: Finding) -> bool:
        if (old.rule, old.level) != (new.rule, new.level) or len(old.path) != len(new.path):
            return False
        if len(old.path) < 2 or old.rule in CHOSEN:
            return old.rule in CHOSEN
        names_now = [self._every_now(name) for name in old.path]
        now = set(map(_whole, new.path))
        return now <= set().union(*names_now) and not any(map(now.isdisjoint, names_now))

    def _every_now(self, name: str) -> set[str]:
        """Return the possible names in the new plan of a name in the old one."""
        every = self._beside.get(name, {_whole(name)})
        if self.names is None:
            return every
        return set().union(*map(self.names.every_now, every))


def _whole(name: str) -> str:
    """Return the track of a section without its number, which may change; or another place's id."""
    return name.rpartition(":")[2].partition(".")[0]


class _Places:
    """The places of findings, with the new plan's names and without numbers in lists."""

    def __init__(self, side: Side, names: Names | None) -> None:
        self.side = side
        self.names = names
        self.known: dict[str, set[str]] = defaultdict(set)
        for kind, name in side.things or ():
            self.known[kind].add(name)
        self._found: dict[str, Place] = {}
        self.accepts = [name for kind, name in side.things or () if kind == "accept"]

    def key(self, finding: Finding) -> Hashable:
        """Return a key that is equal for the same finding in both plans."""
        pointer = finding.place
        if pointer not in self._found:
            self._found[pointer] = self.place(pointer)
        return finding.rule, finding.level, self._found[pointer]

    def place(self, pointer: str) -> Place:
        """Return the place of a pointer, in the names of the new plan."""

        parts = pointer.split("/")
        if parts[1:2] == ["accept"] and len(parts) > 2 and int(parts[2]) < len(self.accepts):
            return "accept", self._now(Ref("accept", self.accepts[int(parts[2])])), *parts[3:]
        if self.side.report.layout is None:
            return tuple(parts)
        entry = pointer_parts(self.side.report.layout, self.known, pointer)
        return tuple(
            self._now(part) if isinstance(part, Ref) else part
            for number, part in enumerate(entry)
            if number < 2 or not (isinstance(part, str) and part.isdigit())
        )

    def _now(self, ref: Ref) -> Ref:
        return ref if self.names is None else self.names.ref_now(ref)
