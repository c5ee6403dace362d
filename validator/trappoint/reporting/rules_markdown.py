"""Rules for documents: a page in Markdown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.terminal import RenderOptions
from trappoint.reporting.examples import tell_example
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.rules.rule import Example, Rule

_LOOK = RenderOptions()


def render_rules(rules: Sequence[Rule], *, whole: bool) -> str:
    """Return one rule as a page of its own, or the page of all of them."""
    if not whole:
        return "\n\n".join(_rule(rules[0], "#")) + "\n"
    parts = ["# Rules"]
    for rule in rules:
        parts += _rule(rule, "##")
    return "\n\n".join(parts) + "\n"


def _rule(rule: Rule, level: str) -> list[str]:
    return [
        f"{level} {rule.id}",
        f"*{rule.level}*: {escape(rule.summary)}.",
        escape(rule.why),
        f"Source: {escape(rule.source)}.",
        *([escape(rule.caution)] if rule.caution else []),
        *_example("Speaks on:", rule.fails),
        *_example("Silent on:", rule.passes),
    ]


def _example(lead: str, example: Example) -> list[str]:
    about, text = tell_example(example)
    told = [f"{lead} {escape(about)}"]
    if text:
        fence = "`" * max(3, 1 + max((len(run) for run in _ticks(text)), default=0))
        shown = "\n".join(_LOOK.clean(line) for line in text.split("\n"))
        told.append(f"{fence}json\n{shown}\n{fence}")
    return told


def _ticks(text: str) -> list[str]:
    """Return the runs of backticks in a text."""
    return "".join(char if char == "`" else " " for char in text).split()
