"""The table of dimensions: rooms for trains, fouling places, distants and posts."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.dimensions.clearances import Bounds, Clearance, passing_spacing, post_need
from trappoint.dimensions.distances import Distance, distant_distances, in_yards
from trappoint.dimensions.parting import Fouling, fouling_places
from trappoint.dimensions.rooms import Room, derive_rooms, fits, fits_platform
from trappoint.dimensions.scales import Scale, meanings, ratio_of, scale_of, tell_ratio
from trappoint.dimensions.ways import RoomOnward, derive_rooms_onward
from trappoint.dimensions.yards import derive_yard_rooms

if TYPE_CHECKING:
    from fractions import Fraction

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Platform, Train
    from trappoint.model.names import Names


class PostRoom(NamedTuple):
    """The clearance of one signal's post from the centre of its track."""

    signal: str
    track: str
    need: Clearance
    from_centre_mm: float | None
    """The distance of the middle of the post, from the plan; None if it is missing."""


class Dimensions(NamedTuple):
    """The dimensions of one plan, lengths in mm."""

    scale: Scale | None
    """None if it is unknown, or if its name has several meanings."""
    meanings: tuple[Scale, ...]
    """All meanings of the scale's name."""
    ratio: Fraction | None
    spacing: tuple[float, str] | None
    """The spacing of tracks at which stock passes, and its source."""
    trains: tuple[Train, ...]
    """The trains with a length."""
    rooms: tuple[Room, ...]
    yards: tuple[Room, ...]
    """The room on each track of a yard that has a length."""
    onward: tuple[RoomOnward, ...]
    """The room from a stand over points to the next signal."""
    platforms: tuple[Platform, ...]
    """The platforms with a length."""
    fouling: tuple[Fouling, ...]
    distances: tuple[Distance, ...]
    posts: tuple[PostRoom, ...]
    names: Names | None = None
    """The names in the plan."""

    def longest(self, room: Room) -> Train | None:
        """Return the longest train that fits; None if none does."""
        fitting = [train for train in self.trains if fits(train, room)]
        return max(fitting, key=lambda train: train.length_mm or 0, default=None)

    def to_json(self) -> dict[str, Any]:
        """Return the table as JSON values; unknown values are null."""
        found: dict[str, Any] = {
            "scale": self._scale_json(),
            "spacing_mm": self.spacing[0] if self.spacing else None,
            "spacing_from": self.spacing[1] if self.spacing else None,
            "trains": [train.id for train in self.trains],
            "rooms": [
                {"place": room.place, "stand": room.stand, **self._length_json(room)}
                for room in self.rooms
            ],
            "yards": [
                {"yard": room.place, "track": room.track, **self._length_json(room)}
                for room in self.yards
            ],
            "onward": [
                {"place": room.place, "over": list(over), **self._length_json(room)}
                for room, over in self.onward
            ],
            "platforms": [
                {
                    "platform": platform.id,
                    "length_mm": platform.length_mm,
                    "trains": {t.id: fits_platform(t, platform.length_mm) for t in self.trains},
                }
                for platform in self.platforms
            ],
            "fouling": [
                {
                    "element": place.element,
                    "legs": list(place.legs),
                    "angle_degrees": place.angle_degrees,
                    "curved": place.curved,
                    **_bounds_json("along", place.along),
                    **_bounds_json("beyond", place.beyond),
                }
                for place in self.fouling
            ],
            "distants": [
                {
                    "arm": found.arm,
                    "to": found.to,
                    "model_mm": found.model_mm,
                    "yards": None if self.ratio is None else in_yards(found.model_mm, self.ratio),
                }
                for found in self.distances
            ],
            "posts": [_post_json(post) for post in self.posts],
        }
        return {key: _finite(value) for key, value in found.items()}

    def _scale_json(self) -> dict[str, Any] | None:
        scale = self.scale
        if scale is None:
            return None
        return {
            "name": scale.name,
            "standard": scale.standard,
            "ratio": tell_ratio(scale.ratio),
            "gauge_mm": scale.gauge_mm,
            "unconfirmed": list(scale.unconfirmed),
        }

    def _length_json(self, room: Room) -> dict[str, Any]:
        longest = self.longest(room)
        return {
            "at_most_mm": room.at_most_mm,
            "surely_mm": room.surely_mm,
            "known": room.known,
            "bounds": {"up": room.bounds[0], "down": room.bounds[1]},
            "longest": None if longest is None else longest.id,
            "trains": {train.id: fits(train, room) for train in self.trains},
        }


def _bounds_json(name: str, bounds: Bounds) -> dict[str, float | None]:
    """Return the keys of a length with two bounds; the length itself is null if they differ."""
    return {
        f"{name}_mm": bounds.least if bounds.least == bounds.most else None,
        f"{name}_at_least_mm": bounds.least,
        f"{name}_at_most_mm": bounds.most,
    }


def _finite(value: Any) -> Any:
    """Return a value with null for infinite numbers, which JSON lacks."""
    if isinstance(value, dict):
        return {key: _finite(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_finite(part) for part in value]
    return None if isinstance(value, float) and not isfinite(value) else value


def _post_json(post: PostRoom) -> dict[str, Any]:
    curve = post.need.curve
    return {
        "signal": post.signal,
        "track": post.track,
        "from_centre_mm": post.from_centre_mm,
        "straight_mm": post.need.straight_mm,
        "curve_mm": None if curve is None else list(curve),
        "source": post.need.source,
        "unconfirmed": list(post.need.unconfirmed),
    }


def derive_dimensions(facts: Facts) -> Dimensions:
    """Derive the dimensions of a plan from its measures."""
    layout = facts.layout
    scale = scale_of(layout)
    spacing = passing_spacing(layout, scale)
    fouling = fouling_places(layout, spacing[0]) if spacing is not None else []
    return Dimensions(
        scale,
        meanings(layout),
        ratio_of(layout),
        spacing,
        tuple(train for train in layout.trains.values() if train.length_mm is not None),
        tuple(derive_rooms(facts)),
        tuple(derive_yard_rooms(facts)),
        tuple(derive_rooms_onward(facts)),
        tuple(p for p in layout.platforms.values() if p.length_mm is not None),
        tuple(fouling),
        tuple(distant_distances(facts)),
        tuple(_posts(facts, scale)),
        facts.names,
    )


def _posts(facts: Facts, scale: Scale | None) -> list[PostRoom]:
    layout = facts.layout
    if scale is None:
        return []
    coaches = [t.longest_coach_mm for t in layout.trains.values() if t.longest_coach_mm is not None]
    found = []
    for signal in layout.signals.values():
        # Ground signals may be nearer: their clearance depends on a height that plans lack.
        radius = layout.tracks[signal.track].radius_mm
        need = post_need(scale, radius, max(coaches, default=None))
        if need is not None and signal.mount != "ground":
            found.append(PostRoom(signal.id, signal.track, need, signal.from_centre_mm))
    return found
