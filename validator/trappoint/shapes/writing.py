"""Write a plan as text."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from trappoint.tidying.tidy import write_tree
from trappoint.tidying.tree import Number

if TYPE_CHECKING:
    from trappoint.shapes.ground import Plan


def write_plan(plan: Plan) -> str:
    """Return the text of a plan, as ``trappoint tidy`` writes it."""
    return write_tree(json.loads(json.dumps(plan), parse_int=Number), frozenset())
