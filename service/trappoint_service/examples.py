"""The plans to try with one click, as shipped with the program."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from trappoint.core.resources import read_resource


class Example(NamedTuple):
    """A plan to try."""

    name: str
    title: str
    about: str

    @property
    def file(self) -> str:
        """The name of its file."""
        return f"{self.name.rpartition('/')[2]}.layout.json"

    @property
    def text(self) -> str:
        """Its text."""
        return read_resource(f"{self.name}.layout.json")


_ALL = (
    Example("kelpie-quay", "Kelpie Quay", "A passing loop with a siding. It holds."),
    Example(
        "selkie-harbour",
        "Selkie Harbour",
        "A terminus with three platforms, two yards and a lever frame. It holds.",
    ),
    Example("boggart-bridge", "Boggart Bridge", "A through station with a junction. It holds."),
    Example("pixie-ring", "Pixie Ring", "A ring with hidden roads. It holds."),
    Example(
        "slips/siding-signal-forgotten",
        "A signal forgotten",
        "Kelpie Quay without signal 6: two trains can be brought together.",
    ),
    Example(
        "slips/arms-of-a-bracket-swapped",
        "Two arms exchanged",
        "Two arms of a bracket are the wrong way round.",
    ),
    Example(
        "slips/scene-with-the-wrong-arm",
        "A scene that contradicts itself",
        "The points and arms of a scene do not agree.",
    ),
    Example("slips/comma-forgotten", "A comma forgotten", "The text is not valid JSON."),
)


@cache
def examples() -> tuple[Example, ...]:
    """Return the examples that are installed."""
    found = []
    for example in _ALL:
        try:
            read_resource(f"{example.name}.layout.json")
        except FileNotFoundError:
            continue
        found.append(example)
    return tuple(found)
