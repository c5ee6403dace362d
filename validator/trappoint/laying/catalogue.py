"""All verbs, and all functions that make offers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying import (
    common_shapes,
    crossings,
    crossovers,
    joining,
    leg_curves,
    lines,
    loops,
    measuring,
    points,
    removing,
    setting,
    sidings,
    signal_catalogue,
    third_leg,
    turning,
    turntables,
)
from trappoint.laying.grouping import group_of
from trappoint.laying.offering import spot_of

if TYPE_CHECKING:
    from trappoint.laying.offering import Offer, Offering
    from trappoint.laying.verb import Verb
    from trappoint.model.layout import Layout

_TRACK: tuple[Verb, ...] = (
    lines.lay_line,
    lines.call_plan,
    lines.set_scale,
    points.put_in_points,
    points.put_in_three_way_points,
    third_leg.add_leg,
    sidings.lay_siding,
    sidings.put_in_trap_points,
    loops.lay_loop,
    loops.lay_balloon_loop,
    loops.lay_triangle,
    crossovers.lay_crossover,
    crossovers.lay_scissors,
    crossings.put_in_crossing,
    crossings.change_crossing,
    turntables.put_in_turntable,
    turntables.add_road,
    joining.join_ends,
    joining.part_joint,
    joining.put_in_joint,
    joining.make_buffer,
    joining.make_edge,
    measuring.set_length,
    measuring.run,
    measuring.stand,
    turning.turn_round,
    setting.set_hand,
    setting.set_normal,
    setting.set_angle,
    setting.set_trap,
    leg_curves.set_leg_curve,
    removing.take_out_track,
    removing.take_out_points,
    removing.take_out_crossing,
    removing.take_out_turntable,
)
"""The verbs of track."""

_SHAPES: tuple[Verb, ...] = (common_shapes.lay_shape,)
"""The verb of whole shapes."""

VERBS: dict[str, Verb] = {each.name: each for each in (*_TRACK, *_SHAPES, *signal_catalogue.VERBS)}
"""All verbs, by name."""

_OFFERINGS: tuple[Offering, ...] = (
    lines.offer_lines,
    lines.offer_title_and_scale,
    points.offer_points,
    points.offer_three_way,
    sidings.offer_siding,
    sidings.offer_trap_points,
    loops.offer_loop,
    loops.offer_balloon_loop,
    loops.offer_triangle,
    crossovers.offer_crossovers,
    crossings.offer_crossing,
    crossings.offer_kinds,
    turntables.offer_turntable,
    turntables.offer_road,
    joining.offer_ends,
    joining.offer_joining,
    joining.offer_joint,
    measuring.offer_measures,
    turning.offer_turning,
    setting.offer_settings,
    setting.offer_angle,
    leg_curves.offer_lengths,
    leg_curves.offer_leg_curve,
    third_leg.offer_leg,
    removing.offer_track_out,
    removing.offer_points_out,
    removing.offer_leg_out,
    removing.offer_road_out,
    removing.offer_crossing_out,
    removing.offer_turntable_out,
    *signal_catalogue.OFFERINGS,
    common_shapes.offer_to_begin,
    common_shapes.offer_to_go_on,
)


def offers(layout: Layout, place: str) -> list[Offer]:
    """Return what can be done at a place, the most common first; empty for an unknown place.

    ``layout`` is a plan that is in order. Each offer, pressed with the defaults of its questions,
    succeeds. What boards bring has no offers: it is changed in their own plans.
    """
    spot = spot_of(layout, place)
    if spot is None:
        return []
    makers = [each for each in _OFFERINGS if (each.kind, each.part) == (spot.kind, bool(spot.part))]
    makers.sort(key=lambda each: each.rank)
    return [
        offer._replace(group=group_of(offer, spot.kind, part=bool(spot.part)))
        for each in makers
        for offer in each.make(spot)
    ]
