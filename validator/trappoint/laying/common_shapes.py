"""The verb of common shapes: one is set onto a free end of the plan, or begins a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.quoting import described, listed, quoted
from trappoint.laying.draft import as_tree
from trappoint.laying.measures import LONGEST_MM, Word
from trappoint.laying.mending import replace
from trappoint.laying.naming import slug
from trappoint.laying.offering import NO_NAME, Ask, Offer, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb
from trappoint.shapes.ground import edges
from trappoint.shapes.options import KEYS_OF_LENGTHS, LABELS, Choice, Range, WrongWish
from trappoint.shapes.reading import lines_of, piece_of, usual_lines
from trappoint.shapes.setting import FreeEnd, begin, free_ends, free_name, set_on
from trappoint.shapes.shapes import SHAPES

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from trappoint.laying.draft import Draft
    from trappoint.laying.offering import Spot
    from trappoint.shapes.ground import Plan
    from trappoint.shapes.reading import ShapePiece
    from trappoint.shapes.setting import Fragment
    from trappoint.shapes.shapes import Shape

_WORDS = {key: word for word, key in KEYS_OF_LENGTHS.items()}
_LONGEST_NAME = 20
_MOST_ENDS = 12
"""The most free ends to list in a sentence."""


class _FreeEnds(NamedTuple):
    """One free end, or the two of a double line."""

    told: str = "edge:NAME, tracks/ID/up or tracks/ID/down, or a list of two for a double line"

    def read(self, draft: Draft, where: str, value: object) -> list[FreeEnd]:
        """Return the free ends of the plan's own tracks."""
        given = value if isinstance(value, list | tuple) else [value]
        plan = draft.data()
        found = [each for text in given for each in self._ends(plan, text)]
        if not 1 <= len(set(found)) == len(found) <= 2:
            raise Refused(
                f"{where[:1].upper()}{where[1:]} names {len(set(found))} free ends.",
                "Name one, or the two of a double line.",
            )
        return found

    def _ends(self, plan: Plan, text: object) -> list[FreeEnd]:
        if isinstance(text, str) and text.startswith("edge:"):
            return free_ends(plan, text) or self._refuse(plan, text)
        kind, _, rest = str(text).partition("/")
        track, _, end = rest.rpartition("/")
        if kind == "tracks" and track in plan["tracks"] and end in ("up", "down"):
            meets = plan["tracks"][track][end]
            if meets == "buffer" or meets.startswith("edge:"):
                return [FreeEnd(track, end)]
        return self._refuse(plan, text)

    def _refuse(self, plan: Plan, text: object) -> list[FreeEnd]:
        free = [
            f"tracks/{track}/{end}" if each[end] == "buffer" else each[end]
            for track, each in plan["tracks"].items()
            for end in ("up", "down")
            if each[end] == "buffer" or each[end].startswith("edge:")
        ]
        shown = quoted(text) if isinstance(text, str) else described(text)
        raise Refused(
            f"The plan has no free end {shown}.",
            f"Give one of its free ends: {listed(free[:_MOST_ENDS])}."
            if free
            else "Lay a line first, which has free ends.",
        )


class _Name(NamedTuple):
    """What begins the new ids."""

    told: str = f"at most {_LONGEST_NAME} letters, digits and hyphens, which begin the new ids"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the name."""
        name = slug(value)[:_LONGEST_NAME].rstrip("-") if isinstance(value, str) else ""
        if not name:
            raise Refused(
                f"{where[:1].upper()}{where[1:]} cannot begin an id.", f"Give {self.told}."
            )
        if draft.things("tracks") and free_name(draft.data(), name) != name:
            raise Refused(f"Ids of the plan begin with {name} already.", "Give another name.")
        return name


class _Option(NamedTuple):
    """An option of a shape; the shape itself holds it to its range."""

    word: str

    @property
    def told(self) -> str:
        """What it says."""
        return LABELS[self.word][1]

    def read(self, draft: Draft, where: str, value: object) -> int | str:
        """Return a number or a word."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str) and len(value) < _LONGEST_NAME:
            return int(value) if value.isascii() and value.isdigit() else value
        if isinstance(value, int | float) and abs(value) < LONGEST_MM and value == int(value):
            return int(value)
        raise Refused(
            f"{where[:1].upper()}{where[1:]} is {described(value)}.", f"Give a {self.told}."
        )


def _lay_shape(
    draft: Draft,
    shape: str,
    at: Sequence[FreeEnd] = (),
    name: str = "",
    **options: Any,
) -> str:
    """Lay a shape; return what it follows, in a sentence."""
    asked = {_WORDS.get(key, key): value for key, value in options.items()}
    try:
        piece = piece_of(shape, asked)
        if not at:
            return _begin(draft, piece, name)
        return _go_on(draft, piece, at, name)
    except WrongWish as wrong:
        raise Refused(str(wrong), "Change the shape, its options or the free end.") from None


def _begin(draft: Draft, piece: ShapePiece, name: str) -> str:
    if draft.things("tracks"):
        raise Refused(
            "The plan has tracks, and the step says no free end.",
            "Add `at`, such as edge:west.",
        )
    _add(draft, begin(piece, lines_of(piece) or usual_lines(piece), name))
    return f"The plan begins with {piece.shape.called}."


