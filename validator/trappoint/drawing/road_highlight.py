"""From a road to its highlight on the diagram: its things, lies of points, arms that are off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.roads import Lit

if TYPE_CHECKING:
    from trappoint.model.layout import Layout
    from trappoint.operation.road import Road


def light(road: Road, layout: Layout) -> Lit | None:
    """Return the highlight of a road's last order; None for a road without orders."""
    if not road.orders:
        return None
    order = road.orders[-1]
    things = set(order.things)
    lies: dict[str, set[str]] = {}
    off: set[str] = set()
    for stage in order.stages:
        off.update(arm for work in stage.works if work.do == "off" for arm in work.names)
        for locked in stage.locked:
            lies.setdefault(locked.switch, set()).add(locked.lie)
    for kind, name in order.things:
        if kind == "yards":
            things.update(("tracks", track) for track in layout.yards[name].tracks)
    legs = {name: frozenset(own) for name, own in lies.items()}
    return Lit(frozenset(things), legs, frozenset(off))
