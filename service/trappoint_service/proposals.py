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
    PartsNotUsable,
    PlanNotUsable,
    Text,
    not_usable,
)
from trappoint_service.plan_page import page_of
from trappoint_service.sent_plans import FilesSent, check_sent
from trappoint_service.sent_stores import BadStore, read_store_sent

if TYPE_CHECKING:
    from trappoint.model.settings import Settings
    from trappoint.proposing.proposal import Proposal
    from trappoint_service.jobs import ProposeSignals, ShowDraft

NO_SOLVER = "This service cannot propose signals: its solver is not installed."


def propose_signals(
    job: ProposeSignals, settings: Settings
) -> Text | PlanNotUsable | NothingToPropose | PartsNotUsable:
    """Return the best proposal as JSON, like the command line."""
    from trappoint.reporting import propose_json

    found = _proposed(job, settings)
    if isinstance(found, PlanNotUsable | NothingToPropose | PartsNotUsable):
        return found
    return Text(propose_json.render(found, RenderOptions()))


def show_draft(
    job: ShowDraft, settings: Settings
) -> DraftPage | PlanNotUsable | NothingToPropose | PartsNotUsable:
    """Return the proposed plan and its page."""
    from trappoint.reporting.propose_parts import cost_of
    from trappoint.reporting.propose_text import headline

    found = _proposed(job, settings)
    if isinstance(found, PlanNotUsable | NothingToPropose | PartsNotUsable):
        return found
    draft = found.drafts[0]
    reasons = [reason._asdict() for reason in draft.reasons]
    said = f"{headline(found, draft)} {draft.use}"
    shown = DraftShown(said, reasons, found.repair, cost_of(found, draft))
    return DraftPage(draft.text, replace(page_of(draft.report), draft=shown))


def _proposed(
    job: ProposeSignals | ShowDraft, settings: Settings
) -> Proposal | PlanNotUsable | NothingToPropose | PartsNotUsable:
    from trappoint.core.errors import NotInstalled
    from trappoint.proposing.pricing import MORE, enough_to_be_had
    from trappoint.proposing.proposal import CannotPropose, propose
    from trappoint.reporting.propose_parts import passed_over

    plan, wish = job.plan, job.wish
    try:
        store = None if job.store is None else read_store_sent(job.store)
        found = enough_to_be_had(
            1,
            lambda count: propose(
                plan.content,
                name=plan.name,
                level=wish.level,
                repair=wish.repair,
                count=count,
                seconds=wish.seconds if store is None else wish.seconds / (1 + MORE),
                files=FilesSent(plan.boards) if plan.boards else None,
                settings=settings,
                store=store,
            ),
        )
    except BadStore as bad:
        return PartsNotUsable(bad.args[0])
    except trappoint.PlanError:
        return not_usable(check_sent(plan, settings))
    except CannotPropose as cannot:
        return NothingToPropose(str(cannot))
    except NotInstalled:
        return NothingToPropose(NO_SOLVER)
    if not found.drafts:
        told = ["No proposal can be had from this store.", *passed_over(found, store)]
        return NothingToPropose(" ".join(told))
    return found