def _go_on(draft: Draft, piece: ShapePiece, at: Sequence[FreeEnd], name: str) -> str:
    plan = draft.data()
    name = name or free_name(plan, piece.shape.short)
    before = {plan["tracks"][free.track][free.end] for free in at}
    _add(draft, set_on(plan, piece, at, name, lines_of(piece) or len(at)))
    _mend_edges(draft, before)
    follows = " and ".join(free.track for free in at)
    said = f"{piece.shape.called} goes on from {follows}; its ids begin with {name}."
    return said[:1].upper() + said[1:]


def _add(draft: Draft, fragment: Fragment) -> None:
    for kind, laid in fragment.laid.items():
        if isinstance(laid, list):
            draft.list_of(kind).extend(laid)
            continue
        for key, thing in laid.items():
            draft.add(kind, key, as_tree(thing))  # type: ignore[arg-type]  # an object
    for track, keys in fragment.changed.items():
        draft.thing("tracks", track).update(as_tree(keys))  # type: ignore[arg-type]  # an object
        draft.touch("tracks", track)


def _mend_edges(draft: Draft, before: set[str]) -> None:
    """Let references to an edge that is gone name the edges in its place, or take them out."""
    now = {track[end] for track in draft.things("tracks").values() for end in ("up", "down")}
    gone = {end.removeprefix("edge:") for end in before - now if end.startswith("edge:")}
    new = {
        name: tuple(
            end.removeprefix("edge:")
            for stem in (name, name.removesuffix("-down").removesuffix("-up"))
            for end in (*edges(stem, 1), *edges(stem, 2))
            if end in now and end not in before
        )
        for name in gone
    }
    if gone:
        replace(draft, {("edges", name): tuple(dict.fromkeys(new[name])) for name in gone})


def step_of(piece: ShapePiece, at: str) -> dict[str, object]:
    """Return the step that sets a shape onto a free end."""
    asked = {KEYS_OF_LENGTHS.get(word, word): value for word, value in piece.asked.items()}
    return {**_step(piece.shape), "at": at, **asked}


lay_shape = Verb(
    "lay-shape",
    "Lays a common shape on from a free end, or begins a plan with it.",
    {
        "shape": Word(tuple(SHAPES)),
        "at": _FreeEnds(),
        "name": _Name(),
        **{KEYS_OF_LENGTHS.get(word, word): _Option(word) for word in LABELS},
    },
    ("shape",),
    _lay_shape,
)


@offering("plan", 20)
def offer_to_begin(spot: Spot) -> Iterator[Offer]:
    """Offer each shape to begin a plan with."""
    if not spot.layout.tracks:
        for shape in SHAPES.values():
            yield Offer(f"Begin with {shape.called}", _step(shape), _asks(shape))


@offering("tracks", 90, part=True)
def offer_to_go_on(spot: Spot) -> Iterator[Offer]:
    """Offer each shape that the line can go on with, at a free end."""
    at = _double(spot)
    if at is None:
        return
    lines = 1 if isinstance(at, str) else 2
    for shape in SHAPES.values():
        # A balloon loop of one road has a verb of its own, with an offer.
        if not shape.closed and shape.name != "balloon-loop":
            step = {**_step(shape), "at": at}
            yield Offer(f"Go on with {shape.called}", step, _asks(shape, lines))


def _double(spot: Spot) -> str | list[str] | None:
    """Return the free end at a place, with that of the other line of a double one; else None."""
    track = spot.layout.tracks[spot.key]
    here = track.end(spot.part)  # type: ignore[arg-type]  # an end
    if here.kind not in ("buffer", "edge"):
        return None
    place = f"tracks/{spot.key}/{spot.part}"
    if track.running == "both":
        return place
    stem, _, way = here.name.rpartition("-")
    partner = {"down": f"edge:{stem}-up", "up": f"edge:{stem}-down"}.get(way)
    for other in spot.layout.tracks.values():
        if other.running not in ("both", track.running) and other.end(spot.part).text == partner:  # type: ignore[arg-type]  # an end
            return [place, f"tracks/{other.id}/{spot.part}"]
    return None


def _step(shape: Shape) -> dict[str, object]:
    return {"do": "lay-shape", "shape": shape.name}


def _asks(shape: Shape, lines: int | None = None) -> tuple[Ask, ...]:
    """Return the questions for the options of a shape that leave a choice."""
    found = [_ask(word, given, lines) for word, given in shape.takes.items() if _is_open(given)]
    return (*found, NO_NAME) if lines else tuple(found)


def _is_open(given: Range | Choice) -> bool:
    return isinstance(given, Choice) or given.least < given.most


def _ask(word: str, given: Range | Choice, lines: int | None) -> Ask:
    label = LABELS[word][0]
    key = KEYS_OF_LENGTHS.get(word, word)
    if isinstance(given, Choice):
        if set(given.words) == {"yes", "no"}:
            return Ask(key, label, "yes", given.usual == "yes")
        return Ask(key, label, "choice", given.usual, tuple((each, each) for each in given.words))
    if word == "lines":
        answers = (("1", "Single"), ("2", "Double"))
        return Ask(key, label, "choice", str(lines or given.usual), answers)
    label = f"{label} ({given.least:,} to {given.most:,})"
    unit = "mm" if key != word else ""
    # The platforms that fit depend on the roads, so the shape itself says how many.
    free = word in ("platforms", "faces")
    return Ask(key, label, "number", None if free else given.usual, unit=unit, optional=free)
