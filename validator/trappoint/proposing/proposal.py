"""Proposals of signals: from the text of a plan to plans that hold, the best first."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.checking.check import check_content
from trappoint.checking.report import Report
from trappoint.core.errors import PlanError
from trappoint.model.layout import HOLDING, cut_at
from trappoint.model.settings import DEFAULTS
from trappoint.proposing.at_points import at_points, close_mm_of
from trappoint.proposing.distants import add_distants
from trappoint.proposing.dividing import divide_lines
from trappoint.proposing.gantries import gantries
from trappoint.proposing.levels import LEVELS, practice_of
from trappoint.proposing.objectives import FewestChanges, LeastCost, Objective
from trappoint.proposing.optimising import Chooser, NoChoice
from trappoint.proposing.posts import survey
from trappoint.proposing.pricing import price, prices_of
from trappoint.proposing.reasons import Reason, reasons_for
from trappoint.proposing.uses import use_of
from trappoint.proposing.writing import Written, free_number, write_choice
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings
    from trappoint.parts.store import Store
    from trappoint.proposing.levels import Level
    from trappoint.proposing.optimising import CompleteChoice
    from trappoint.proposing.pricing import DraftParts
    from trappoint.source.files import Files
    from trappoint.source.reading import Document


class CannotPropose(Exception):  # noqa: N818 # the plan, not the program, is at fault
    """There is no proposal for this plan. The message says why."""


@dataclass(frozen=True, slots=True)
class Draft:
    """One proposal."""

    text: str
    """The plan with its signals, in the standard layout of plans."""
    report: Report
    """The check of the plan."""
    reasons: tuple[Reason, ...]
    distants: tuple[str, ...]
    """The ids of new signals with distant arms only."""
    dropped: tuple[str, ...]
    """Pointers to removed values, which referred to removed arms."""
    signals: int
    """The number of signals that hold trains; a disc at the foot of another counts with it."""
    arms: int
    """The number of their arms, discs included."""
    worth: int
    """The minimised value: the number of new signals and arms; in a repair, the number of signals
    that change; with a store, the cost of the new signals by the piece, in hundredths."""
    bound: int
    """A lower limit for ``worth`` of every plan; equal to it if this plan is proved the least."""
    use: str = ""
    """Its purpose and the trains that it keeps apart, as a sentence."""
    cost: int | None = None
    """The cost of its new signals, in hundredths; None without a store, or if it lacks parts."""
    parts: DraftParts | None = None
    """The parts of its new signals; None without a store."""

    @property
    def least(self) -> bool:
        """True if this proposal is proved the best."""
        return self.worth <= self.bound


@dataclass(frozen=True, slots=True)
class Proposal:
    """All proposals for a plan, the best first."""

    level: Level
    repair: bool
    drafts: tuple[Draft, ...]
    priced_in: str | None = None
    """The currency of the costs; None without a store."""
    passed_over: tuple[Draft, ...] = ()
    """With a store: the proposals for which it lacks parts, the one that lacks fewest first."""
    close_mm: float | None = None
    """At ``at-points``, how close signals are made one, in mm; else None."""


def propose(
    content: str | bytes,
    *,
    name: str = "<text>",
    level: Level = "least",
    repair: bool = False,
    count: int = 1,
    seconds: float = 6.0,
    close_mm: float | None = None,
    settings: Settings = DEFAULTS,
    progress: Callable[[int, int], None] | None = None,
    store: Store | None = None,
    files: Files | None = None,
) -> Proposal:
    """Propose signals for a plan: the fewest readable signals and arms with which it holds.

    Readable: a bracket has three arms at most, discs give leave for sidings, and no arm gives leave
    to run through one platform to the next. The signals of the plan stay; ``repair`` may move or
    remove them, as few as possible. ``level`` is one of ``LEVELS``. Returns up to ``count``
    proposals; none contains an earlier one. ``seconds`` is the time limit for each; it returns the
    best found so far, with its bound, and looks for no further one. ``close_mm`` is how close
    signals are made one at level ``at-points``; by default it follows from the scale. ``progress``
    receives the round and the bound. With a ``store`` the search minimises cost, and the club's own
    parts are free. The search counts mounts and arms by the piece; the final cost of each proposal
    is exact, with postage and parts that the club can make. ``files`` reads the plans of boards: a
    plan put together from boards gets the new signals itself, for this meet.

    Raises PlanError if the plan cannot be read, CannotPropose if there is no proposal,
    NotInstalled if the solver is missing.
    """
    report = check_content(content, name, settings, files)
    if report.layout is None or report.facts is None:
        raise PlanError(report.findings)
    if report.layout.boards and repair:
        raise CannotPropose(
            "This plan includes boards. Run `propose --repair` on the file of each board."
        )
    document = read_document(content, name)
    if isinstance(document, Unreadable):  # pragma: no cover # the check has read it
        raise PlanError(document.findings)
    task = _Task(content, name, settings, files, document.data, _whole(document, report, files))
    chooser = _chooser(report.layout, level, store, repair=repair, seconds=seconds)
    if level == "at-points" and not repair:
        close = close_mm_of(report.layout) if close_mm is None else close_mm
        found = _found(chooser, lambda: at_points(chooser, close))
        drafts = () if found is None else (_draft(task, chooser, found, level),)
        proposal = Proposal(level, repair, drafts, close_mm=close)
    else:
        proposal = Proposal(level, repair, tuple(_drafts(task, chooser, level, count, progress)))
    return proposal if store is None else price(proposal, store, seconds=seconds)


class _Task(NamedTuple):
    """A plan for which signals are proposed."""

    content: str | bytes
    name: str
    settings: Settings
    files: Files | None
    own: dict[str, Any]
    """The data of its own file."""
    whole: dict[str, Any]
    """The same with its boards put together."""


def _whole(document: Document, report: Report, files: Files | None) -> dict[str, Any]:
    if report.layout is None or not report.layout.boards:
        return document.data
    from trappoint.boards.assembly import assemble

    return assemble(document, files).data


def _drafts(
    task: _Task,
    chooser: Chooser,
    level: Level,
    count: int,
    progress: Callable[[int, int], None] | None,
) -> Iterator[Draft]:
    for _ in range(count):
        found = _found(chooser, lambda: chooser.best(progress))
        if found is None:
            return
        yield _draft(task, chooser, found, level)
        if found.worth > found.bound or (chooser.ground.movable and not found.worth):
            return


def _chooser(
    layout: Layout, level: Level, store: Store | None, *, repair: bool, seconds: float
) -> Chooser:
    ground = survey(layout, movable=repair)
    practice = practice_of(level, repair=repair)
    wishes = Objective(ground, practice)
    if repair:
        wishes = FewestChanges(ground, practice)
    elif store is not None:
        wishes = LeastCost(ground, practice, prices_of(store))
    return Chooser(ground, wishes, seconds)


def _found(chooser: Chooser, find: Callable[[], CompleteChoice | None]) -> CompleteChoice | None:
    try:
        return find()
    except NoChoice as none:
        stays = any(not post.free for post in chooser.ground.posts)
        hint = " To let existing signals move or go, add `--repair`." if stays else ""
        raise CannotPropose(
            f"No signals make this plan hold: a needed place allows no signal ({none}).{hint}"
        ) from None


def _draft(task: _Task, chooser: Chooser, found: CompleteChoice, level: Level) -> Draft:
    ground = chooser.ground
    shared: Mapping[int, tuple[int, ...]] = {}
    if level != "least" and not ground.movable:
        shared = gantries(ground, found.posts, found.arms)
    written = write_choice(task.whole, ground, found.posts, shared)
    if level == "full" and not ground.movable:
        written.added += divide_lines(written.data, ground.sidings, free_number)
    distants = add_distants(written.data) if level in ("full", "at-points") else []
    text = _text_of(task.content, task.own, _own_part(task, written), task.name)
    report = check_content(text, task.name, task.settings, task.files)
    return Draft(
        text,
        report,
        tuple(reasons_for(written, task.whole)),
        tuple(distants),
        tuple(written.dropped),
        _holding(report),
        sum(arm.kind in HOLDING for arm in report.layout.arms()) if report.layout else 0,
        found.worth,
        found.bound,
        use_of(report, level),
    )


def _own_part(task: _Task, written: Written) -> dict[str, Any]:
    """Return what a plan's own file has after a proposal: of a whole, its own signals."""
    if task.whole is task.own:
        return written.data
    signals = {n: each for n, each in written.data.get("signals", {}).items() if "/" not in n}
    return {**task.own, "signals": signals} if signals else task.own


