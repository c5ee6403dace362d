"""What there is to say of what stands at a place: in Markdown, for a small window over the text."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import CAUTION_SHORT
from trappoint.lsp.hover_arms import tell_arm, tell_signal
from trappoint.lsp.hover_track import TELL_TRACK
from trappoint.lsp.lenient_access import things
from trappoint.lsp.schema_lookup import form_at, said_of
from trappoint.lsp.tolerant_json import spot_at
from trappoint.reporting.wording import count_findings, verdict_of

if TYPE_CHECKING:
    from trappoint.lsp.document_state import CheckedText
    from trappoint.lsp.lenient_access import Data
    from trappoint.lsp.names import Key, LiveText, Name


class HoverText(NamedTuple):
    """What is said, and of which part of the text: offsets, the end after it."""

    text: str
    start: int
    end: int


def tell(sketch: LiveText, offset: int, checked: CheckedText) -> HoverText | None:
    """Say what stands at an offset: a thing, a rule, a key or word of the format, the verdict."""
    board = sketch.on_board_at(offset)
    if board is not None:
        said = tell_on_board(board, checked)
        if said:
            return HoverText(said, board.start, board.end)
    name = sketch.at(offset)
    if name is not None:
        said = tell_thing(sketch, sketch.key_of(name), checked)
        if said:
            return HoverText(said, name.start, name.end)
    spot = spot_at(sketch.root, offset)
    if spot is None or spot.node is None:
        return None
    node, path = spot.node, spot.path
    if spot.role == "key":
        path = (*path, node.text)
    said = said_of(form_at(path))
    if path in (("format",), ("title",)):
        said = "\n\n".join(part for part in (tell_verdict(checked), said) if part)
    return HoverText(said, node.start, node.end) if said else None


def tell_verdict(checked: CheckedText) -> str:
    """Say whether the plan holds, with the caution; nothing before it was checked."""
    report = checked.report
    if report is None:
        return ""
    counted = count_findings(report.findings)
    found = f" Found: {counted}." if counted else ""
    return f"The plan {verdict_of(report).rstrip()}{found}\n\n*{CAUTION_SHORT}*"


def tell_thing(sketch: LiveText, key: Key, checked: CheckedText) -> str:
    """Say what a thing is, and what follows for it; empty if it leads to nothing."""
    kind = key[0]
    if kind == "rules":
        return _tell_rule(key[1])
    if not sketch.known(key) and kind != "legs":
        return ""
    return _tell(sketch.data, key, checked)


def tell_on_board(name: Name, checked: CheckedText) -> str:
    """Say what something on a board is in the whole; empty if that was never worked out."""
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
    teller = TELL_TRACK.get(kind)
    return teller(data, name, checked) if teller else ""


def _tell_rule(name: str) -> str:
    from trappoint.rules.catalogue import all_rules

    rule = next((rule for rule in all_rules() if rule.id == name), None)
    if rule is None:
        return ""
    return f"**{rule.id}** ({rule.level}): {rule.summary}.\n\n{rule.why}\n\nSource: {rule.source}."
