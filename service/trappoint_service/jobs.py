"""The jobs: one frozen record for each kind, with the received bytes and the options.

Jobs travel to the worker processes as they are. ``Job[A]`` is answered with an ``A``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

from trappoint.app.folder_records import FileChanges, FileVerdict, MergedFile
from trappoint_service.answers import (
    CannotMake,
    DraftPage,
    File,
    NoSuchPlace,
    NothingToPropose,
    PartsNotUsable,
    PlanNotUsable,
    PlanPage,
    SceneStates,
    StepRefused,
    Text,
    Tops,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.app.folder_records import FolderFile
    from trappoint.operation.road import Asked
    from trappoint.proposing.levels import Level

A = TypeVar("A")
A_co = TypeVar("A_co", covariant=True)


class UnusableWish(Exception):  # noqa: N818 - it describes the request
    """Raised for malformed options; the message gives the reason."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan as received, and its name in messages."""

    name: str
    content: bytes
    boards: tuple[Plan, ...] = ()
    """The plans of its boards, and of theirs; the file name identifies each."""


@dataclass(frozen=True, slots=True)
class SceneWish:
    """A scene to try: lies by points, the arms that are off, the places of trains."""

    points: Mapping[str, str] = field(default_factory=dict)
    off: tuple[str, ...] = ()
    trains: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SignalsWish:
    """The options of a proposal."""

    level: Level
    repair: bool
    """Whether signals of the plan may be removed or moved."""
    seconds: float
    """The time limit of the search."""


@dataclass(frozen=True, slots=True)
class PartsWish:
    """The options of a parts plan."""

    seconds: float
    """The time limit of the search."""
    without: tuple[str, ...] = ()
    """Signals to leave out."""
    at_most: int | None = None
    """The spending limit, in hundredths of the currency."""


class Job(Generic[A_co]):
    """Work for a worker process, answered with an ``A_co``."""

    __slots__ = ()

    @property
    def long(self) -> bool:
        """Whether it usually takes seconds, like a search."""
        return False


class LongJob(Job[A_co]):
    """Work that usually takes seconds."""

    __slots__ = ()

    @property
    def long(self) -> bool:
        """Whether it usually takes seconds."""
        return True


@dataclass(frozen=True, slots=True)
class CheckPlans(Job[Text]):
    """Check plans; they are boards for each other."""

    plans: tuple[Plan, ...]
    format: str = "json"


@dataclass(frozen=True, slots=True)
class FindTop(Job[Tops]):
    """Find the plan that is put together from the others."""

    plans: tuple[Plan, ...]


@dataclass(frozen=True, slots=True)
class DeriveTable(Job[Text | PlanNotUsable]):
    """Derive the locking table."""

    plan: Plan
    format: str = "json"


@dataclass(frozen=True, slots=True)
class DrawPlan(Job[Text | PlanNotUsable]):
    """Draw the diagram as SVG."""

    plan: Plan


@dataclass(frozen=True, slots=True)
class WriteChart(Job[Text | PlanNotUsable]):
    """Write the wall chart as HTML."""

    plan: Plan


@dataclass(frozen=True, slots=True)
class WriteSessions(Job[Text | PlanNotUsable]):
    """Write the signalman's sheets of the running sessions as HTML."""

    plan: Plan


@dataclass(frozen=True, slots=True)
class MakeFile(Job[File | PlanNotUsable | CannotMake]):
    """Make the diagram as PNG or PDF, or the wall chart as PDF, for A4 sheets."""

    plan: Plan
    content: Literal["diagram", "chart"]
    format: Literal["png", "pdf"]


@dataclass(frozen=True, slots=True)
class TidyPlan(Job[Text | PlanNotUsable]):
    """Tidy the text of a plan."""

    plan: Plan


@dataclass(frozen=True, slots=True)
class ShowPlan(Job[PlanPage]):
    """Check a plan for its page, and try a scene if one is given."""

    plan: Plan
    scene: SceneWish | None = None
    strip: bool = False
    """Whether to draw one strip, as long as the plan, and no rows."""


@dataclass(frozen=True, slots=True)
class TryScene(Job[SceneStates | PlanNotUsable]):
    """Try a scene: which arms may be off. The worker reads plan and scene from one body."""

    body: bytes


@dataclass(frozen=True, slots=True)
class LayPlan(Job[Text | StepRefused]):
    """Take steps that build a plan. The worker reads plan and steps from one body."""

    body: bytes


@dataclass(frozen=True, slots=True)
class SetRoad(Job[Text | PlanNotUsable | NoSuchPlace]):
    """Set a road."""

    plan: Plan
    wish: Asked


@dataclass(frozen=True, slots=True)
class ShowRoad(Job[PlanPage]):
    """Set a road for the page of the plan."""

    plan: Plan
    wish: Asked
    strip: bool = False


@dataclass(frozen=True, slots=True)
class ProposeSignals(LongJob[Text | PlanNotUsable | NothingToPropose]):
    """Propose the signals of a plan; with a store only those that it can provide."""

    plan: Plan
    wish: SignalsWish
    store: bytes | None = None


@dataclass(frozen=True, slots=True)
class ShowDraft(LongJob[DraftPage | PlanNotUsable | NothingToPropose]):
    """Propose signals for the page of the proposed plan; with a store only what it can provide."""

    plan: Plan
    wish: SignalsWish
    store: bytes | None = None


@dataclass(frozen=True, slots=True)
class PlanParts(LongJob[Text | PlanNotUsable | PartsNotUsable]):
    """Plan the parts from a store."""

    plan: Plan
    store: bytes
    wish: PartsWish


@dataclass(frozen=True, slots=True)
class MakeFittingSheet(Job[Text | PlanNotUsable | PartsNotUsable]):
    """Make the fitting sheet; with a store also what can be fitted today."""

    plan: Plan
    store: bytes | None
    seconds: float
    format: str = "json"

    @property
    def long(self) -> bool:
        """Whether parts are planned for it."""
        return self.store is not None


@dataclass(frozen=True, slots=True)
class ShowPartsAndFitting(Job[PlanPage]):
    """Make the fitting sheet, and plan the parts from a store, for the page of the plan."""

    plan: Plan
    store: bytes | None
    seconds: float

    @property
    def long(self) -> bool:
        """Whether parts are planned for it."""
        return self.store is not None


@dataclass(frozen=True, slots=True)
class JudgeFile(Job[FileVerdict]):
    """Judge a plan or a store of a folder."""

    file: FolderFile


@dataclass(frozen=True, slots=True)
class MergeFile(Job[MergedFile]):
    """Merge the text of a page with a file that has changed."""

    file: FolderFile
    """The file as it is now."""
    base: bytes
    """The text with which the page began."""
    ours: bytes
    """The text of the page."""


@dataclass(frozen=True, slots=True)
class CompareFile(Job[FileChanges]):
    """Compare a plan or a store of a folder with the last commit."""

    file: FolderFile
