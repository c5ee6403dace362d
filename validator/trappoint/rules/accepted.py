"""Accepted findings: they are left out of the report, and rules check the list itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.spelling import nearest
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Accepted, Layout


def split_accepted(
    accept: Sequence[Accepted], findings: Iterable[Finding]
) -> tuple[list[Finding], list[Finding], list[bool]]:
    """Return the findings to report, the accepted ones, and whether each entry matched any."""
    kept: list[Finding] = []
    accepted: list[Finding] = []
    matched = [False] * len(accept)
    entries: dict[tuple[str, str], list[int]] = {}
    for number, entry in enumerate(accept):
        entries.setdefault((entry.rule, entry.at), []).append(number)
    for finding in findings:
        near = (n for at in _accepted_at(finding) for n in entries.get((finding.rule, at), ()))
        hits = [number for number in near if matches(accept[number], finding)]
        for number in hits:
            matched[number] = True
        (accepted if hits else kept).append(finding)
    return kept, accepted, matched


def _accepted_at(finding: Finding) -> set[str]:
    """Return each value of ``at`` with which an entry could accept a finding."""
    parts = finding.pointer.split("/")
    above = {"/".join(parts[:length]) for length in range(1, len(parts) + 1)}
    return above | {part.replace("~1", "/") for part in parts[2:3]}


def matches(entry: Accepted, finding: Finding) -> bool:
    """Return whether an entry accepts a finding."""
    if entry.rule != finding.rule:
        return False
    if entry.at.startswith("/") or not entry.at:
        return finding.pointer == entry.at or finding.pointer.startswith(entry.at + "/")
    parts = finding.pointer.split("/")
    return len(parts) > 2 and parts[2].replace("~1", "/") == entry.at


WITHOUT_REASON = Rule(
    id="accept-without-reason",
    level="warning",
    stage="facts",
    summary="an accepted finding without a reason",
    why="In a few years nobody will know why the club accepted it, or whether it still should.",
    source="common practice, no source",
    fails={"accept": [{"rule": "unheld-exit", "at": "siding"}], "signals": {"6": None}},
    passes={
        "accept": [{"rule": "unheld-exit", "at": "siding", "because": "worked by hand"}],
        "signals": {"6": None},
    },
)


@WITHOUT_REASON.checked_by
def _without_reason(facts: Facts) -> Iterator[Finding]:
    for number, entry in enumerate(facts.layout.accept):
        if not entry.because.strip():
            yield WITHOUT_REASON.finding(
                pointer_to("accept", number),
                f"The accepted finding {entry.rule} at {entry.at} has no reason.",
                "Add `because`, and write there why the club accepts it.",
            )


WITHOUT_MATCH = Rule(
    id="accept-without-match",
    level="warning",
    stage="last",
    summary="an accepted finding that no longer occurs",
    why="A stale entry would hide the next finding at the same place.",
    source="common practice, no source",
    fails={"accept": [{"rule": "unheld-exit", "at": "siding", "because": "worked by hand"}]},
    passes={
        "accept": [{"rule": "unheld-exit", "at": "siding", "because": "worked by hand"}],
        "signals": {"6": None},
    },
)


def stale_entries(layout: Layout, matched: list[bool], known: Collection[str]) -> Iterator[Finding]:
    """Yield a finding for each entry of ``accept`` that matches no finding."""
    for number, (entry, hit) in enumerate(zip(layout.accept, matched, strict=True)):
        if hit:
            continue
        if entry.rule not in known:
            near = nearest(entry.rule, known)
            message = f"There is no rule {entry.rule}."
            fix = f"Write {near}" if near else "Write the id of a rule"
            fix += ", or take the entry out; `trappoint rules` lists all rules."
            instead = f'"{near}"' if near else None
            pointer = pointer_to("accept", number, "rule")
        else:
            message = f"The accepted finding {entry.rule} at {entry.at} no longer occurs."
            fix = "Take the entry out, or correct its `at`."
            pointer, instead = pointer_to("accept", number), None
        yield WITHOUT_MATCH.finding(pointer, message, fix, instead=instead)
