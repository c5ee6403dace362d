"""Proposals: signals for a plan, as JSON and on the page of the proposed plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import trappoint
from trappoint.core.terminal import RenderOptions
from trappoint_service.answers import (
    DraftPage,
    DraftShown,
    NothingToPropose,
    PlanNotUsable,
    Text,
    not_usable,
)
from trappoint_service.plan_page import page_of
from trappoint_service.sent_plans import check_sent

if TYPE_CHECKING:
    from trappoint.model.settings import Settings
    from trappoint.proposing.proposal import Proposal
    from trappoint_service.jobs import ProposeSignals, ShowDraft

NO_SOLVER = "This service cannot propose signals: its solver is not installed."


def propose_signals(
    job: ProposeSignals, settings: Settings
) -> Text | PlanNotUsable | NothingToPropose:
    """Return the best proposal as JSON, like the command line."""
    from trappoint.reporting import propose_json

    found = _proposed(job, settings)
    if isinstance(found, PlanNotUsable | NothingToPropose):
        return found
    return Text(propose_json.render(found, RenderOptions()))


def show_draft(job: ShowDraft, settings: Settings) -> DraftPage | PlanNotUsable | NothingToPropose:
    """Return the proposed plan and its page."""
    from trappoint.reporting.propose_text import headline

    found = _proposed(job, settings)
    if isinstance(found, PlanNotUsable | NothingToPropose):
        return found
    draft = found.drafts[0]
    reasons = [reason._asdict() for reason in draft.reasons]
    shown = DraftShown(headline(found, draft), reasons, found.repair)
    return DraftPage(draft.text, replace(page_of(draft.report), draft=shown))


def _proposed(
    job: ProposeSignals | ShowDraft, settings: Settings
) -> Proposal | PlanNotUsable | NothingToPropose:
    from trappoint.core.errors import NotInstalled
    from trappoint.proposing.proposal import CannotPropose, propose

    plan, wish = job.plan, job.wish
    try:
        return propose(
            plan.content,
            name=plan.name,
            level=wish.level,
            repair=wish.repair,
            seconds=wish.seconds,
            settings=settings,
        )
    except trappoint.PlanError:
        return not_usable(check_sent(plan, settings))
    except CannotPropose as cannot:
        return NothingToPropose(str(cannot))
    except NotInstalled:
        return NothingToPropose(NO_SOLVER)
