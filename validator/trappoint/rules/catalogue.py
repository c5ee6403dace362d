"""All rules, in the order in which they run."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from trappoint.rules import (
    accepted,
    clearances,
    distants,
    edges,
    expectations,
    frame,
    holding,
    lengths,
    mounts,
    orientation,
    posts,
    practice,
    reach,
    references,
    roads,
    scale,
    scene_arms,
    scenes,
    sessions,
    size,
    track_ends,
    turning,
    worked_together,
)

if TYPE_CHECKING:
    from trappoint.rules.rule import Rule

PLAN_RULES: tuple[Rule, ...] = (
    size.TOO_LARGE,
    references.UNKNOWN_REFERENCE,
    track_ends.UNMET_LEG,
    track_ends.LEG_MET_TWICE,
    track_ends.OPEN_JOINT,
    references.IN_TWO_YARDS,
    posts.OFF_ITS_TRACK,
    posts.ON_ONE_SPOT,
    posts.EXITS_OVERLAP,
    references.ARM_ID_TWICE,
    references.NO_SUCH_LIE,
    track_ends.ANGLE_AND_CURVES,
)
"""Rules on the plan as written. An error ends the check, because no facts can be derived."""

FACT_RULES: tuple[Rule, ...] = (
    holding.UNHELD_EXIT,
    edges.NOT_HELD,
    reach.TOO_MANY_ROUTES,
    size.TOO_MUCH,
    reach.WITHOUT_ROUTE,
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
    mounts.MOUNT_TOO_SMALL,
    expectations.EXPECTS,
    expectations.NEVER_WITH,
    expectations.DUTY,
    reach.UNREACHABLE,
    reach.NEVER_MET,
    reach.NO_STAND,
    worked_together.NEVER_SET,
    worked_together.ENDS_DIFFER,
    worked_together.TOLD_APART,
    worked_together.TRAP_APART,
    orientation.UP_MEETS_UP,
    orientation.REVERSING_LOOP,
    turning.UNPARTED,
    turning.TURNING_BACK,
    turning.SCENE_UNPARTED,
    scenes.POINTS_APART,
    scene_arms.AGAINST_POINTS,
    scene_arms.OCCUPIED,
    scene_arms.CONFLICTING,
    scene_arms.SHUNT_ON,
    scene_arms.TOO_SOON,
    scenes.OPEN,
    practice.WITHOUT_HOME,
    practice.WITHOUT_STARTER,
    mounts.ON_ONE_DOLL,
    mounts.AGAINST_RANK,
    practice.WITHOUT_LOCK,
    practice.WITHOUT_TRAP,
    practice.NUMBERS_SKIP,
    practice.NO_OVERLAP,
    practice.STANDSTILL,
    sessions.TOGETHER,
    sessions.ASTRAY,
    sessions.CANNOT,
    sessions.STANDSTILL,
    sessions.NOT_TRIED,
    frame.LEVER_UNUSED,
    frame.ON_TWO_LEVERS,
    frame.NOT_ON_A_LEVER,
    frame.MOVED_APART,
    scale.NEEDS_STANDARD,
    scale.NOT_KNOWN,
    scale.GAUGE_DIFFERS,
    clearances.FOUL,
    track_ends.LEGS_NEVER_PART,
    lengths.NOWHERE,
    lengths.LONGER,
    lengths.TOO_LONG,
    lengths.LONG_PLATFORM,
    clearances.NEAR_DISTANT,
    clearances.NEAR_POST,
    clearances.NO_ROOM,
    accepted.WITHOUT_REASON,
)
"""Rules on the facts derived from the plan."""

LAST_RULES: tuple[Rule, ...] = (accepted.WITHOUT_MATCH, size.MORE)
"""Rules on the findings of the other rules."""


def board_rules() -> tuple[Rule, ...]:
    """Return the rules on how boards are joined. An error ends the check.

    They are imported here, because most plans have no boards.
    """
    from trappoint.rules import boards, joins

    return (
        boards.NOT_READ,
        boards.NOT_FOUND,
        boards.OUT_OF_REACH,
        boards.NO_PLAN,
        boards.IN_A_CIRCLE,
        boards.TOO_MANY,
        joins.NO_SUCH_EDGE,
        joins.JOINED_TWICE,
        joins.JOINED_TO_ITSELF,
        joins.WITHOUT_LENGTH,
        joins.TWO_SCALES,
    )


@cache
def all_rules() -> tuple[Rule, ...]:
    """Return all rules, in the order in which they run.

    Rules without a check are imported here: other code makes their findings.
    """
    from trappoint.rules.reading_rules import TEXT_RULES
    from trappoint.rules.schema_rules import FORM_RULES
    from trappoint.rules.stores import STORE_RULES

    before = (*TEXT_RULES, *FORM_RULES, *board_rules())
    return (*before, *PLAN_RULES, *FACT_RULES, *LAST_RULES, *STORE_RULES)
