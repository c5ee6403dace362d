"""The answers of jobs: one small record for each kind of answer. They can be pickled."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Literal

    from trappoint import Report


@dataclass(frozen=True, slots=True)
class Text:
    """A text as the command line prints it, or a drawing."""

    text: str


@dataclass(frozen=True, slots=True)
class File:
    """A file that is not text."""

    content: bytes


@dataclass(frozen=True, slots=True)
class Tops:
    """The names of the plans that may be meant: one if it is put together from the others."""

    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanNotUsable:
    """Nothing can be derived from the plan."""

    why: str
    """The end of a sentence that begins with the plan."""
    report: dict[str, Any] | None = None
    """The report as JSON values; None if it does not explain the refusal."""


@dataclass(frozen=True, slots=True)
class NothingToPropose:
    """No signals can be proposed."""

    why: str


@dataclass(frozen=True, slots=True)
class NoSuchPlace:
    """The plan has no place of a name that was given."""

    why: str


@dataclass(frozen=True, slots=True)
class PartsNotUsable:
    """The parts cannot be planned from this store, or not for these signals."""

    why: str


@dataclass(frozen=True, slots=True)
class StepRefused:
    """A step of a request for building a plan cannot be taken."""

    step: int
    """Its number in the request, from 0."""
    why: str
    fix: str


@dataclass(frozen=True, slots=True)
class CannotMake:
    """The service lacks the library that makes such a file."""

    why: str


Refusal = CannotMake | PlanNotUsable | NothingToPropose | NoSuchPlace | PartsNotUsable | StepRefused
"""The answers of a job that has no result."""


@dataclass(frozen=True, slots=True)
class ArmState:
    """The state of one arm in a scene, with the reasons."""

    arm: str
    state: Literal["off", "wrong", "may", "must-not"]
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SceneMistake:
    """A mistake of a scene that has nothing to do with the arms that are off."""

    message: str
    fix: str


@dataclass(frozen=True, slots=True)
class SceneStates:
    """All arms in a scene, in the order of the plan, and the other mistakes of the scene."""

    arms: tuple[ArmState, ...]
    points: tuple[SceneMistake, ...]


@dataclass(frozen=True, slots=True)
class RoadShown:
    """A road in words, or the mistake that prevents it."""

    mistake: str = ""
    outcome: tuple[str, ...] = ()
    orders: Sequence[dict[str, Any]] = ()
    measure: str = ""
    others: Sequence[str] = ()
    svg: str | None = None
    """The diagram with the road as set."""


@dataclass(frozen=True, slots=True)
class DraftShown:
    """A proposal on a page: the reason for each of its signals."""

    headline: str
    reasons: Sequence[dict[str, Any]]
    repair: bool
    cost: Sequence[str] = ()
    """Sentences on what it costs and what to buy; none without a store."""


@dataclass(frozen=True, slots=True)
class FittingShown:
    """The fitting sheet, the parts and their lists as HTML, or the mistakes that prevent them."""

    sheet: str = ""
    parts: str = ""
    shopping: str = ""
    bench: str = ""
    mistakes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanPage:
    """The content of a plan's page, as plain values for its template."""

    file: str
    title: str
    holds: bool | None
    verdict: str
    counts: str
    findings: Sequence[dict[str, Any]]
    """The findings shown, the gravest first."""
    groups: Sequence[dict[str, Any]]
    """The same findings, grouped by level, rule and why."""
    errors: bool
    """Whether there are errors among all findings."""
    without_signals: bool
    more: int
    """The number of findings that are not shown."""
    accepted: Sequence[dict[str, Any]]
    svg: str | None
    """The diagram, None if it is too large for a page, or in ``working``."""
    working: str | None
    """The diagram that works, as HTML; None if it cannot be made, or is too large for a page."""
    drawable: bool
    view: Literal["", "rows", "strip"]
    """How a wide diagram is drawn; empty if it is in one row anyway."""
    table: dict[str, Any] | None
    levers: Sequence[dict[str, Any]]
    granted: Sequence[str]
    stands: Sequence[dict[str, str]]
    scenes: Sequence[dict[str, Any]]
    sessions: bool
    """Whether the plan has running sessions to print."""
    lines: Sequence[str] | None
    scene: SceneStates | PlanNotUsable | None = field(default=None, kw_only=True)
    road: RoadShown | None = field(default=None, kw_only=True)
    draft: DraftShown | None = field(default=None, kw_only=True)
    fitting: FittingShown | None = field(default=None, kw_only=True)


@dataclass(frozen=True, slots=True)
class DraftPage:
    """The text of a proposed plan, and its page."""

    text: str
    page: PlanPage


def not_usable(report: Report) -> PlanNotUsable:
    """Return the answer for a plan from which nothing can be derived."""
    from trappoint.reporting.findings_json import report_to_json
    from trappoint.reporting.wording import verdict_of

    return PlanNotUsable(verdict_of(report), report_to_json(report))
