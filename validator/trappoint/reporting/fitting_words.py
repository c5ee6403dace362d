"""What the fitting sheet says, in words and grids: the same for text, pages and tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import number
from trappoint.core.terminal import plural

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.fitting.order import FittingStage, OpenExit, WorkOrder
    from trappoint.fitting.posts import Post, PostArm
    from trappoint.fitting.sheet import FittingSheet, Today
    from trappoint.model.layout import Lever

NOT_GIVEN = "not given"

REMARK = (
    "Barred: no train may go on from there that way yet, for it is not held; one that comes in "
    "must stop. While that is kept, the rest can be run as signalled."
)

LOOK = (
    "Left and right are as the driver sees them for whom the signal is. Measure before drilling: "
    "the plan knows no more than was written in it."
)

COLUMNS = (
    "Signal", "Track", "Datum", "Along", "Side", "From centre", "Faces", "Mount", "Form", "Dolls",
    "Arm", "Doll", "Kind", "For", "Height", "Height, full size", "Lever", "Controls",
)  # fmt: skip


def where(post: Post) -> str:
    """Say where a post is drilled for."""
    place = post.place
    along = (
        f"right at the {place.datum}"
        if place.along_mm == 0
        else f"{millimetres(place.along_mm)} from the {place.datum}"
    )
    side = f"{place.side} of the track" if place.side else f"side {NOT_GIVEN}"
    centre = (
        f"centre of the post {millimetres(place.from_centre_mm)} from the centre of the track"
        if place.from_centre_mm is not None
        else f"distance from the track's centre {NOT_GIVEN}"
    )
    return f"{along}; {side}; {centre}"


def millimetres(length: float | None) -> str:
    """Return a length in millimetres, or say that it is not given."""
    return NOT_GIVEN if length is None else f"{number(length)} mm"


def carries(post: Post) -> str:
    """Say what a signal is made of: ``bracket, 2 dolls, upper-quadrant``."""
    return f"{post.mount}, {plural(post.dolls, 'doll')}, {post.form}"


def full_size(arm: PostArm) -> str:
    """Return the height of an arm on the full-size railway; empty if it is not known."""
    if arm.height_feet is None or arm.height_metres is None:
        return ""
    return f"{arm.height_feet:.1f} ft ({arm.height_metres:.2f} m)"


def tell_arm(arm: PostArm) -> str:
    """Say in one line what an arm is, how high it is and what it controls."""
    height = f"height {millimetres(arm.height_mm)}"
    if full_size(arm):
        height += f", {full_size(arm)} full size"
    lever = f", lever {arm.lever}" if arm.lever else ""
    whom = f", for {arm.speaks_to}" if arm.speaks_to else ""
    return f"{arm.id}: {arm.kind}, doll {arm.doll}{whom}, {height}{lever}. {arm.controls}"


def rows_of(sheet: FittingSheet) -> list[tuple[str, ...]]:
    """Return a row for each arm, under ``COLUMNS``; what is not known is empty."""
    return [
        (
            post.signal, post.place.track, post.place.datum, _bare(post.place.along_mm),
            post.place.side or "", _bare(post.place.from_centre_mm), post.facing, post.mount,
            post.form, str(post.dolls), arm.id, str(arm.doll), arm.kind, arm.speaks_to or "",
            _bare(arm.height_mm), full_size(arm), arm.lever or "", arm.controls,
        )
        for post in sheet.posts
        for arm in post.arms
    ]  # fmt: skip


def _bare(length: float | None) -> str:
    return "" if length is None else number(length)


def tell_exits(exits: Iterable[OpenExit]) -> str:
    """Name exits: ``siding (up), yard goods``."""
    told = (f"{one.stand} ({one.running})" if one.running else f"yard {one.stand}" for one in exits)
    return ", ".join(told) or "nothing"


def tell_stage(stage: FittingStage) -> str:
    """Say in one line what a step of the work does."""
    if not stage.holds:
        return f"Signal {stage.signal}. It advises, and frees nothing."
    freed = f" Frees {tell_exits(stage.freed)}." if stage.freed else ""
    return f"Signal {stage.signal}.{freed} Still barred: {_barred(stage.barred, stage.decided)}."


def _barred(exits: tuple[OpenExit, ...], decided: bool) -> str:
    if decided:
        return tell_exits(exits)
    return f"{tell_exits(exits)}, and perhaps more" if exits else "not known"


def remarks_of(work: WorkOrder) -> list[str]:
    """Return what stands before the steps."""
    told = [REMARK, f"With no signal fitted, barred: {_barred(work.barred, work.decided)}."]
    if not (work.decided and all(stage.decided for stage in work.stages)):
        told.append(
            "Not every exit could be judged, for there is too much to go through: take as barred "
            "whatever is not named too, until all is fitted."
        )
    return told


def tell_waiting(today: Today) -> list[str]:
    """Say for each signal that waits which parts are missing."""
    return [
        f"Signal {signal} waits for "
        + (", ".join(f"{count} {part}" for part, count in parts.items()) or "parts that none has")
        + "."
        for signal, parts in today.waiting.items()
    ]


def tell_today(today: Today) -> list[str]:
    """Return the steps that the parts in hand allow, with what is to be made for each."""
    lines = []
    for stage in today.work.stages:
        made = today.make_first.get(stage.signal, ())
        first = f" First make: {', '.join(made)}." if made else ""
        lines.append(tell_stage(stage) + first)
    return lines


def labels_of(sheet: FittingSheet) -> list[tuple[str, str]]:
    """Return a label for each post and each lever: what stands large on it, and small."""
    labels = [(post.signal, "; ".join(post.duties) or post.mount) for post in sheet.posts]
    return labels + [(f"Lever {lever.number}", _works(lever)) for lever in sheet.levers]


def _works(lever: Lever) -> str:
    """Say what a lever works: ``arm 1L``, ``points p1, p2``, or that it is a spare one."""
    if lever.arms:
        return f"arm {', '.join(lever.arms)}"
    return f"points {', '.join(lever.points)}" if lever.points else "spare"
