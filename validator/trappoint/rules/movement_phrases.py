"""Movements of two trains in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import HOW_THEY_MEET
from trappoint.rules.route_phrases import at_start, places_called, thing

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.facts.facts import Facts
    from trappoint.verdict.movements import Movement, Step


def movement_in_words(facts: Facts, movement: Movement) -> str:
    """Return a movement as sentences: where each train stands, what it does, where they meet."""
    story = steps_in_words(facts, movement.starts, movement.steps)
    called = places_called(facts, (movement.meets_at,))
    return f"{HOW_THEY_MEET}{story} Both are in {called[movement.meets_at]}."


def steps_in_words(
    facts: Facts, starts: tuple[str | None, str | None], steps: Iterable[Step]
) -> str:
    """Return the steps of two trains as sentences, one for each run of steps of one train."""
    steps = tuple(steps)
    ids = (*starts, *(step.to for step in steps), *(step.over[-1] for step in steps if step.over))
    called = places_called(facts, (id_ for id_ in ids if id_))
    standing = [
        f"train {train} {'' if train == 'B' and starts[0] else 'stands '}in {called[place]}"
        for train, place in zip("AB", starts, strict=True)
        if place is not None
    ]
    sentences = [", ".join(standing)] if standing else []
    last: Step | None = None
    for step in steps:
        if last is not None and last.train == step.train and last.do == step.do == "run":
            sentences[-1] += f", {called[step.to or '']}"
        else:
            sentences.append(step_in_words(facts, step, called))
        last = step
    return f"{'. '.join(sentences)}."


def step_in_words(facts: Facts, step: Step, called: Mapping[str, str]) -> str:
    """Return one step as a sentence without its point. ``called``: the names of its places."""
    if step.do == "come-on":
        edge = facts.names.called("edges", step.edge or "")
        at = f"edge:{edge}" if edge == step.edge else f"edge {edge}"
        return f"Train {step.train} comes on at {at}, into {called[step.to or '']}"
    if step.do == "leave":
        return f"Train {step.train} leaves the plan"
    if step.do == "set-off":
        return f"{step.train} sets off{f' {step.heading}' if step.heading else ''}"
    if step.do == "take":
        signal = at_start(thing(facts, "signals", step.signal or ""))
        return f"{signal} is taken off for {step.train}, as far as {called[step.over[-1]]}"
    return f"{step.train} runs to {called[step.to or '']}"
