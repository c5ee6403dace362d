"""Proposals of signals as one JSON object."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import CAUTION
from trappoint.parts.money import tell_amount
from trappoint.reporting.findings_json import finding_to_json
from trappoint.reporting.propose_parts import parts_data, passed_over_data

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.proposing.proposal import Draft, Proposal


def render(proposal: Proposal, look: RenderOptions) -> str:
    """Return the proposals, the best first."""
    return json.dumps(proposal_as_data(proposal), indent=2) + "\n"


def proposal_as_data(proposal: Proposal) -> dict[str, Any]:
    """Return the proposals as JSON values."""
    return {
        "level": proposal.level,
        "repair": proposal.repair,
        "currency": proposal.priced_in,
        "caution": CAUTION,
        "proposals": [_draft(draft) for draft in proposal.drafts],
        "not_to_be_had": passed_over_data(proposal),
    }


def _draft(draft: Draft) -> dict[str, Any]:
    return {
        "holds": draft.report.holds,
        "use": draft.use,
        "signals": draft.signals,
        "arms": draft.arms,
        "worth": draft.worth,
        "bound": draft.bound,
        "least": draft.least,
        "cost": None if draft.cost is None else tell_amount(draft.cost),
        **parts_data(draft),
        "reasons": [
            {
                "signal": reason.signal,
                "state": reason.state,
                "track": reason.track,
                "for": reason.heading,
                "arms": [{"arm": arm, "meaning": meaning} for arm, meaning in reason.arms],
                "duties": list(reason.duties),
                "without": reason.without,
                "done": list(reason.done),
            }
            for reason in draft.reasons
        ],
        "distants": list(draft.distants),
        "dropped": list(draft.dropped),
        "findings": [finding_to_json(finding) for finding in draft.report.findings],
        "plan": draft.text,
    }
