"""Every rule, in the order in which they are asked and told."""

from __future__ import annotations

from trappoint.rules import (
    accepted,
    beliefs,
    distants,
    edges,
    holding,
    orientation,
    posts,
    practice,
    references,
    roads,
    scenes,
    size,
    track,
    turning,
)
from trappoint.rules.dimensions import DIMENSION_RULES
from trappoint.rules.frame import FRAME_RULES
from trappoint.rules.rule import Rule
from trappoint.rules.sessions import WORKING_RULES

PLAN_RULES: tuple[Rule, ...] = (
    size.TOO_LARGE,
    references.UNKNOWN_REFERENCE,
    references.UNMET_LEG,
    references.LEG_MET_TWICE,
    references.OPEN_JOINT,
    references.IN_TWO_YARDS,
    posts.OFF_ITS_TRACK,
    posts.ON_ONE_SPOT,
    posts.EXITS_OVERLAP,
    posts.ARM_ID_TWICE,
    posts.NO_SUCH_LIE,
)
"""Rules on the plan as written. An error of theirs ends the check: nothing can be derived."""

FACT_RULES: tuple[Rule, ...] = (
    holding.UNHELD_EXIT,
    edges.NOT_HELD,
    roads.TOO_MANY_ROUTES,
    size.TOO_MUCH,
    roads.WITHOUT_ROUTE,
    roads.NAMES_NO_ROUTE,
    roads.NEEDS_TO,
    roads.WITHOUT_ARM,
    roads.TWO_FOR_ONE,
    roads.FOR_TWO_ROADS,
    roads.OUT_OF_ORDER,
    distants.WRONG_ARM,
    distants.NOTHING_AHEAD,
    distants.ABOVE_STOP_ARM,
    distants.CALLING_ON_ALONE,
    distants.CALLS_ELSEWHERE,
    distants.MOUNT_TOO_SMALL,
    beliefs.EXPECTS,
    beliefs.NEVER_WITH,
    beliefs.DUTY,
    track.UNREACHABLE,
    track.NEVER_MET,
    track.NO_STAND,
    track.NEVER_SET,
    track.ENDS_DIFFER,
    track.TOLD_APART,
    track.TRAP_APART,
    orientation.UP_MEETS_UP,
    orientation.REVERSING_LOOP,
    turning.UNPARTED,
    turning.TURNING_BACK,
    turning.SCENE_UNPARTED,
    scenes.POINTS_APART,
    scenes.AGAINST_POINTS,
    scenes.OCCUPIED,
    scenes.CONFLICTING,
    scenes.SHUNT_ON,
    scenes.TOO_SOON,
    scenes.OPEN,
    practice.WITHOUT_HOME,
    practice.WITHOUT_STARTER,
    practice.ON_ONE_DOLL,
    practice.AGAINST_RANK,
    practice.WITHOUT_LOCK,
    practice.WITHOUT_TRAP,
    practice.NUMBERS_SKIP,
    practice.NO_OVERLAP,
    practice.STANDSTILL,
    *WORKING_RULES,
    *FRAME_RULES,
    *DIMENSION_RULES,
    accepted.WITHOUT_REASON,
)
"""Rules on what is derived from the plan."""

LAST_RULES: tuple[Rule, ...] = (accepted.WITHOUT_MATCH, size.MORE)
"""Rules on what the others found."""

BOARD_RULES: tuple[Rule, ...]
"""Rules on how a plan is put together. An error of theirs ends the check."""

RULES: tuple[Rule, ...]
"""All of them, in the order in which they are asked and told."""


def __getattr__(name: str) -> tuple[Rule, ...]:
    # Most checks ask for neither, and what is not imported costs nothing.
    from trappoint.rules.boards import BOARD_RULES

    if name == "BOARD_RULES":
        return BOARD_RULES
    if name != "RULES":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from trappoint.rules.forms import FORM_RULES
    from trappoint.rules.stores import STORE_RULES
    from trappoint.rules.texts import TEXT_RULES

    before = (*TEXT_RULES, *FORM_RULES, *BOARD_RULES)
    every = (*before, *PLAN_RULES, *FACT_RULES, *LAST_RULES, *STORE_RULES)
    globals()[name] = every
    return every


__all__ = ["BOARD_RULES", "FACT_RULES", "PLAN_RULES", "RULES", "Rule"]
