"""Helpers and examples for the rules on boards and on joins."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.rules.rule import Assembled

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.boards.collecting import AssemblyError, TroubleKind
    from trappoint.facts.facts import Facts


def troubles(facts: Facts, *kinds: TroubleKind) -> Iterator[AssemblyError]:
    """Return the errors of these kinds that kept a plan from being assembled."""
    found = facts.assembly.troubles if facts.assembly is not None else ()
    return (trouble for trouble in found if trouble.kind in kinds)


PLAN: Mapping[str, Any] = {"format": "trappoint-layout/1", "tracks": {}}

QUAY = {"quay": {"plan": "kelpie-quay.layout.json"}}

BOTH = {**QUAY, "quarry": {"plan": "quarry.layout.json"}}

JOIN = {"a": "quay:quarry", "b": "quarry:quay"}

QUARRY: Mapping[str, Any] = {
    "format": "trappoint-layout/1",
    "tracks": {"line": {"up": "edge:quay", "down": "edge:beyond"}},
}

GOOD = Assembled({**PLAN, "boards": BOTH, "joins": [JOIN]}, {"quarry.layout.json": QUARRY})

FORMAT = "the format: boards and joins"


def assembled(*joins: Mapping[str, str], quarry: object = QUARRY, **board: object) -> Assembled:
    """Return a plan of Kelpie Quay and a quarry, with these joins and keys of the second board."""
    boards = {**QUAY, "quarry": {"plan": "quarry.layout.json", **board}}
    return Assembled(
        {**PLAN, "boards": boards, "joins": list(joins)}, {"quarry.layout.json": quarry}
    )
