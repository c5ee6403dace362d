"""Everything that is derived from a plan, each fact once and only when it is asked for."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from trappoint.settings import DEFAULTS

if TYPE_CHECKING:
    from trappoint.arms import Assignment
    from trappoint.conflicts import ArmConflict
    from trappoint.distants import Distant
    from trappoint.duties import Duties
    from trappoint.free_runs import FreeRun
    from trappoint.layout import Layout
    from trappoint.network import Network
    from trappoint.parity import Parity
    from trappoint.routes import Routes, Together
    from trappoint.settings import Settings
    from trappoint.verdict import Verdict


class Facts:
    """The facts of one plan. Rules read them; nothing here judges but ``verdict``."""

    def __init__(self, layout: Layout, settings: Settings = DEFAULTS) -> None:
        self.layout = layout
        self.settings = settings

    @cached_property
    def network(self) -> Network:
        """Places and moves."""
        from trappoint.network import build_network

        return build_network(self.layout)

    @cached_property
    def together(self) -> Together:
        """Which switches one lever moves."""
        from trappoint.routes import group_switches

        return group_switches(self.layout, self.network)

    @cached_property
    def routes(self) -> Routes:
        """The routes of every signal that can hold a train."""
        from trappoint.routes import derive_routes

        return derive_routes(self.network, self.together)

    @cached_property
    def assignment(self) -> Assignment:
        """Which arm speaks for which routes."""
        from trappoint.arms import assign_routes

        return assign_routes(self.layout, self.network, self.routes)

    @cached_property
    def conflicts(self) -> list[tuple[ArmConflict, ...]]:
        """For every arm that gives leave the arms that it conflicts with."""
        from trappoint.conflicts import derive_conflicts

        return derive_conflicts(
            self.network,
            self.routes,
            self.together,
            self.assignment,
            overlap=self.settings.overlap,
        )

    @cached_property
    def free_runs(self) -> list[FreeRun]:
        """The free run of every stand, in each heading."""
        from trappoint.free_runs import derive_free_runs

        return derive_free_runs(self.network)

    @cached_property
    def distants(self) -> list[Distant]:
        """Every distant arm, with what lies ahead of it."""
        if not any(arm.kind == "distant" for arm in self.layout.arms()):
            return []
        from trappoint.distants import derive_distants

        return derive_distants(self)

    @cached_property
    def parity(self) -> Parity:
        """Which end is up, and the reversing loops."""
        from trappoint.parity import derive_parity

        return derive_parity(self.layout)

    @cached_property
    def duties(self) -> Duties:
        """What each signal and each arm is there for."""
        from trappoint.duties import derive_duties

        return derive_duties(self)

    @cached_property
    def verdict(self) -> Verdict:
        """Whether the plan holds."""
        from trappoint.holding import judge
        from trappoint.verdict import Verdict

        if self.routes.crowded:
            return Verdict(None, ())
        return judge(self.network, self.routes, self.free_runs)
