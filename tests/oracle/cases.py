"""Small plans and movements in few words, for cases worked out by hand."""

from __future__ import annotations

from typing import Any


def a_plan(tracks: dict[str, str], signals: dict[str, str] | None = None, **more: Any) -> Any:
    """A plan from short forms.

    A track is `UP DOWN` and then any of `stand`, `pass` (no stand), `down` or `up` (its running)
    and its length; a signal with one stop arm is `TRACK FOR` and then its distance, if any, and
    `shunt` or `both` where it has a shunt arm instead of the stop arm, or as well.
    """
    drawn: dict[str, Any] = {}
    for track_id, text in tracks.items():
        up, down, *rest = text.split()
        drawn[track_id] = {"up": up, "down": down}
        for word in rest:
            if word in ("stand", "pass"):
                drawn[track_id]["stand"] = word == "stand"
            elif word in ("down", "up"):
                drawn[track_id]["running"] = word
            else:
                drawn[track_id]["length_mm"] = int(word)
    posts: dict[str, Any] = {}
    for signal_id, text in (signals or {}).items():
        track_id, heading, *rest = text.split()
        arm = {"id": signal_id}
        posts[signal_id] = {"track": track_id, "for": heading, "arms": [arm]}
        for word in rest:
            if word == "shunt":
                arm["kind"] = "shunt"
            elif word == "both":
                posts[signal_id]["arms"].append({"id": f"{signal_id}s", "kind": "shunt"})
            else:
                posts[signal_id]["at_mm"] = int(word)
    return {"format": "trappoint-layout/1", "tracks": drawn, "signals": posts, **more}


def without(plan: Any, *signals: str) -> Any:
    kept = {key: value for key, value in plan["signals"].items() if key not in signals}
    return {**plan, "signals": kept}


def step(text: str) -> dict[str, Any]:
    """A step from words.

    `A come-on w west`, `A leave`, `A set-off down`, `B set-off`, `A take W s p z` or `A run p`.
    """
    train, do, *words = text.split()
    if do == "come-on":
        return {"train": train, "do": do, "edge": words[0], "to": words[1]}
    if do == "leave":
        return {"train": train, "do": do}
    if do == "set-off":
        return {"train": train, "do": do, "heading": words[0] if words else None}
    if do == "take":
        return {"train": train, "do": do, "signal": words[0], "over": words[1:]}
    return {"train": train, "do": do, "to": words[0]}


def movement(a: str | None, b: str | None, *steps: str) -> dict[str, Any]:
    """A movement from where the trains start (None: outside) and its steps in words."""
    return {"starts": {"A": a, "B": b}, "steps": [step(text) for text in steps]}


def runs(train: str, *places: str) -> list[str]:
    """The words for a train that runs from place to place."""
    return [f"{train} run {place}" for place in places]


DECEIVED = a_plan(
    {
        "west": "edge:w joint:w stand",
        "s": "joint:w p.toe stand",
        "z": "p.left joint:e",
        "east": "joint:e edge:e stand",
        "q": "p.right joint:q",
        "q2": "joint:q edge:q stand",
    },
    {
        "W": "west down",
        "U": "s up",
        "Z": "z down",
        "E": "east up",
        "Qd": "q down",
        "Q": "q2 up",
    },
    points={"p": {"normal": "left"}},
)
DECEIVED_MOVEMENT = movement(
    "west", "q2",
    "A set-off down", "A take W s p z", "A run s", "A run p", "A run z",
    "B set-off up", "B take Q q p s", "B run q", "B run p", "B run s",
    "B set-off down", "B run p", "B run z",
)  # fmt: skip

LINE = {"west": "edge:w joint:j", "east": "joint:j edge:e"}


def trapped(normal: str = "left", trap: bool = True, together: bool = False) -> Any:
    """A siding without a signal beside a line, with trap points that turn strays into a drag."""
    more: dict[str, Any] = {"worked_together": [["p", "q"]]} if together else {}
    return a_plan(
        {
            "w": "edge:w p.left",
            "e": "p.toe edge:e",
            "lead": "q.right p.right",
            "drag": "q.left buffer pass",
            "siding": "buffer q.toe",
        },
        {"W": "w down", "E": "e up"},
        points={"p": {"normal": "left"}, "q": {"normal": normal, "trap": trap}},
        **more,
    )


# The lever of the trap works points of another road too.
HELD_REVERSE = a_plan(
    {
        "line": "buffer s.toe",
        "left": "s.left buffer pass",
        "right": "s.right buffer pass",
        "siding": "buffer q.toe",
        "drag": "q.left buffer pass",
        "bay": "q.right buffer",
    },
    {"L": "line down", "B": "bay up"},
    points={"s": {"normal": "left"}, "q": {"normal": "left", "trap": True}},
    worked_together=[["s", "q"]],
)

# A stand behind trap points, with two ways through it to two tracks.
FOLLOWED = a_plan(
    {
        "shed": "edge:x joint:s",
        "s": "joint:s q.toe stand down",
        "drag": "q.left buffer pass",
        "lead": "q.right t.1 down",
        "far": "t.2 joint:f",
        "spur": "t.3 buffer pass",
        "end": "joint:f edge:f",
    },
    {"X": "shed down", "E": "end up"},
    points={"q": {"normal": "left", "trap": True}},
    turntables={"t": {"roads": ["1", "2", "3"]}},
)
