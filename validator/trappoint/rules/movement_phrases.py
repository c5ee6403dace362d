"""Movements of two trains in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.verdict.movements import Movement, Step


def tell_movement(movement: Movement) -> str:
    """Tell a movement in sentences: who stands where, who moves, where they meet."""
    story = tell_steps(movement.starts, movement.steps)
    return f"How they meet: {story} Both are in {movement.meets_at}."


def tell_steps(starts: tuple[str | None, str | None], steps: Iterable[Step]) -> str:
    """Tell what two trains do, one sentence for what one of them does in one go."""
    standing = [
        f"train {train} {'' if train == 'B' and starts[0] else 'stands '}in {place}"
        for train, place in zip("AB", starts, strict=True)
        if place is not None
    ]
    lines = [", ".join(standing)] if standing else []
    last: Step | None = None
    for step in steps:
        if last is not None and last.train == step.train and last.do == step.do == "run":
            lines[-1] += f", {step.to}"
        else:
            lines.append(_tell(step))
        last = step
    told = f"{'. '.join(lines)}."
    return told[0].lower() + told[1:] if standing else told


def _tell(step: Step) -> str:
    if step.do == "come-on":
        return f"Train {step.train} comes on at edge:{step.edge} to {step.to}"
    if step.do == "leave":
        return f"{step.train} leaves the plan"
    if step.do == "set-off":
        return f"{step.train} sets off{f' {step.heading}' if step.heading else ''}"
    if step.do == "take":
        return f"Signal {step.signal} is taken off for {step.train}, as far as {step.over[-1]}"
    return f"{step.train} runs to {step.to}"
