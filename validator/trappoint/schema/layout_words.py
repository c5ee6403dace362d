"""The vocabulary of messages about layout plans."""

from __future__ import annotations

import re

from trappoint.core.kinds import ONE_OF
from trappoint.core.quoting import quoted
from trappoint.core.spelling import nearest
from trappoint.schema.forms import Words, no_id, none_such
from trappoint.schema.published import FORMAT, layout_schema
from trappoint.schema.vocabulary import Vocabulary

_NEEDED = {
    "format": (
        '"format": "trappoint-layout/1"',
        "It says what kind of file this is, and in which edition of the format.",
    ),
    "tracks": ('"tracks": {}', "Everything in a plan stands on its tracks."),
    "up": (
        '"up": "buffer"',
        "Each end of a track meets something: that is how a plan hangs together.",
    ),
    "down": (
        '"down": "buffer"',
        "Each end of a track meets something: that is how a plan hangs together.",
    ),
    "normal": ('"normal": "right"', "Without the usual lie, normal and reverse say nothing."),
    "track": ('"track": "main"', "A signal stands beside a track."),
    "for": ('"for": "down"', "A signal speaks to the trains that run one way."),
    "arms": ('"arms": [{"id": "1"}]', "A signal speaks by its arms."),
    "id": ('"id": "1"', "An arm is called by its id."),
    "roads": ('"roads": ["1", "2"]', "Tracks meet a turntable at its roads."),
    "rule": ('"rule": "unheld-exit"', "It says which finding is accepted."),
    "at": ('"at": "/tracks/main"', "It says where the finding is accepted."),
    "plan": ('"plan": "west.layout.json"', "It says where the plan of the board is."),
    "lane": ('"lane": 1', "It says how high the track is drawn."),
    "order": ('"order": 1', "It says how far to the right it is drawn."),
    "moves": (
        '"moves": [{"train": "local", "to": "main"}]',
        "A session is the list of its movements.",
    ),
    "train": ('"train": "local"', "It says which train is moved."),
    "to": ('"to": "main"', "It says where the train is to stand next."),
    "a": ('"a": "west:main"', "A join has two edges."),
    "b": ('"b": "east:main"', "A join has two edges."),
    "crossing_number": (
        '"crossing_number": 8',
        "measure says how the crossing number is meant, and says nothing without it.",
    ),
    "radius_mm": ('"radius_mm": 900', "A curve has a hand and a radius."),
    "hand": ('"hand": "left"', "A curve has a hand and a radius."),
    "leg_mm": ('"leg_mm": 200', "It says how far the legs curve."),
}

_END_FORMS = (
    "A track end is buffer, edge:NAME (the track leaves the plan), joint:NAME (two track ends "
    "meet), POINTS.toe, .left, .right or .middle, CROSSING.a1, .a2, .b1 or .b2, or TURNTABLE.ROAD."
)


_LEG_IN_WORDS = re.compile(
    r"(?:(?:the\s+)?(?:points?|crossing|diamond|slip|turntable)\s+)?"
    r"([A-Za-z0-9][A-Za-z0-9_-]*)(?:\s*[.:]\s*|\s+)(toe|left|middle|right|[ab][12])",
    re.IGNORECASE,
)
"""A leg with words before it or blanks in it: ``points p1.toe``, ``p1 toe``."""


def _no_track_end(given: str, where: str, _: bool) -> Words:
    why = _END_FORMS
    message = f"{where} is {quoted(given)}, which is no track end."
    meant: str | None = None
    word, mark, rest = given.strip().partition(":")
    if mark and not re.search(r"[^A-Za-z0-9_-]", rest) and rest and word not in ("joint", "edge"):
        kind = nearest(word, ("joint", "edge"))
        meant = f"{kind}:{rest}" if kind else f"{word}.{rest}"
        fix = f"Perhaps {quoted(meant)} is meant."
    elif given.strip().lower() in ("edge", "joint", "edge:", "joint:"):
        fix = f"Give it a name, for instance {quoted(given.strip().lower().rstrip(':') + ':west')}."
    elif leg := _LEG_IN_WORDS.fullmatch(given.strip()):
        meant = f"{leg[1]}.{leg[2].lower()}"
        fix = f"Write {quoted(meant)}."
    elif nearest(given.strip(), ("buffer",)) or given.lower() in ("buffers", "bufferstop", "end"):
        meant = "buffer"
        fix = 'Perhaps "buffer" is meant.'
    elif re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]*", given):
        fix = f"Say which leg or road it meets, for instance {quoted(given + '.toe')}."
    else:
        fix = "Write one of these forms."
    return Words("bad-track-end", message, why, fix, quoted(meant) if meant else None)


_ROADS = ("tracks", "platforms", "yards")
_REFERS = {
    **dict.fromkeys(("to", "via", "from"), _ROADS),
    **dict.fromkeys(("track", "tracks"), ("tracks",)),
    **dict.fromkeys(("under", "repeats", "never_with", "arms", "off", "arm"), ("arms",)),
    **dict.fromkeys(("train", "trains"), ("trains",)),
    **dict.fromkeys(("points", "worked_together"), ("points", "crossings")),
    **dict.fromkeys(("crossings",), ("crossings",)),
    **dict.fromkeys(("turntables",), ("turntables",)),
}

