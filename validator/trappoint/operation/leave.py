"""Leave: which routes a signalman can give leave for, and by which arms."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from trappoint.interlocking.conflicts import routes_conflict, runs_along

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts


class Leave(NamedTuple):
    """What must be off for a route, by the numbers of the arms."""

    arm: int
    """The stop or shunt arm that speaks for it."""
    past: tuple[int, ...]
    """The shunt arms that it passes, in the order in which the train meets them."""

    @property
    def arms(self) -> tuple[int, ...]:
        """All of them, in the order in which the train meets them."""
        return (self.arm, *self.past)


def find_leave(facts: Facts) -> dict[int, Leave]:
    """Return for each route the arms that give leave for it.

    Left out are routes for which no arm speaks, and those past a shunt signal that has no arm for
    their way, or past two whose arms may not be off together. Calling-on arms give no leave to run
    on to an empty road.
    """
    routes, arms_for = facts.routes, facts.assignment.arms_for
    found: dict[int, Leave] = {}
    for number, route in enumerate(routes.all):
        own = arms_for(number)
        if not own:
            continue
        ways = [
            next(
                (
                    along
                    for along in routes.of_kind(head, shunting=True)
                    if runs_along(route, routes.all[along]) and arms_for(along)
                ),
                -1,
            )
            for head in route.past
        ]
        if -1 not in ways and not _at_odds(facts, ways):
            found[number] = Leave(own[0], tuple(arms_for(along)[0] for along in ways))
    return found


def _at_odds(facts: Facts, ways: list[int]) -> bool:
    """Return whether two of the shunt routes on the way of a main route conflict.

    So they may where it comes over a place twice: then their arms may never be off together.
    """
    routes = facts.routes.all
    return any(
        routes_conflict(routes[one], routes[other]) is not None
        for one, other in combinations(ways, 2)
    )
