"""The fitting sheet of a plan: its posts, the order of work, and the work that the parts allow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.fitting.order import WorkOrder, order_of_work
from trappoint.fitting.places import UsualPlaces
from trappoint.fitting.posts import Post, posts_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.dimensions.longest import Longest
    from trappoint.facts.facts import Facts
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Lever


class Today(NamedTuple):
    """The signals that the parts in hand allow, and those that wait for parts."""

    work: WorkOrder
    """The order of work, for the signals for which there are parts."""
    make_first: Mapping[str, tuple[str, ...]]
    """From each of these signals to the recipes to make for it, in order."""
    waiting: Mapping[str, Mapping[str, int]]
    """From each other signal to its missing parts; empty if nobody sells them."""


class FittingSheet(NamedTuple):
    """The sheet for the bench."""

    title: str
    holds: bool | None
    posts: tuple[Post, ...]
    work: WorkOrder
    today: Today | None = None
    """None if no store was given."""
    levers: tuple[Lever, ...] = ()
    """The levers of the frame, from left to right."""
    longest_train: Longest | None = None
    """The longest train that the verdict covers; None if unknown."""

    def to_json(self) -> dict[str, Any]:
        """Return the sheet as JSON values, unknown values as null."""
        values: dict[str, Any] = _plain(self)
        return values


def derive_sheet(facts: Facts, table: LockingTable, title: str) -> FittingSheet:
    """Return the sheet of a plan, from its facts and its locking table."""
    layout = facts.layout
    work = order_of_work(layout, facts.settings)
    levers = tuple(sorted(layout.levers.values(), key=lambda lever: lever.rank))
    return FittingSheet(
        title,
        table.holds,
        posts_of(layout, table, UsualPlaces(facts)),
        work,
        levers=levers,
        longest_train=table.longest_train,
    )


def _plain(value: Any) -> Any:
    fields = getattr(value, "_asdict", None)
    if fields is not None:
        value = fields()
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    return value
