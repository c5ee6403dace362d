"""The whole fitting sheet of a plan: its posts, the order of work, and what the parts allow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.fitting.order import WorkOrder, order_of_work
from trappoint.fitting.posts import Post, posts_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.dimensions.longest import Longest
    from trappoint.facts.facts import Facts
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Lever


class Today(NamedTuple):
    """What can be fitted with the parts in hand, and what waits."""

    work: WorkOrder
    """The order of work of the signals for which there are parts."""
    make_first: Mapping[str, tuple[str, ...]]
    """From each of these signals to the recipes to be done for it, one after another."""
    waiting: Mapping[str, Mapping[str, int]]
    """From each other signal to the parts that are missing; none: they are not to be had."""


class FittingSheet(NamedTuple):
    """What hangs at the bench."""

    title: str
    holds: bool | None
    posts: tuple[Post, ...]
    work: WorkOrder
    today: Today | None = None
    """None if no store was given."""
    levers: tuple[Lever, ...] = ()
    """Those of the frame, in the order in which they stand."""
    longest_train: Longest | None = None
    """The longest train for which the verdict stands; None if none is known."""

    def to_json(self) -> dict[str, Any]:
        """Return it as JSON values; null where something is not known."""
        told: dict[str, Any] = _plain(self)
        return told


def derive_sheet(facts: Facts, table: LockingTable, title: str) -> FittingSheet:
    """Derive the sheet of a plan of which there is a locking table."""
    layout = facts.layout
    work = order_of_work(layout, facts.settings)
    levers = tuple(sorted(layout.levers.values(), key=lambda lever: lever.rank))
    return FittingSheet(
        title,
        table.holds,
        posts_of(layout, table),
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
