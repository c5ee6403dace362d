"""Leave: the routes for which a signalman can give leave, and the arms to take off."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from trappoint.interlocking.conflicts import routes_conflict, runs_along

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts


class Leave(NamedTuple):
    """The arms that must be off for a route, as numbers."""

    arm: int
    """The stop or shunt arm that gives leave for it."""
    past: tuple[int, ...]
    """The shunt arms that the route passes, in the order in which the train meets them."""

    @property
    def arms(self) -> tuple[int, ...]:
        """All of these arms, in the order in which the train meets them."""
        return (self.arm, *self.past)


def find_leave(facts: Facts) -> dict[int, Leave]:
    """Return the arms that give leave, with the number of their route as key.

    A route is left out if no arm gives leave for it, if it passes a shunt signal without an arm
    for its way, or if it passes two shunt signals whose arms conflict. Calling-on arms do not
    count: they give no leave to run on to an empty road.
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
    """Return whether two of the shunt routes along a main route conflict.

    They may if the main route comes over a place twice.
    """
    routes = facts.routes.all
    return any(
        routes_conflict(routes[one], routes[other]) is not None
        for one, other in combinations(ways, 2)
    )