_STOP = ('Write "stop". List the use of the signal in its "duties".', "stop")
_DISC = 'Write "kind": "shunt" here and "form": "disc" in the signal.'
_GROUND = 'Write "kind": "shunt" here and "mount": "ground" in the signal.'
_DIRECTION = (
    'Write "down" for trains that run from the up end of the track to its down end, "up" for the '
    "others.",
    None,
)
_BOTH = ('Write "both".', "both")
_TURNOUT = ('Write "turnout", or leave "kind" out.', "turnout")
_THREE_WAY = ('Write "three-way".', "three-way")
_IS_CROSSING = ('Put it under "crossings", with its kind of slip there.', None)
_DIAMOND = ('Write "diamond", or leave "kind" out.', "diamond")
_ON_GROUND = ('Write "ground".', "ground")
_ARM_WORDS = ("disc", "disk", "ground-disc", "dolly")
_HOMES = ("home", "starter", "starting", "advanced-starter", "inner-home", "outer-home", "main")
_DIRECTIONS = (
    *("eastbound", "westbound", "northbound", "southbound", "north", "south", "east", "west"),
    *("left", "right", "forward", "clockwise", "inbound", "outbound"),
)
_COLOURS = ("light", "light-signal", "color-light", "colour-lights", "lamp", "led")

_TRADE_WORDS: dict[str, dict[str, tuple[str, str | None]]] = {
    "arm.kind": {
        **dict.fromkeys(_HOMES, _STOP),
        **dict.fromkeys(_ARM_WORDS, (_DISC, None)),
        **dict.fromkeys(("ground", "ground-signal", "dwarf", "dummy"), (_GROUND, None)),
        **dict.fromkeys(("semaphore", "junction"), ('Write "stop".', "stop")),
        "subsidiary": (
            'Write "calling-on" if it calls a train on towards another, "shunt" if it gives leave '
            "to shunt.",
            None,
        ),
        **dict.fromkeys(("call-on", "callon"), ('Write "calling-on".', "calling-on")),
        **dict.fromkeys(("caution", "fixed-distant"), ('Write "distant".', "distant")),
        **dict.fromkeys(
            ("upper-quadrant", "lower-quadrant", "colour-light"),
            ('Write it as "form" of the signal, and leave "kind" out for a stop arm.', None),
        ),
    },
    "signal.form": {
        "semaphore": ('Write "upper-quadrant" or "lower-quadrant".', None),
        **dict.fromkeys(_COLOURS, ('Write "colour-light".', "colour-light")),
        **dict.fromkeys(("shunt", *_ARM_WORDS), ('Write "disc".', "disc")),
    },
    "signal.mount": {
        **dict.fromkeys(("pole", "mast", "straight-post"), ('Write "post".', "post")),
        **dict.fromkeys(("dwarf", "disc", "dolly"), _ON_GROUND),
    },
    "signal.for": {
        **dict.fromkeys(_DIRECTIONS, _DIRECTION),
        "both": (
            'Write "down" or "up", and add a second signal for the trains the other way.',
            None,
        ),
    },
    "track.running": {
        **dict.fromkeys(("one-way", "single", "eastbound", "westbound"), _DIRECTION),
        **dict.fromkeys(("two-way", "bidirectional", "reversible", "either"), _BOTH),
    },
    "points.kind": {
        **dict.fromkeys(("3-way", "threeway", "tandem"), _THREE_WAY),
        **dict.fromkeys(("wye", "y", "switch", "point", "left-hand", "right-hand"), _TURNOUT),
        **dict.fromkeys(("slip", "single-slip", "double-slip", "diamond"), _IS_CROSSING),
    },
    "crossing.kind": {
        "slip": ('Write "single-slip" or "double-slip".', None),
        **dict.fromkeys(("crossing", "plain", "flat", "flat-crossing"), _DIAMOND),
    },
}

_IDS_STAND_IN = "pointers, tables and on the layout"
_ids = no_id(_IDS_STAND_IN, slashes=True)

LAYOUT = Vocabulary(
    format=FORMAT,
    one="layout plan",
    whole="the plan",
    schema=layout_schema(),
    least={"format": FORMAT, "tracks": {}},
    kinds=ONE_OF,
    inner={("signals", "arms"): "arm"},
    needed=_NEEDED,
    forms={
        "id": no_id(_IDS_STAND_IN),
        "reference": _ids,
        "one_or_more": _ids,
        "end": _no_track_end,
        "lever_number": none_such(
            "lever number",
            "A lever number is a whole number from 1 to 999, in double quotes.",
            '"12"',
        ),
        "rule_name": none_such(
            "name of a rule",
            "A name of a rule is words in small letters joined by hyphens.",
            '"unheld-exit"',
        ),
        "place": none_such(
            "place in a plan",
            "A place in a plan is a JSON pointer, which begins with a slash, or an id.",
            '"/signals/6" or "siding"',
        ),
        "board_edge": none_such(
            "edge of a board",
            "An edge of a board is the id of a board (or nothing: this plan's), a colon, and the "
            "name of the edge.",
            '"west:main"',
        ),
        "whereabouts": none_such(
            "place for a train to go to",
            "A place for a train to go to is the id of a track, a platform or a yard, or edge: "
            "and the name of an edge.",
            '"main" or "edge:town"',
        ),
        "": none_such(
            "path of a plan",
            "A path of a plan is seen from the folder of this file, with / between folders, and "
            "no drive or leading slash.",
            '"boards/west.layout.json"',
        ),
    },
    beyond="Nothing on a layout measures that.",
    refers=_REFERS,
    trade_words=_TRADE_WORDS,
    two_types={
        ("boolean", "string"): (
            "true or the id of a train",
            "For a track without a train, write nothing.",
        ),
    },
)
