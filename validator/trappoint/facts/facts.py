"""Everything that is derived from a plan, each fact once and only when it is asked for."""

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
    from trappoint.topology.network import Network
    from trappoint.topology.orientation import Parity
    from trappoint.verdict.free_runs import FreeMoves, FreeRun
    from trappoint.verdict.verdict import Verdict


class Facts:
    """The facts of one plan. Rules read them; nothing here judges but ``verdict``."""

    def __init__(
        self, layout: Layout, settings: Settings = DEFAULTS, assembly: Assembly | None = None
    ) -> None:
        self.layout = layout
        self.settings = settings
        self.assembly = assembly
        """How the plan was put together from others; None for one that was not."""

    @cached_property
    def names(self) -> Names:
        """What people call the things of the plan."""
        from trappoint.model.names import Names

        return Names(self.layout)

    @cached_property
    def network(self) -> Network:
        """Places and moves."""
        from trappoint.topology.network_building import build_network

        return build_network(self.layout)

    @cached_property
    def together(self) -> LeverGroups:
        """Which switches one lever moves."""
        from trappoint.interlocking.routes import group_switches

        return group_switches(self.layout, self.network)

    @cached_property
    def routes(self) -> Routes:
        """The routes of every signal that can hold a train."""
        from trappoint.interlocking.routes import derive_routes

        return derive_routes(self.network, self.together)

    @cached_property
    def assignment(self) -> Assignment:
        """Which arm speaks for which routes."""
        from trappoint.interlocking.arms import assign_routes

        return assign_routes(self.network.layout, self.network, self.routes)

    @cached_property
    def conflicts(self) -> list[tuple[ArmConflict, ...]]:
        """For every arm that gives leave the arms that it conflicts with."""
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
        """What a train may do that runs freely, trap points that guard against it lying normal."""
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
        """The distants, and whether all could be derived; None for a plan that has none."""
        if not any(arm.kind == "distant" for arm in self.layout.arms()):
            return None
        from trappoint.interlocking.distants import derive_distants

        return derive_distants(self)

    @property
    def distants(self) -> list[Distant]:
        """Every distant arm, with what lies ahead of it; none where they speak for too much."""
        return self._derived_distants.distants if self._derived_distants is not None else []

    @property
    def distants_cut(self) -> bool:
        """True if the distants speak for more than can be gone through."""
        return self._derived_distants is not None and self._derived_distants.cut

    @cached_property
    def arm_number(self) -> dict[str, int]:
        """From the id of each arm that gives leave to its number."""
        return {arm.id: number for number, arm in enumerate(self.assignment.arms)}

    @cached_property
    def head_number(self) -> dict[tuple[str, str, str, float | None], int]:
        """From signal, track, heading and measure of each head that holds trains to its number."""
        return {
            (arm.signal, arm.track, arm.heading, arm.at_mm): number
            for number, head in enumerate(self.network.heads)
            for arm in head.arms
        }

    @cached_property
    def stop_arms_at(self) -> dict[int, list[int]]:
        """From each head to the numbers of its stop arms."""
        found: dict[int, list[int]] = {}
        for number, (arm, head) in enumerate(
            zip(self.assignment.arms, self.assignment.head_of, strict=True)
        ):
            if arm.kind == "stop":
                found.setdefault(head, []).append(number)
        return found

    @cached_property
    def parity(self) -> Parity:
        """Which end is up, and the reversing loops."""
        from trappoint.topology.orientation import derive_parity

        return derive_parity(self.layout)

    @cached_property
    def links(self) -> list[Link]:
        """The lines between two points."""
        from trappoint.topology.links import derive_links

        return derive_links(self.layout)

    @cached_property
    def switches_named(self) -> dict[str, list[int]]:
        """From each id to the places of the points and crossings of that name."""
        found: dict[str, list[int]] = {}
        for number, place in enumerate(self.network.places):
            if place.kind in ("points", "crossings"):
                found.setdefault(place.id, []).append(number)
        return found

    @cached_property
    def normal_lies(self) -> dict[int, str]:
        """From the place of each points or slip to its normal lie."""
        found: dict[int, str] = {}
        for name, places in self.switches_named.items():
            switch = self.layout.switch(name)
            if switch is not None and switch.normal:
                found.update(dict.fromkeys(places, switch.normal))
        return found

    @cached_property
    def parts(self) -> dict[str, list[int]]:
        """From each track or yard to its places, from the up end of a track. Tracks of one section
        have the same place, tracks in a yard that of the yard."""
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
        """For each head the first road that can never be set, if there is one."""
        found: dict[int, LieClash] = {}
        for clash in self.routes.clashes:
            found.setdefault(clash.head, clash)
        return found

    @cached_property
    def yard_of_track(self) -> dict[str, str]:
        """From each track in a yard to the yard's id."""
        return {track: yard.id for yard in self.layout.yards.values() for track in yard.tracks}

    @cached_property
    def platforms_at(self) -> dict[str, list[str]]:
        """From each track to the ids of the platforms beside it."""
        found: dict[str, list[str]] = {}
        for platform in self.layout.platforms.values():
            for track in platform.tracks:
                found.setdefault(track, []).append(platform.id)
        return found

    def tracks_over(self, route: int) -> list[str]:
        """Return the tracks that a route runs over, in order, each run of pieces once."""
        network, over = self.network, list[str]()
        route_ = self.routes.all[route]
        own = network.heads[route_.head].track
        before = network.place(network.held_at[route_.head])
        for state in route_.path:
            place = network.place(state)
            if place.elsewhere:
                continue  # What lies beyond a held edge is no track of the plan.
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
        """What each signal and each arm is there for."""
        from trappoint.interlocking.duties import derive_duties

        return derive_duties(self.network, self.routes, self.assignment, self.free_runs)

    @cached_property
    def rests(self) -> list[RestingPlace]:
        """Every place and heading in which a train may come to rest, with the room behind it."""
        from trappoint.dimensions.longest import derive_rests

        return derive_rests(self.network, self.routes)

    @cached_property
    def longest_train(self) -> Longest | None:
        """The longest train that leaves all behind it clear; None if no length is given."""
        if all(track.length_mm is None for track in self.layout.tracks.values()):
            return None
        from trappoint.dimensions.longest import longest_train

        return longest_train(self.rests)

    @cached_property
    def sessions(self) -> list[SessionResult]:
        """Every running session, worked as far as it can be; none beyond the limits."""
        if not self.layout.sessions or self.beyond_limits:
            return []
        from trappoint.operation.sessions import work_sessions

        return work_sessions(self)

    @cached_property
    def too_much(self) -> list[ExceededLimit]:
        """What there is too much of for all of it to be gone through.

        A signal with too many routes is not among it: see ``beyond_limits``.
        """
        from trappoint.facts.limits import exceeded_limits

        return exceeded_limits(self)

    @property
    def beyond_limits(self) -> bool:
        """True if nothing but the verdict may be derived: the plan has too much for the rest."""
        return bool(self.routes.overflowed_heads or self.too_much)

    @cached_property
    def table(self) -> LockingTable | None:
        """The locking table; None for a plan beyond the limits."""
        if self.beyond_limits:
            return None
        from trappoint.interlocking.locking_table import derive_table

        return derive_table(self)

    @cached_property
    def takes_for_granted(self) -> tuple[str, ...]:
        """What the verdict takes for granted, in sentences."""
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
