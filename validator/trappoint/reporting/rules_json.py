"""Rules for programs: one JSON object (RFC 8259), in ASCII."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from trappoint.reporting.examples import rule_to_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.rules.rule import Rule


def render_rules(rules: Sequence[Rule], *, whole: bool) -> str:
    """Return the whole record of one rule as JSON; of all rules, if ``whole`` is true."""
    told = [rule_to_json(rule) for rule in rules]
    return json.dumps({"rules": told} if whole else told[0], indent=2) + "\n"
