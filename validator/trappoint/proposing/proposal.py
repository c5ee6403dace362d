"""Proposals of signals: from the text of a plan to plans that hold, the best first."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from trappoint.checking.check import check_content
from trappoint.checking.report import Report
from trappoint.core.errors import PlanError
from trappoint.model.settings import DEFAULTS
from trappoint.proposing.distants import add_distants
from trappoint.proposing.levels import LEVELS, practice_of
from trappoint.proposing.objectives import FewestChanges, LeastCost, Objective
from trappoint.proposing.optimising import Chooser, NoChoice
from trappoint.proposing.posts import survey
from trappoint.proposing.pricing import price, prices_of
from trappoint.proposing.reasons import Reason, reasons_for
from trappoint.proposing.writing import Written, write_choice
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings
    from trappoint.parts.store import Store
    from trappoint.proposing.levels import Level
    from trappoint.proposing.optimising import CompleteChoice


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
    """The number of signals that hold trains."""
    arms: int
    worth: int
    """The minimised value: the number of new signals and arms; in a repair, the number of signals
    that change; with a store, the cost of the new signals by the piece, in hundredths."""
    bound: int
    """A lower limit for ``worth`` of every plan; equal to it if this plan is proved the least."""
    cost: int | None = None
    """The cost of its new signals, in hundredths; None without a store, or if it lacks parts."""

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


def propose(
    content: str | bytes,
    *,
    name: str = "<text>",
    level: Level = "least",
    repair: bool = False,
    count: int = 1,
    seconds: float = 60.0,
    settings: Settings = DEFAULTS,
    progress: Callable[[int, int], None] | None = None,
    store: Store | None = None,
) -> Proposal:
    """Propose signals for a plan: the fewest signals and arms with which it holds.

    The signals of the plan stay; ``repair`` may move or remove them, as few as possible. ``level``
    is one of ``LEVELS``. Returns up to ``count`` proposals; none contains an earlier one.
    ``seconds`` is the time limit for each; it returns the best found so far, with its bound.
    ``progress`` receives the round and the bound. With a ``store`` the search minimises cost, and
    the club's own parts are free. The search counts mounts and arms by the piece; the final cost of
    each proposal is exact, with postage and parts that the club can make.

    Raises PlanError if the plan cannot be read, CannotPropose if there is no proposal,
    NotInstalled if the solver is missing.
    """
    report = check_content(content, name, settings)
    if report.layout is not None and report.layout.boards:
        raise CannotPropose("This plan includes boards. Run `propose` on the file of each board.")
    if report.layout is None or report.facts is None:
        raise PlanError(report.findings)
    document = read_document(content, name)
    if isinstance(document, Unreadable):  # pragma: no cover # the check has read it
        raise PlanError(document.findings)
    chooser = _chooser(report.layout, level, store, repair=repair, seconds=seconds)
    drafts: list[Draft] = []
    while len(drafts) < count:
        found = _next(chooser, progress)
        if found is None:
            break
        written = write_choice(document.data, chooser.ground, found.posts)
        distants = add_distants(written.data) if level == "full" else []
        drafts.append(_draft(content, document.data, written, found, distants, name, settings))
        if not found.worth and repair:
            break
    proposal = Proposal(level, repair, tuple(drafts))
    return proposal if store is None else price(proposal, store, seconds=seconds)


def _chooser(
    layout: Layout, level: Level, store: Store | None, *, repair: bool, seconds: float
) -> Chooser:
    ground = survey(layout, movable=repair)
    practice = practice_of(level)
    wishes = Objective(ground, practice)
    if repair:
        wishes = FewestChanges(ground, practice)
    elif store is not None:
        wishes = LeastCost(ground, practice, prices_of(store))
    return Chooser(ground, wishes, seconds)


def _next(chooser: Chooser, progress: Callable[[int, int], None] | None) -> CompleteChoice | None:
    try:
        return chooser.best(progress)
    except NoChoice as none:
        stays = any(not post.free for post in chooser.ground.posts)
        hint = " To let existing signals move or go, add `--repair`." if stays else ""
        raise CannotPropose(
            f"No signals make this plan hold: a needed place allows no signal ({none}).{hint}"
        ) from None


def _draft(
    content: str | bytes,
    before: dict[str, Any],
    written: Written,
    found: CompleteChoice,
    distants: list[str],
    name: str,
    settings: Settings,
) -> Draft:
    text = _text_of(content, before, written.data, name)
    report = check_content(text, name, settings)
    return Draft(
        text,
        report,
        tuple(reasons_for(written, before)),
        tuple(distants),
        tuple(written.dropped),
        _holding(report),
        sum(arm.kind == "stop" for arm in report.layout.arms()) if report.layout else 0,
        found.worth,
        found.bound,
    )


def _holding(report: Report) -> int:
    signals = report.layout.signals.values() if report.layout is not None else ()
    return sum(any(head.holds for head in signal.heads) for signal in signals)


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
