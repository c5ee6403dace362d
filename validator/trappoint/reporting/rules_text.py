"""Rules for people: the list, and one rule explained."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.reporting.examples import tell_example

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.core.terminal import RenderOptions
    from trappoint.rules.rule import Example, Rule


def render_list(rules: Sequence[Rule], look: RenderOptions) -> str:
    """Return a line or two for each rule: its name, its level, what it finds."""
    longest = max(len(rule.id) for rule in rules)
    lines: list[str] = []
    for rule in rules:
        lines += look.wrap(rule.summary, f"{rule.id:<{longest}}  {rule.level:<7}  ")
    lines += ["", *look.wrap("`trappoint rules RULE` explains one of them.")]
    return "\n".join(lines) + "\n"


def render_rule(rule: Rule, look: RenderOptions) -> str:
    """Return all there is to know about one rule."""
    lines = [f"{rule.id} ({rule.level})", *look.wrap(f"{rule.summary}.", "  "), ""]
    lines += look.wrap(rule.why, "  why     ")
    lines += look.wrap(rule.source, "  source  ")
    lines += look.wrap(rule.caution, "  caution ") if rule.caution else []
    lines += ["", *_example("Speaks on:", rule.fails, look)]
    lines += ["", *_example("Silent on:", rule.passes, look)]
    return "\n".join(lines) + "\n"


def _example(lead: str, example: Example, look: RenderOptions) -> list[str]:
    about, text = tell_example(example)
    lines = look.wrap(f"{lead} {about}", "  ", "    ")
    if text:
        lines += [f"    {look.clean(line)}".rstrip() for line in text.split("\n")]
    return lines
