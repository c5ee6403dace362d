"""Offers: what can be done at one place of a plan, in words, each ready to be pressed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from trappoint.model.layout import Layout

AskKind = Literal["choice", "number", "text", "yes"]


class Ask(NamedTuple):
    """A question of an offer, with an answer that works."""

    key: str
    """The key of the step that the answer goes to."""
    label: str
    kind: AskKind
    value: str | float | bool | None = None
    """The default; None if the question may stay unanswered."""
    choices: tuple[tuple[str, str], ...] = ()
    """For a choice: the values, each with its label."""
    unit: str = ""
    optional: bool = False
    """True if the answer may be empty; the key is then left out."""


class Offer(NamedTuple):
    """One thing that can be done at a place."""

    label: str
    step: dict[str, object]
    asks: tuple[Ask, ...] = ()
    group: str = ""
    """The heading under which a list folds it; empty for one of the acts that people do first."""

    def pressed(self, **answers: object) -> dict[str, object]:
        """Return the step with these answers, and the defaults for all other questions."""
        given = {ask.key: answers.get(ask.key, ask.value) for ask in self.asks}
        return {**self.step, **{key: value for key, value in given.items() if value is not None}}


class Spot(NamedTuple):
    """A place of a plan: ``tracks/main`` or ``tracks/main/up``."""

    layout: Layout
    kind: str
    """The key of the map, ``arms``, or ``plan``."""
    key: str
    """The id; empty for the plan."""
    part: str
    """The end of the track or the leg of the element; empty for the thing itself."""


class Offering(NamedTuple):
    """A function that lists offers at the places of one kind."""

    kind: str
    rank: int
    """Offers with smaller numbers come first."""
    part: bool
    """True if it lists offers at ends or legs, False if at the thing itself."""
    make: Callable[[Spot], Iterator[Offer]]


def offering(
    kind: str, rank: int, *, part: bool = False
) -> Callable[[Callable[[Spot], Iterator[Offer]]], Offering]:
    """Declare the function below as one that lists offers."""
    return lambda make: Offering(kind, rank, part, make)


def spot_of(layout: Layout, place: str) -> Spot | None:
    """Return the place with this name; None if the plan has no such place of its own.

    What boards bring belongs to their own plans.
    """
    if place == "plan":
        return Spot(layout, "plan", "", "")
    kind, _, rest = place.partition("/")
    key, _, part = rest.partition("/")
    things = {arm.id for arm in layout.arms()} if kind == "arms" else getattr(layout, kind, ())
    if not key or kind in ("accept", "worked_together") or key not in things:
        return None
    if part and not _has_part(layout, kind, key, part):
        return None
    return Spot(layout, kind, key, part)


def _has_part(layout: Layout, kind: str, key: str, part: str) -> bool:
    if kind == "tracks":
        return part in ("up", "down")
    legs = getattr(getattr(layout, kind)[key], "legs", ())
    return part in legs


NO_NAME = Ask("name", "Name", "text", optional=True)
"""The question for a name, which may stay empty."""


def of_length(label: str = "Length", value: float | None = None, key: str = "length_mm") -> Ask:
    """Return the question for a length."""
    return Ask(key, label, "number", value, unit="mm", optional=value is None)


def choice(key: str, label: str, *choices: tuple[str, str]) -> Ask:
    """Return a question with answers to choose from; the first answer is the default."""
    return Ask(key, label, "choice", choices[0][0], tuple(choices))
