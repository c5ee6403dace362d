"""The words and rows of the fitting sheet, for all of its formats."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed, number
from trappoint.core.terminal import plural

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.fitting.order import FittingStage, OpenExit, WorkOrder
    from trappoint.fitting.places import Taken
    from trappoint.fitting.posts import Post, PostArm
    from trappoint.fitting.sheet import FittingSheet, Today
    from trappoint.model.layout import Lever

NOT_GIVEN = "not given"
USUAL = "usual"

REMARK = (
    "Barred: no signal holds trains there yet, so no train may leave that way, and a train that "
    "comes in must stop. If you keep to this, you can run the other trains as signalled."
)

LOOK = (
    "Left and right are as the driver sees them. Measure again before you drill: the plan may "
    "differ from the layout."
)

COLUMNS = (
    "Signal", "Track", "Datum", "Along", "Side", "From centre", "Faces", "Mount", "Form", "Dolls",
    "Arm", "Doll", "Kind", "For", "Height", "Height, full size", "Lever", "Controls",
    "Usual side", "Usual from centre", "Move back by", "Then at",
)  # fmt: skip


def title_of(post: Post) -> str:
    """Return the name and the id of a signal; the id alone if it has no name."""
    return f"{post.name} ({post.signal})" if post.name else post.signal


def where(post: Post) -> str:
    """Return the place of a post's hole, in words."""
    place = post.place
    along = (
        f"right at the {place.datum}"
        if place.along_mm == 0
        else f"{millimetres(place.along_mm)} from the {place.datum}"
    )
    usual = {taken.key: taken.value for taken in post.openings.taken}
    side = (
        f"{place.side} of the track"
        if place.side
        else f"{usual.get('side')} of the track ({USUAL})"
    )
    centre = f"distance from the track's centre {NOT_GIVEN}"
    least = usual.get("from_centre_mm")
    if place.from_centre_mm is not None:
        far = millimetres(place.from_centre_mm)
        centre = f"centre of the post {far} from the centre of the track"
    elif isinstance(least, float):
        far = millimetres(least)
        centre = f"centre of the post at least {far} from the centre of the track ({USUAL})"
    return f"{along}; {side}; {centre}"


def advice_on(post: Post) -> list[str]:
    """Return how far to move a post back, and the measures that its place lacks."""
    moved, advice = post.openings.moved, list(post.openings.wanted)
    if moved is None:
        return advice
    element = moved.leg.partition(".")[0]
    why = (
        f"a train that it holds would stand foul of {element}"
        if moved.because == "train"
        else f"the post would be in the way of trains on the other leg of {element}"
    )
    least = "" if moved.surely else "at least "
    told = (
        f"Move it back by {least}{millimetres(moved.by_mm)}, to {least}"
        f"{millimetres(moved.from_leg_mm)} from {moved.leg}: where the plan puts it, {why}."
    )
    if moved.at_mm is not None:
        told += f' In the plan, write "at_mm": {number(moved.at_mm)}.'
    return [told, *advice]


def tell_usual(sheet: FittingSheet) -> list[str]:
    """Return a sentence for each value that the sheet takes as usual, with its signals."""
    found: dict[Taken, list[str]] = {}
    for post in sheet.posts:
        for taken in post.openings.taken:
            found.setdefault(taken, []).append(post.signal)
    told = []
    for taken, signals in found.items():
        whose = "all signals" if len(signals) == len(sheet.posts) else f"{listed(signals, 'and')}"
        word = {"side": "Side", "from_centre_mm": "From the centre of the track"}[taken.key]
        value = taken.value if isinstance(taken.value, str) else millimetres(taken.value)
        value = NOT_GIVEN if taken.value is None else value
        told.append(f"{word}, {whose}: {value}; {taken.source}. Give {taken.key} to change it.")
    return told


def millimetres(length: float | None) -> str:
    """Return a length in millimetres, with its unit; ``not given`` for None."""
    if length is None:
        return NOT_GIVEN
    return f"{f'{length:,.2f}'.rstrip('0').rstrip('.')} mm"


def carries(post: Post) -> str:
    """Return the parts of a signal: ``bracket, 2 dolls, upper-quadrant``."""
    return f"{post.mount}, {plural(post.dolls, 'doll')}, {post.form}"


def full_size(arm: PostArm) -> str:
    """Return the height of an arm on the full-size railway; empty if unknown."""
    if arm.height_feet is None or arm.height_metres is None:
        return ""
    return f"{arm.height_feet:.1f} ft ({arm.height_metres:.2f} m)"


def tell_arm(arm: PostArm) -> str:
    """Return an arm's kind, doll, height, lever and meaning, in one line."""
    height = f"height {millimetres(arm.height_mm)}"
    if full_size(arm):
        height += f", {full_size(arm)} full size"
    lever = f", lever {arm.lever}" if arm.lever else ""
    whom = f", for {arm.speaks_to}" if arm.speaks_to else ""
    return f"{arm.id}: {arm.kind}, doll {arm.doll}{whom}, {height}{lever}. {arm.controls}"


