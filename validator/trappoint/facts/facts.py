"""The facts derived from a plan: each is derived once, on first use."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from trappoint.model.settings import DEFAULTS

if TYPE_CHECKING:
    from trappoint.boards.assembly import Assembly
    from trappoint.dimensions.longest import Longest, RestingPlace
    from trappoint.facts.limits import ExceededLimit
    from trappoint.interlocking.arms import Assignment
    from trappoint.interlocking.conflicts import ArmConflict
    from trappoint.interlocking.distants import DerivedDistants, Distant
    from trappoint.interlocking.duties import Duties
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.interlocking.routes import LeverGroups, LieClash, Routes
    from trappoint.model.layout import Layout
    from trappoint.model.names import Names
    from trappoint.model.settings import Settings
    from trappoint.operation.sessions import SessionResult
    from trappoint.topology.links import Link
    from trappoint.topology.network import Network, Place
    from trappoint.topology.orientation import Parity
    from trappoint.verdict.free_runs import FreeMoves, FreeRun
    from trappoint.verdict.verdict import Verdict


class Facts:
    """The facts of one plan, for rules and reports to read. Only ``verdict`` judges the plan."""

    def __init__(
        self, layout: Layout, settings: Settings = DEFAULTS, assembly: Assembly | None = None
    ) -> None:
        self.layout = layout
        self.settings = settings
        self.assembly = assembly
        """How the plan was assembled from boards, None for a plan without boards."""

    @cached_property
    def names(self) -> Names:
        """The names that people use for the things of the plan."""
        from trappoint.model.names import Names

        return Names(self.layout)

    @cached_property
    def network(self) -> Network:
        """Places and moves."""
        from trappoint.topology.network_building import build_network

        return build_network(self.layout)

    @cached_property
    def together(self) -> LeverGroups:
        """The groups of points and slips that are worked together."""
        from trappoint.interlocking.routes import group_switches

        return group_switches(self.layout, self.network)

    @cached_property
    def routes(self) -> Routes:
        """The routes of every signal that can hold a train."""
        from trappoint.interlocking.routes import derive_routes

        return derive_routes(self.network, self.together)

    @cached_property
    def assignment(self) -> Assignment:
        """The routes for which each arm gives leave."""
        from trappoint.interlocking.arms import assign_routes

        return assign_routes(self.network.layout, self.network, self.routes)

    @cached_property
    def conflicts(self) -> list[tuple[ArmConflict, ...]]:
        """The conflicts of each arm, by its number."""
        from trappoint.interlocking.conflicts import derive_conflicts

        return derive_conflicts(
            self.network,
            self.routes,
            self.together,
            self.assignment,
            overlap=self.settings.overlap,
        )

    @cached_property
    def free_moves(self) -> FreeMoves:
        """The moves of a train that runs freely, with the guarding trap points normal."""
        from trappoint.verdict.free_runs import FreeMoves

        guards: dict[int, str] = {}
        if self.together.traps:
            from trappoint.verdict.guards import derive_guards

            guards = derive_guards(self.network, self.together, self.routes)
        return FreeMoves(self.network, self.together, guards)

    @cached_property
    def free_runs(self) -> list[FreeRun]:
        """The free run of every stand, in each heading."""
        from trappoint.verdict.free_runs import derive_free_runs

        return derive_free_runs(self.free_moves)

    @cached_property
    def _derived_distants(self) -> DerivedDistants | None:
        """The distants, and whether any were left out; None for a plan without distants."""
        if not any(arm.kind == "distant" for arm in self.layout.arms()):
            return None
        from trappoint.interlocking.distants import derive_distants

        return derive_distants(self)

    @property
    def distants(self) -> list[Distant]:
        """Every distant arm with the signals ahead of it; empty if they are too many to analyse."""
        return self._derived_distants.distants if self._derived_distants is not None else []

    @property
    def distants_cut(self) -> bool:
        """True if the distants repeat too many arms to analyse."""
        return self._derived_distants is not None and self._derived_distants.cut

    @cached_property
    def arm_number(self) -> dict[str, int]:
        """The number of each arm that gives leave, by its id."""
        return {arm.id: number for number, arm in enumerate(self.assignment.arms)}

    @cached_property
    def head_number(self) -> dict[tuple[str, str, str, float | None], int]:
        """The number of each head that holds trains, by signal, track, heading and at_mm."""
        return {
            (arm.signal, arm.track, arm.heading, arm.at_mm): number
            for number, head in enumerate(self.network.heads)
            for arm in head.arms
        }

    @cached_property
    def stop_arms_at(self) -> dict[int, list[int]]:
        """The numbers of the stop arms of each head."""
        found: dict[int, list[int]] = {}
        for number, (arm, head) in enumerate(
            zip(self.assignment.arms, self.assignment.head_of, strict=True)
        ):
            if arm.kind == "stop":
                found.setdefault(head, []).append(number)
        return found

    @cached_property
    def parity(self) -> Parity:
        """The tracks whose up and down do not agree with the rest, and the reversing loops."""
        from trappoint.topology.orientation import derive_parity

        return derive_parity(self.layout)

    @cached_property
    def links(self) -> list[Link]:
        """The lines between two points."""
        from trappoint.topology.links import derive_links

        return derive_links(self.layout)

    @cached_property
    def place_named(self) -> dict[str, Place]:
        """The place of each name."""
        return {place.name: place for place in self.network.places}

    @cached_property
    def switches_named(self) -> dict[str, list[int]]:
        """The places of the points and crossings with each id."""
        found: dict[str, list[int]] = {}
        for number, place in enumerate(self.network.places):
            if place.kind in ("points", "crossings"):
                found.setdefault(place.id, []).append(number)
        return found

    @cached_property
    def normal_lies(self) -> dict[int, str]:
        """The normal lie of all points and slips, by place."""
        found: dict[int, str] = {}
        for name, places in self.switches_named.items():
            switch = self.layout.switch(name)
            if switch is not None and switch.normal:
                found.update(dict.fromkeys(places, switch.normal))
        return found

    @cached_property
    def parts(self) -> dict[str, list[int]]:
        """The places of each track or yard, from the up end of the track.

        Tracks of one section share their place; a track in a yard has the place of the yard.
        """
        network = self.network
        found: dict[str, list[int]] = {}
        for track, states in network.sections.items():
            places = (network.place_of[state["down"]] for state in states)
            found[track] = list(dict.fromkeys(places))
        for number, place in enumerate(network.places):
            if place.kind == "yards":
                found.setdefault(place.id, []).append(number)
                for track in self.layout.yards[place.id].tracks:
                    found.setdefault(track, [number])
        return found

    @cached_property
    def first_clash(self) -> dict[int, LieClash]:
        """The first route of each head that nobody can ever set, if it has one."""
        found: dict[int, LieClash] = {}
        for clash in self.routes.clashes:
            found.setdefault(clash.head, clash)
        return found

    @cached_property
    def yard_of_track(self) -> dict[str, str]:
        """The id of the yard of each track in a yard."""
        return {track: yard.id for yard in self.layout.yards.values() for track in yard.tracks}

    @cached_property
    def platforms_at(self) -> dict[str, list[str]]:
        """The ids of the platforms beside each track."""
        found: dict[str, list[str]] = {}
        for platform in self.layout.platforms.values():
            for track in platform.tracks:
                found.setdefault(track, []).append(platform.id)
        return found

    def tracks_over(self, route: int) -> list[str]:
        """Return the tracks of a route, in order; pieces of one track in a row count once."""
        network, over = self.network, list[str]()
        route_ = self.routes.all[route]
        own = network.heads[route_.head].track
        before = network.place(network.held_at[route_.head])
        for state in route_.path:
            place = network.place(state)
            if place.elsewhere:
                continue  # Beyond a held edge there is no track of the plan.
            if place.kind == "section":
                tracks = [piece.track for piece in network.pieces[network.place_of[state]]]
                if network.heading(state) == "up":
                    tracks.reverse()
                last = over[-1] if over else own
                straight_on = before.kind in ("section", "yards") and tracks[0] == last
                over += tracks[1:] if straight_on and over else tracks
            before = place
        return over

    @cached_property
    def duties(self) -> Duties:
        """The duties of each signal and each arm."""
        from trappoint.interlocking.duties import derive_duties

        return derive_duties(self.network, self.routes, self.assignment, self.free_runs)

    @cached_property
    def rests(self) -> list[RestingPlace]:
        """Each place and heading in which a train may come to rest, with the room behind it."""
        from trappoint.dimensions.longest import derive_rests

        return derive_rests(self.network, self.routes)

    @cached_property
    def longest_train(self) -> Longest | None:
        """The longest train that leaves everything behind it clear, None without lengths."""
        if all(track.length_mm is None for track in self.layout.tracks.values()):
            return None
        from trappoint.dimensions.longest import longest_train

        return longest_train(self.rests)

    @cached_property
    def sessions(self) -> list[SessionResult]:
        """The result of every running session; empty for a plan too large to analyse."""
        if not self.layout.sessions or self.beyond_limits:
            return []
        from trappoint.operation.sessions import work_sessions

        return work_sessions(self)

    @cached_property
    def too_much(self) -> list[ExceededLimit]:
        """The limits that the plan exceeds.

        Signals with too many routes are not among them: see ``beyond_limits``.
        """
        from trappoint.facts.limits import exceeded_limits

        return exceeded_limits(self)

    @property
    def beyond_limits(self) -> bool:
        """True if the plan is too large to derive more than the verdict."""
        return bool(self.routes.overflowed_heads or self.too_much)

    @cached_property
    def table(self) -> LockingTable | None:
        """The locking table, None for a plan too large to analyse."""
        if self.beyond_limits:
            return None
        from trappoint.interlocking.locking_table import derive_table

        return derive_table(self)

    @cached_property
    def takes_for_granted(self) -> tuple[str, ...]:
        """The assumptions of the verdict, as sentences."""
        from trappoint.verdict.assumptions import takes_for_granted

        return takes_for_granted(self.network, self.free_moves)

    @cached_property
    def verdict(self) -> Verdict:
        """Whether the plan holds."""
        from trappoint.verdict.local_test import judge
        from trappoint.verdict.verdict import Verdict

        if self.routes.overflowed_heads:
            return Verdict(None, ())
        return judge(self.free_moves, self.routes, self.free_runs)
