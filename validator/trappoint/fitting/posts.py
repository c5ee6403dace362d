"""The posts of the fitting sheet: the place, the arms and the duties of each signal."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.scales import ratio_of
from trappoint.fitting.places import Openings

if TYPE_CHECKING:
    from trappoint.fitting.places import UsualPlaces
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Arm, End, Layout, Signal

FOOT_MM = 304.8
"""The international foot, in millimetres."""


class DrillPlace(NamedTuple):
    """The place of a post's hole beside its track. None if the plan does not give a measure."""

    track: str
    datum: str
    """The end of the track from which to measure, and what that end meets."""
    along_mm: float | None
    """The distance from the datum along the track."""
    side: str | None
    """``left`` or ``right`` of the track, as the driver sees it."""
    from_centre_mm: float | None
    """From the centre of the track to the middle of the post."""


class PostArm(NamedTuple):
    """One arm of a post."""

    id: str
    doll: int
    """From the left, as the driver sees it."""
    kind: str
    speaks_to: str | None
    """The trains that the arm is for; None if they are those of the post."""
    height_mm: float | None
    height_feet: float | None
    """Height on the full-size railway; None if the height or the scale is unknown."""
    height_metres: float | None
    lever: str | None
    controls: str


class Post(NamedTuple):
    """One signal to fit."""

    signal: str
    place: DrillPlace
    facing: str
    mount: str
    form: str
    dolls: int
    arms: tuple[PostArm, ...]
    duties: tuple[str, ...]
    name: str
    """The name of the signal; empty if the plan gives none."""
    openings: Openings = Openings()
    """Its open measures, with the usual values."""


def posts_of(
    layout: Layout, table: LockingTable, usual: UsualPlaces | None = None
) -> tuple[Post, ...]:
    """Return every signal of a plan to fit, in the order of the plan.

    ``usual`` adds what the plan leaves open about the place of each.
    """
    ratio = ratio_of(layout)
    scale = None if ratio is None else float(ratio)
    meanings = {entry.arm: entry.meaning for entry in table.arms}
    duties = {entry.signal: entry.duties for entry in table.signals}
    levers = {arm: lever.number for lever in layout.levers.values() for arm in lever.arms}
    return tuple(
        Post(
            signal.id,
            _place(layout, signal),
            _facing(signal),
            signal.mount,
            signal.form,
            len({arm.doll for arm in signal.arms}),
            tuple(_arm(signal, arm, scale, levers.get(arm.id), meanings) for arm in signal.arms),
            duties.get(signal.id, ()),
            signal.name,
            Openings() if usual is None else usual.of(signal),
        )
        for signal in layout.signals.values()
    )


def _place(layout: Layout, signal: Signal) -> DrillPlace:
    """Measure from the up end; a signal without ``at_mm`` is right at the end it faces."""
    track = layout.tracks[signal.track]
    ends: dict[str, End] = {"up": track.up, "down": track.down}
    word, along = ("up", signal.at_mm) if signal.at_mm is not None else (signal.heading, 0.0)
    datum = f"{word} end of {signal.track}, at {ends[word].text}"
    return DrillPlace(signal.track, datum, along, signal.side, signal.from_centre_mm)


def _facing(signal: Signal) -> str:
    towards = "up" if signal.heading == "down" else "down"
    return f"the {towards} end, for trains running {signal.heading}"


def _arm(
    signal: Signal, arm: Arm, scale: float | None, lever: str | None, meanings: dict[str, str]
) -> PostArm:
    height = arm.height_mm
    full = None if height is None or scale is None else height * scale
    own = (arm.track, arm.heading) == (signal.track, signal.heading)
    return PostArm(
        arm.id,
        arm.doll,
        arm.kind,
        None if own else f"trains running {arm.heading} on {arm.track}",
        height,
        None if full is None else full / FOOT_MM,
        None if full is None else full / 1000,
        lever,
        meanings.get(arm.id, ""),
    )