def _holding(report: Report) -> int:
    """Return the number of signals that hold trains, without discs at the foot of others."""
    layout = report.layout
    if layout is None:
        return 0
    seen: set[tuple[str, str, float]] = set()
    count = 0
    for signal in layout.signals.values():
        heads = (head for head in signal.heads if head.holds)
        spots = {(h.track, h.heading, cut_at(h, layout.tracks[h.track])) for h in heads}
        count += bool(spots - seen)
        seen |= spots
    return count


def _text_of(content: str | bytes, before: dict[str, Any], after: dict[str, Any], name: str) -> str:
    """Return the text of the plan; unchanged values keep their digits and empty lines."""
    from trappoint.tidying.tidy import write_tree
    from trappoint.tidying.tree import read_sheet

    sheet = read_sheet(content, name)
    if isinstance(sheet, Unreadable):  # pragma: no cover # the check has read it
        raise PlanError(sheet.findings)
    tree = dict(sheet.tree)
    for key in ("signals", "scenes", "levers"):
        old, new = before.get(key, {}), after.get(key)
        if new is None:
            tree.pop(key, None)
            continue
        given = tree.get(key)
        kept = given if isinstance(given, dict) else {}
        tree[key] = {
            name: kept[name] if name in kept and old.get(name) == value else _as_tree(value)
            for name, value in new.items()
        }
    return write_tree(tree, sheet.gaps, crlf=sheet.crlf)


def _as_tree(value: Any) -> Any:
    """Return data as a tree for the writer, with numbers as their digits."""
    from trappoint.tidying.tree import Number

    return json.loads(json.dumps(value), parse_int=Number, parse_float=Number)


__all__ = ["LEVELS", "CannotPropose", "Draft", "Proposal", "propose"]
