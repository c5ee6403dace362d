"""Proposals of signals for people at a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.core.quoting import listed
from trappoint.core.terminal import plural
from trappoint.parts.money import tell_amount
from trappoint.reporting.wording import count_findings, title_of, verdict_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.core.terminal import RenderOptions
    from trappoint.proposing.proposal import Draft, Proposal
    from trappoint.proposing.reasons import Reason


def render(proposal: Proposal, look: RenderOptions) -> str:
    """Return the proposals in whole lines: the best with its reasons, what others do otherwise."""
    best, *others = proposal.drafts
    lines = _head(proposal, best, look)
    lines += _cost(proposal, best, look)
    for reason in best.reasons:
        if not proposal.repair or reason.state != "kept" or reason.done:
            lines += ["", *_reason(reason, look)]
    for name in best.distants:
        lines += ["", *look.wrap(f"{name}: a distant, as far out as its track lets it stand.")]
    lines += _dropped(best, look)
    for number, other in enumerate(others, 2):
        lines += ["", *_other(number, other, best, look), *_cost(proposal, other, look, "    ")]
    lines += ["", *(look.paint(line, "faint") for line in look.wrap(CAUTION_SHORT))]
    return "\n".join(lines) + "\n"


def _head(proposal: Proposal, best: Draft, look: RenderOptions) -> list[str]:
    report = best.report
    lines = look.wrap(f"{title_of(report)}: {headline(proposal, best)}", later="  ")
    lines = [look.paint(line, "strong") for line in lines]
    kind = "good" if report.holds else "error"
    lines += [
        look.paint(line, kind) for line in look.wrap(f"With them the plan {verdict_of(report)}")
    ]
    if report.findings:
        found = count_findings(report.findings)
        lines += look.wrap(f"The check has more to say of it: {found}.")
    return lines


def _cost(proposal: Proposal, draft: Draft, look: RenderOptions, before: str = "") -> list[str]:
    if proposal.priced_in is None:
        return []
    if draft.cost is None:
        return look.wrap("The store cannot give all that its new signals need.", before)
    told = f"{tell_amount(draft.cost)} {proposal.priced_in}"
    cheapest = " the least of these proposals" if draft is proposal.drafts[0] else ""
    comma = "," if cheapest else ""
    return look.wrap(f"Its new signals cost {told}{comma}{cheapest}.", before)


def headline(proposal: Proposal, draft: Draft) -> str:
    """Say what a proposal comes to, and whether there is none better."""
    priced = proposal.priced_in is not None
    if proposal.repair:
        if not draft.worth:
            return "nothing needs to be changed."
        changes = plural(draft.worth, "signal")
        proof = "no fewer will do" if draft.least else f"at least {draft.bound} must"
        return f"{changes} to be changed; {proof}."
    whole = f"{plural(draft.signals, 'signal')} with {plural(draft.arms, 'stop arm')}"
    if draft.least and priced:
        return f"{whole}; by the piece, none cost less."
    if draft.least:
        return f"{whole}; no fewer signals and arms will do."
    if priced:
        return f"{whole}. Time ran out before it was sure that none cost less."
    return (
        f"{whole}. Time ran out before it was sure that there is none better: new signals and arms "
        f"come to {draft.worth} together, and to {draft.bound} at least in any plan."
    )


def _reason(reason: Reason, look: RenderOptions) -> list[str]:
    where = "" if reason.state == "gone" else f" on {reason.track}, for {reason.heading} trains"
    state = {"new": "", "kept": " (stays)", "moved": " (put here)", "gone": " is taken away"}
    head = f"{reason.signal}{where}{state[reason.state]}"
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
    lines = ["", "What referred to arms that are no more was taken out:"]
    for pointer in best.dropped:
        lines += look.wrap(pointer, "    ")
    return lines


def _other(number: int, other: Draft, best: Draft, look: RenderOptions) -> list[str]:
    """Say in what another proposal differs from the best."""
    mine, theirs = _places(best.reasons), _places(other.reasons)
    head = f"Proposal {number}: {plural(other.signals, 'signal')} with {plural(other.arms, 'arm')}."
    lines = [look.paint(line, "strong") for line in look.wrap(head)]
    for word, places in (("Instead of", mine - theirs), ("It has", theirs - mine)):
        told = [f"one on {track} for {heading} trains" for track, heading in sorted(places)]
        if told:
            lines += look.wrap(f"{word} {listed(told, 'and')}.", "    ")
    return lines


def _places(reasons: Sequence[Reason]) -> set[tuple[str, str]]:
    return {(reason.track, reason.heading) for reason in reasons if reason.state != "gone"}