def rows_of(sheet: FittingSheet) -> list[tuple[str, ...]]:
    """Return a row for each arm, with the ``COLUMNS``; unknown values are empty."""
    return [
        (
            post.signal, post.place.track, post.place.datum, _bare(post.place.along_mm),
            post.place.side or "", _bare(post.place.from_centre_mm), post.facing, post.mount,
            post.form, str(post.dolls), arm.id, str(arm.doll), arm.kind, arm.speaks_to or "",
            _bare(arm.height_mm), full_size(arm), arm.lever or "", arm.controls, *_openings(post),
        )
        for post in sheet.posts
        for arm in post.arms
    ]  # fmt: skip


def _openings(post: Post) -> tuple[str, str, str, str]:
    usual = {taken.key: taken.value for taken in post.openings.taken}
    far, moved = usual.get("from_centre_mm"), post.openings.moved
    return (
        str(usual.get("side", "")),
        _bare(far if isinstance(far, float) else None),
        _bare(None if moved is None else moved.by_mm),
        _bare(None if moved is None else moved.at_mm),
    )


def _bare(length: float | None) -> str:
    return "" if length is None else number(length)


def tell_exits(exits: Iterable[OpenExit]) -> str:
    """Return exits in words: ``siding (up), yard goods``; ``nothing`` if there are none."""
    return ", ".join(map(_exit, exits)) or "nothing"


def _exit(barred: OpenExit) -> str:
    stand, running, name = barred
    if name:
        return f"{name} ({stand}, {running})" if running else f"{name} ({stand})"
    return f"{stand} ({running})" if running else f"yard {stand}"


def tell_stage(stage: FittingStage) -> str:
    """Return one step of the work: its signal, and the exits that it frees."""
    signal = f"{stage.name} ({stage.signal})" if stage.name else f"Signal {stage.signal}"
    if not stage.holds:
        return f"{signal}: it only advises, and frees nothing."
    freed = f"frees {tell_exits(stage.freed)}; " if stage.freed else ""
    return f"{signal}: {freed}still barred: {_barred(stage.barred, stage.decided)}."


def _barred(exits: tuple[OpenExit, ...], decided: bool) -> str:
    if decided:
        return tell_exits(exits)
    return f"{tell_exits(exits)}, and perhaps more" if exits else "not known"


def remarks_of(work: WorkOrder) -> list[str]:
    """Return the paragraphs before the steps."""
    paragraphs = [REMARK, f"With no signal fitted, barred: {_barred(work.barred, work.decided)}."]
    if not (work.decided and all(stage.decided for stage in work.stages)):
        paragraphs.append(
            "The plan is too large to judge every exit: treat exits that are not listed as barred "
            "too, until all signals are fitted."
        )
    return paragraphs


def tell_waiting(today: Today) -> list[str]:
    """Return a sentence for each waiting signal, with its missing parts."""
    return [
        f"Signal {signal} waits for "
        + (", ".join(f"{count} {part}" for part, count in parts.items()) or "parts not for sale")
        + "."
        for signal, parts in today.waiting.items()
    ]


def tell_today(today: Today) -> list[str]:
    """Return the steps that the parts in hand allow, with the recipes to make first."""
    lines = []
    for stage in today.work.stages:
        made = today.make_first.get(stage.signal, ())
        first = f" First make: {', '.join(made)}." if made else ""
        lines.append(tell_stage(stage) + first)
    return lines


class Label(NamedTuple):
    """The words of a label: one large text, and small lines below it."""

    large: str
    small: tuple[str, ...]


def label_words(sheet: FittingSheet) -> list[Label]:
    """Return a label for each signal, for each arm with an id of its own, and for each lever."""
    labels = []
    for post in sheet.posts:
        alone = len(post.arms) == 1 and post.arms[0].id == post.signal
        lever = _on_lever(post.arms[0]) if alone else ""
        labels.append(Label(post.signal, _words(post.name, _row(post.mount, lever))))
        if not alone:
            labels += [_arm_label(post, arm) for arm in post.arms]
    labels += [
        Label(f"Lever {lever.number}", _words(lever.name, _works(lever))) for lever in sheet.levers
    ]
    return labels


def _arm_label(post: Post, arm: PostArm) -> Label:
    name = f"{post.name} ({post.signal})" if post.name else f"signal {post.signal}"
    doll = f"{arm.kind}, doll {arm.doll}" if post.dolls > 1 else arm.kind
    return Label(arm.id, _words(name, doll, _row(post.mount, _on_lever(arm))))


def _on_lever(arm: PostArm) -> str:
    return f"lever {arm.lever}" if arm.lever else ""


def _row(*words: str) -> str:
    return ", ".join(word for word in words if word)


def _words(*lines: str) -> tuple[str, ...]:
    return tuple(line for line in lines if line)


def _works(lever: Lever) -> str:
    """Return the work of a lever: ``arm 1L``, ``points p1, p2`` or ``spare``."""
    if lever.arms:
        return f"arm {', '.join(lever.arms)}"
    return f"points {', '.join(lever.points)}" if lever.points else "spare"
