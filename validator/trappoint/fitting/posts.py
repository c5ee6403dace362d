"""The fitting sheet: for each signal where its post goes, what it carries and what it is for."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.scales import ratio_of

if TYPE_CHECKING:
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Arm, End, Layout, Signal

FOOT_MM = 304.8
"""The international foot."""


class DrillPlace(NamedTuple):
    """Where along its track a post is drilled for. None: the plan does not say."""

    track: str
    datum: str
    """The end from which it is measured, and what that end meets."""
    along_mm: float | None
    """From the datum, along the track."""
    side: str | None
    """``left`` or ``right`` of the track, as the driver for whom it is sees it."""
    from_centre_mm: float | None
    """From the centre of the track to the middle of the post."""


class PostArm(NamedTuple):
    """One arm of a post."""

    id: str
    doll: int
    """From the left, as the driver sees it."""
    kind: str
    speaks_to: str | None
    """For whom it is, where that is not for whom the post is."""
    height_mm: float | None
    height_feet: float | None
    """On the full-size railway; None if height or scale is not known."""
    height_metres: float | None
    lever: str | None
    controls: str


class Post(NamedTuple):
    """One signal, as it is fitted."""

    signal: str
    place: DrillPlace
    facing: str
    mount: str
    form: str
    dolls: int
    arms: tuple[PostArm, ...]
    duties: tuple[str, ...]


def posts_of(layout: Layout, table: LockingTable) -> tuple[Post, ...]:
    """Return every signal of a plan as it is fitted, in the order of the plan."""
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
        )
        for signal in layout.signals.values()
    )


def _place(layout: Layout, signal: Signal) -> DrillPlace:
    """Measure from the up end, or from the very end at which a signal without measure stands."""
    track = layout.tracks[signal.track]
    ends: dict[str, End] = {"up": track.up, "down": track.down}
    word, along = ("up", signal.at_mm) if signal.at_mm is not None else (signal.heading, 0.0)
    datum = f"{word} end of {signal.track}, at {ends[word].text}"
    return DrillPlace(signal.track, datum, along, signal.side, signal.from_centre_mm)


def _facing(signal: Signal) -> str:
    towards = "up" if signal.heading == "down" else "down"
    return f"towards the {towards} end, at trains running {signal.heading}"


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
