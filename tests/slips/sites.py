"""All kinds of slips by name, in the order of the table."""

from __future__ import annotations

from slips import beliefs, kinds, mistyping
from slips.kinds import Kind

KINDS: dict[str, Kind] = {
    "signal left out": kinds.signal_left_out,
    "signal facing the other way": kinds.signal_faces_other_way,
    "signal on the neighbouring track": kinds.signal_on_neighbour,
    "two signals exchanged": kinds.signals_exchanged,
    "at_mm from the wrong end": kinds.at_mm_from_wrong_end,
    "arms of a bracket swapped": kinds.arms_swapped,
    "`to` naming the wrong road": kinds.arm_for_wrong_road,
    "arm left out": kinds.arm_left_out,
    "arm doubled": kinds.arm_doubled,
    "arm doubled under a new id": kinds.arm_doubled_renamed,
    "arm of the wrong kind": kinds.arm_of_wrong_kind,
    "distant repeating the wrong arm": kinds.distant_repeats_wrong,
    "distant above its stop arm": kinds.distant_above,
    "crossover ends not worked together": kinds.crossover_told_apart,
    "crossover worked with the wrong points": kinds.crossover_with_wrong,
    "legs swapped": kinds.legs_swapped,
    "wrong normal": kinds.wrong_normal,
    "running reversed": kinds.running_reversed,
    "running forgotten": kinds.running_forgotten,
    "stand forgotten": kinds.stand_forgotten,
    "track turned round": kinds.track_turned_round,
    "platform on the wrong track": kinds.platform_on_wrong_track,
    "yard member forgotten": kinds.yard_member_forgotten,
    "crossing of the wrong kind": kinds.slip_crossing_of_wrong_kind,
    "belief wrong": beliefs.belief_wrong,
    "scene with the wrong arm off": beliefs.scene_wrong_arm,
    "scene with points forgotten": beliefs.scene_points_forgotten,
    "scene with a train elsewhere": beliefs.scene_train_elsewhere,
    "lever working the wrong thing": beliefs.lever_works_wrong,
    "id mistyped": mistyping.id_mistyped,
    "id mistyped as a key": mistyping.key_mistyped,
    "leg mistyped": mistyping.leg_mistyped,
    "joint mistyped": mistyping.joint_mistyped,
    "arm id mistyped": mistyping.arm_id_mistyped,
}
