"""Doing steps: from the text of a plan to the text after them."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.laying.catalogue import VERBS
from trappoint.laying.draft import Draft
from trappoint.laying.order import faults
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import find_verb
from trappoint.schema.validation import schema_findings
from trappoint.source.positions import place_findings
from trappoint.source.reading import Unreadable
from trappoint.tidying.tidy import read_plan

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from trappoint.core.findings import Finding


class Laid(NamedTuple):
    """A plan after some steps."""

    text: str
    """In the layout of ``trappoint tidy``; the very text that was given if there are no steps."""
    said: tuple[str, ...]
    """A sentence for each step."""
    touched: tuple[str, ...]
    """The places that are new or changed, such as ``tracks/siding``."""


def lay(content: str | None, steps: Sequence[Mapping[str, object]]) -> Laid:
    """Do steps on the text of a plan, in their order, and return the text after them.

    ``content`` None begins with nothing. Parts of a tidy text that no step concerns stay as they
    are. If the plan is in order (``laying.order``) before a step, it is after it. Pure. Raises
    ``Refused`` if the text is no plan, or a step cannot be done; then nothing is done.
    """
    draft = Draft() if content is None else _opened(content)
    if not steps:
        return Laid(draft.text() if content is None else content, (), ())
    said = []
    before = draft.data()
    for number, step in enumerate(steps):
        try:
            verb, measures = find_verb(step, VERBS)
            said.append(verb.do(draft, measures))
            after = draft.data()
            _hold_to(after, before)
        except Refused as refused:
            raise Refused(refused.message, refused.fix, number) from None
        before = after
    return Laid(draft.text(), tuple(said), draft.touched())


def _opened(content: str) -> Draft:
    sheet = read_plan(content, "")
    if isinstance(sheet, Unreadable):
        raise _no_plan(sheet.findings[0])
    draft = Draft(sheet)
    of_form = schema_findings(draft.data())
    if of_form:
        raise _no_plan(place_findings(content, of_form[:1])[0])
    return draft


def _no_plan(finding: Finding) -> Refused:
    return Refused(
        f"The text is no plan yet. Line {finding.line}: {finding.message}",
        finding.fix or "Correct the text first.",
    )


def _hold_to(after: Mapping[str, Any], before: Mapping[str, Any]) -> None:
    """Refuse a step after which the plan breaks a rule more often than before."""
    found = faults(after)
    if not found:
        return
    worse = _counted(found) - _counted(faults(before))
    for finding in reversed(found):
        if finding.rule in worse:
            raise Refused(f"That cannot be: {finding.message}", finding.fix)


def _counted(findings: list[Finding]) -> Counter[str]:
    return Counter(finding.rule for finding in findings)
