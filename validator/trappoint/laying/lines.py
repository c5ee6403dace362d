"""Verbs: a line between edges and buffers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import Draft
from trappoint.laying.forking import measured, named, outer
from trappoint.laying.measures import LENGTH, NAME, OUTER, Fresh, Text, Word
from trappoint.laying.naming import fresh
from trappoint.laying.offering import NO_NAME, Ask, Offer, choice, of_length, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import verb

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot

RUNNING = Word(("both", "down", "up"))


@verb(
    "lay-line",
    "Lays a line whose two ends are edges or buffers.",
    up=OUTER,
    down=OUTER,
    name=NAME,
    track=Fresh("tracks"),
    length_mm=LENGTH,
    running=RUNNING,
)
def lay_line(
    draft: Draft,
    up: str = "edge",
    down: str = "edge",
    name: str | None = None,
    track: str | None = None,
    length_mm: float | None = None,
    running: str | None = None,
) -> str:
    """Lay a line. An edge without a name is called after its side: ``up`` or ``down``."""
    stem = "line"
    if track is None:
        track = fresh(draft, "tracks", stem, name)
    if up.startswith("edge:") and up == down:
        raise Refused(f"Both ends of the line would be {up}.", "Give each edge its own name.")
    ends = {}
    for end, given in (("up", up), ("down", down)):
        own = f"{track}-{end}" if draft.things("tracks") else end
        ends[end] = outer(draft, given, own)
    draft.add(
        "tracks",
        track,
        {
            **ends,
            **measured(
                {
                    "running": running if running != "both" else None,
                    "length_mm": length_mm,
                    "name": named(name, track),
                }
            ),
        },
    )
    return f"Line {track} leads from {end_words(ends['up'])} to {end_words(ends['down'])}."


def end_words(end: str) -> str:
    """Return words for an end at no element: ``a buffer``, ``edge town``, ``joint j1``."""
    word, _, name = end.partition(":")
    return f"{word} {name}" if name else f"a {word}"


@verb("call-plan", "Gives the plan its title.", title=NAME)
def call_plan(draft: Draft, title: str) -> str:
    """Write the title of the plan."""
    draft.tree["title"] = title
    return f"The plan is called {title}."


@verb(
    "set-scale",
    "Says in which scale the layout is built, such as OO, N or 1:76.2.",
    scale=Text("a scale, such as OO, N or 1:76.2"),
    standard=Word(("NEM", "NMRA", "British")),
)
def set_scale(draft: Draft, scale: str, standard: str | None = None) -> str:
    """Write the scale; a standard that is not given goes."""
    draft.tree["scale"] = scale
    draft.tree.pop("standard", None)
    if standard:
        draft.tree["standard"] = standard
    return f"The layout is built in {scale}."


@offering("plan", 10)
def offer_lines(spot: Spot) -> Iterator[Offer]:
    """Offer a line, to begin with or another one."""
    first = not spot.layout.tracks
    yield Offer(
        "Lay a line" if first else "Lay another line",
        {"do": "lay-line"},
        (
            choice("up", "At its up end", ("edge", "It leaves the plan"), ("buffer", "A buffer")),
            choice(
                "down", "At its down end", ("edge", "It leaves the plan"), ("buffer", "A buffer")
            ),
            NO_NAME,
            of_length(),
        ),
    )


@offering("plan", 15)
def offer_title_and_scale(spot: Spot) -> Iterator[Offer]:
    """Offer a title and a scale."""
    now = spot.layout
    title = Ask("title", "Title", "text", now.title or "My layout")
    yield Offer("Give the plan a title", {"do": "call-plan"}, (title,))
    scale = Ask("scale", "Scale", "text", now.scale or "OO")
    standards = (("NEM", "NEM"), ("NMRA", "NMRA"), ("British", "British"))
    standard = Ask("standard", "Standard", "choice", now.standard, standards, optional=True)
    yield Offer("Give the scale of the layout", {"do": "set-scale"}, (scale, standard))
