"""Proposals of signals as text for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.core.quoting import listed, millimetres
from trappoint.core.terminal import plural
from trappoint.model.names import Names
from trappoint.reporting.propose_parts import cost_of, passed_over
from trappoint.reporting.wording import count_findings, title_of, verdict_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.core.terminal import RenderOptions
    from trappoint.parts.store import Store
    from trappoint.proposing.proposal import Draft, Proposal
    from trappoint.proposing.reasons import Reason


def render(proposal: Proposal, look: RenderOptions, store: Store | None = None) -> str:
    """Return the proposals as lines: the best with its reasons, the others by their differences."""
    best, *others = proposal.drafts
    lines = _head(proposal, best, look)
    lines += look.wrap(best.use)
    lines += _cost(proposal, best, look)
    called = _Called(best)
    for reason in best.reasons:
        if not proposal.repair or reason.state != "kept" or reason.done:
            lines += ["", *_reason(reason, called, look)]
    for name in best.distants:
        lines += ["", *look.wrap(f"{name}: a distant, as far out as its track allows.")]
    lines += _dropped(best, look)
    for number, other in enumerate(others, 2):
        lines += ["", *_other(number, other, best, look), *_cost(proposal, other, look, "    ")]
    for told in passed_over(proposal, store):
        lines += ["", *look.wrap(told)]
    lines += ["", *(look.paint(line, "faint") for line in look.wrap(CAUTION_SHORT))]
    return "\n".join(lines) + "\n"


def _head(proposal: Proposal, best: Draft, look: RenderOptions) -> list[str]:
    report = best.report
    lines = look.wrap(f"{title_of(report)}: {headline(proposal, best)}", later="  ")
    lines = [look.paint(line, "strong") for line in lines]
    kind = "good" if report.holds else "error"
    lines += [
        look.paint(line, kind) for line in look.wrap(f"The proposed plan {verdict_of(report)}")
    ]
    if report.findings:
        found = count_findings(report.findings)
        lines += look.wrap(f"The check of this plan finds: {found}.")
    return lines


def _cost(proposal: Proposal, draft: Draft, look: RenderOptions, before: str = "") -> list[str]:
    return [line for told in cost_of(proposal, draft) for line in look.wrap(told, before)]


def headline(proposal: Proposal, draft: Draft) -> str:
    """Return the size of a proposal, and whether a better one is possible."""
    priced = proposal.priced_in is not None
    if proposal.repair:
        if not draft.worth:
            return "no signal needs a change."
        changes = plural(draft.worth, "signal")
        proof = "fewer are not enough" if draft.least else f"at least {draft.bound} are needed"
        return f"{changes} to change; {proof}."
    whole = f"{plural(draft.signals, 'signal')} with {plural(draft.arms, 'arm')}"
    if proposal.close_mm is not None:
        return f"{whole}; signals up to {millimetres(proposal.close_mm)} apart are made one."
    if draft.least:
        cheaper = "by the piece, no choice of signals is cheaper."
        return f"{whole}; {cheaper if priced else 'fewer that a driver can read are not enough.'}"
    if priced:
        return f"{whole}. The time limit ended the search: other signals may cost less."
    return (
        f"{whole}. The time limit ended the search: this proposal has {draft.worth} new signals "
        f"and arms, and every proposal needs at least {draft.bound}."
    )


class _Called:
    """The names of signals and tracks in a proposal, with the ids."""

    def __init__(self, draft: Draft) -> None:
        layout = draft.report.layout
        self._names = None if layout is None else Names(layout)

    def __call__(self, kind: str, key: str) -> str:
        return key if self._names is None else self._names.called(kind, key)


def _reason(reason: Reason, called: _Called, look: RenderOptions) -> list[str]:
    track = called("tracks", reason.track)
    where = "" if reason.state == "gone" else f" on {track}, for {reason.heading} trains"
    state = {"new": "", "kept": " (stays)", "moved": " (moved here)", "gone": " is removed"}
    head = f"{called('signals', reason.signal)}{where}{state[reason.state]}"
    lines = [look.paint(line, "strong") for line in look.wrap(head)]
    if reason.done:
        lines += look.wrap(f"{'; '.join(reason.done).capitalize()}.", "    ")
    for arm, meaning in reason.arms:
        lines += look.wrap(f"{arm}: {meaning}", "    ", "      ")
    if reason.duties:
        lines += look.wrap(f"Duties: {'; '.join(reason.duties)}.", "    ")
    if reason.without:
        lines += look.wrap(f"Without it: {reason.without[0].lower()}{reason.without[1:]}", "    ")
    return lines


def _dropped(best: Draft, look: RenderOptions) -> list[str]:
    if not best.dropped:
        return []
    lines = ["", "Removed, because they refer to removed arms:"]
    for pointer in best.dropped:
        lines += look.wrap(pointer, "    ")
    return lines


def _other(number: int, other: Draft, best: Draft, look: RenderOptions) -> list[str]:
    """Return the differences of another proposal from the best."""
    mine, theirs, called = _places(best.reasons), _places(other.reasons), _Called(best)
    head = f"Proposal {number}: {plural(other.signals, 'signal')} with {plural(other.arms, 'arm')}."
    lines = [look.paint(line, "strong") for line in look.wrap(head)]
    lines += look.wrap(other.use, "    ")
    for word, places in (("Instead of", mine - theirs), ("It has", theirs - mine)):
        signals = [
            f"one on {called('tracks', track)} for {heading} trains"
            for track, heading in sorted(places)
        ]
        if signals:
            lines += look.wrap(f"{word} {listed(signals, 'and')}.", "    ")
    return lines


def _places(reasons: Sequence[Reason]) -> set[tuple[str, str]]:
    return {(reason.track, reason.heading) for reason in reasons if reason.state != "gone"}
