"""Hover texts, in Markdown: for a thing, a rule, a key or a word of the format, the verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import CAUTION_SHORT
from trappoint.lsp.hover_arms import tell_arm, tell_signal
from trappoint.lsp.hover_track import HOVER_OF
from trappoint.lsp.lenient_access import things
from trappoint.lsp.schema_lookup import description_of, form_at
from trappoint.reporting.wording import count_findings, verdict_of
from trappoint.source.tolerant_json import spot_at

if TYPE_CHECKING:
    from trappoint.lsp.document_state import CheckedText
    from trappoint.lsp.lenient_access import Data
    from trappoint.lsp.names import Key, LiveText, Name


class HoverText(NamedTuple):
    """A hover text and the part of the plan that it explains: offsets, ``end`` exclusive."""

    text: str
    start: int
    end: int


def tell(sketch: LiveText, offset: int, checked: CheckedText) -> HoverText | None:
    """Return the hover text for an offset; None if there is nothing to explain."""
    board = sketch.on_board_at(offset)
    if board is not None:
        text = tell_on_board(board, checked)
        if text:
            return HoverText(text, board.start, board.end)
    name = sketch.at(offset)
    if name is not None:
        text = tell_thing(sketch, sketch.key_of(name), checked)
        if text:
            return HoverText(text, name.start, name.end)
    spot = spot_at(sketch.root, offset)
    if spot is None or spot.node is None:
        return None
    node, path = spot.node, spot.path
    if spot.role == "key":
        path = (*path, node.text)
    text = description_of(form_at(path))
    if path in (("format",), ("title",)):
        text = "\n\n".join(part for part in (tell_verdict(checked), text) if part)
    return HoverText(text, node.start, node.end) if text else None


def tell_verdict(checked: CheckedText) -> str:
    """Return the verdict with the caution; empty before the first check."""
    report = checked.report
    if report is None:
        return ""
    counted = count_findings(report.findings)
    found = f" Findings: {counted}." if counted else ""
    return f"The plan {verdict_of(report).rstrip()}{found}\n\n*{CAUTION_SHORT}*"


def tell_thing(sketch: LiveText, key: Key, checked: CheckedText) -> str:
    """Return the hover text of a thing; empty if the plan does not define it."""
    kind = key[0]
    if kind == "rules":
        return _tell_rule(key[1])
    if not sketch.known(key) and kind != "legs":
        return ""
    return _tell(sketch.data, key, checked)


def tell_on_board(name: Name, checked: CheckedText) -> str:
    """Return the hover text of a thing on a board, as part of the assembled plan.

    Empty if no check has assembled the plan yet.
    """
    assembly = checked.worked.report.assembly if checked.worked else None
    called = "/".join((*name.boards, name.name))
    if assembly is None:
        return ""
    for kind in name.kinds:
        if kind == "arms" or called in things(assembly.data, kind):
            return _tell(assembly.data, (kind, called), checked)
    return ""


def _tell(data: Data, key: Key, checked: CheckedText) -> str:
    kind, name = key
    if kind == "arms":
        return tell_arm(data, name, checked)
    if kind == "signals":
        return tell_signal(data, name, checked)
    text_for = HOVER_OF.get(kind)
    return text_for(data, name, checked) if text_for else ""


def _tell_rule(name: str) -> str:
    from trappoint.rules.catalogue import all_rules

    rule = next((rule for rule in all_rules() if rule.id == name), None)
    if rule is None:
        return ""
    caution = f"\n\n{rule.caution}" if rule.caution else ""
    head = f"**{rule.id}** ({rule.level}): {rule.summary}."
    return f"{head}\n\n{rule.why}\n\nSource: {rule.source}.{caution}"
