"""Changes to a random plan, for the worse or the better, each drawn at random.

Each changes the signals drawn so far, or trap points, a lever group, a yard or a stand.
"""

from __future__ import annotations

from oracle.drawn import OTHER_WAY, Drawn, Head, leads_nowhere


def _take_away(drawn: Drawn) -> None:
    if drawn.heads:
        drawn.heads.remove(drawn.rng.choice(drawn.heads))


def _take_from_a_stand(drawn: Drawn) -> None:
    """Take away a signal from a track where trains stand or come on."""
    of_stands = [head for head in drawn.heads if drawn.may_stand(head.track)]
    if of_stands:
        drawn.heads.remove(drawn.rng.choice(of_stands))


def _take_all_of_a_track(drawn: Drawn) -> None:
    track_id = drawn.any_track()
    drawn.heads = [head for head in drawn.heads if head.track != track_id]


def _turn_round(drawn: Drawn) -> None:
    if drawn.heads:
        head = drawn.rng.choice(drawn.heads)
        drawn.heads.remove(head)
        heading = OTHER_WAY[head.heading]
        if drawn.lets(head.track, heading):
            drawn.place(Head(head.track, heading, None, head.kinds, head.apart))


def _move_along(drawn: Drawn) -> None:
    if drawn.heads:
        head = drawn.rng.choice(drawn.heads)
        drawn.heads.remove(head)
        moved = drawn.between(head.track, head.heading)
        moved.kinds, moved.apart = head.kinds, head.apart
        drawn.place(moved)


def _add_between(drawn: Drawn) -> None:
    track_id = drawn.any_track()
    drawn.place(drawn.between(track_id, drawn.any_heading(track_id)))


def _add_back_to_back(drawn: Drawn) -> None:
    """Two heads on one spot along a track, one for each way: two sections, held at the cut."""
    head = drawn.between(drawn.any_track(), "down")
    length = drawn.track(head.track).get("length_mm")
    if head.at != length and drawn.track(head.track).get("running", "both") == "both":
        drawn.place(head)
        drawn.place(Head(head.track, "up", head.at, drawn.any_kinds()))


def _add_at_end(drawn: Drawn) -> None:
    track_id = drawn.any_track()
    heading = drawn.any_heading(track_id)
    if not leads_nowhere(drawn.track(track_id)[heading]):
        drawn.at_end(track_id, heading)


def _change_kinds(drawn: Drawn) -> None:
    if drawn.heads:
        head = drawn.rng.choice(drawn.heads)
        head.kinds = drawn.any_kinds()
        head.apart = len(head.kinds) == 2 and drawn.rng.random() < 0.5


def _turn_trap(drawn: Drawn) -> None:
    """Turn the normal lie of trap points, or forget what they are; else that of no matter which."""
    points = drawn.plan.get("points", {})
    traps = [each for each in points.values() if each.get("trap")]
    if traps:
        trap = drawn.rng.choice(traps)
        if drawn.rng.random() < 0.7:
            trap["normal"] = "left" if trap["normal"] == "right" else "right"
        else:
            del trap["trap"]
    else:
        _take_away(drawn)


def _forget_group(drawn: Drawn) -> None:
    groups = drawn.plan.get("worked_together")
    if groups:
        groups.remove(drawn.rng.choice(groups))
        if not groups:
            del drawn.plan["worked_together"]
    else:
        _add_back_to_back(drawn)


def _change_stand(drawn: Drawn) -> None:
    track = drawn.track(drawn.any_track())
    track["stand"] = not track["stand"] if "stand" in track else drawn.rng.random() < 0.5


def _leave_out_of_yard(drawn: Drawn) -> None:
    """Forget a track of a yard: what it meets there is a way out that no signal can close."""
    yards = [
        each for each in drawn.plan.get("yards", {}).values() if len(each.get("tracks", ())) > 1
    ]
    if yards:
        yard = drawn.rng.choice(yards)
        track_id = drawn.rng.choice(yard["tracks"])
        yard["tracks"].remove(track_id)
        del drawn.in_yard[track_id]
    else:
        _move_along(drawn)


FLAWS = (
    *(_take_away,) * 3,
    *(_take_from_a_stand,) * 3,
    _take_all_of_a_track,
    _turn_round,
    *(_move_along,) * 2,
    *(_add_between,) * 2,
    *(_add_back_to_back,) * 2,
    *(_add_at_end,) * 2,
    _change_kinds,
    _turn_trap,
    _forget_group,
    _change_stand,
    _leave_out_of_yard,
)
