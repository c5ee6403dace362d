"""Everything that a page needs to work a plan: points, arms, levers, trains and roads, by number.

``work_data`` returns plain values. The script of the page applies the locking from them: the routes
and conflicts of the locking table, the entries of the lever frame, the moves of the journey search.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.interlocking.conflicts import runs_along
from trappoint.lever_frame.clauses import bits
from trappoint.lever_frame.levers import read_frame, worked_with
from trappoint.model.layout import Points, lie_of
from trappoint.operation.journey_search import Finder
from trappoint.operation.session_sheet import write_sheet
from trappoint.reporting.road_words import tell_order
from trappoint.reporting.session_words import tell_beginning, tell_movement
from trappoint.rules.movement_phrases import step_in_words
from trappoint.rules.route_phrases import place_called, places_called

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Crossing, Layout
    from trappoint.operation.lever_orders import LeverWork
    from trappoint.operation.session_sheet import SessionSheet
    from trappoint.topology.network import Network
    from trappoint.verdict.movements import Movement, Step

MAX_MOVEMENTS = 20
"""Most movements by which a plan fails that a page shows."""


def work_data(facts: Facts) -> dict[str, Any]:
    """Return the data of a plan for the page that works it.

    Switches, places, heads, routes and arms are named by their index in the lists. ``facts`` are
    those of a plan without errors that stop the derivation (``Report.facts``).
    """
    switches = _switches(facts.layout)
    number_of = {switch.id: number for number, switch in enumerate(switches)}
    place_of = {facts.network.places[place].id: place for place in facts.normal_lies}
    data: dict[str, Any] = {
        "title": facts.layout.title,
        "switches": [
            {
                "id": switch.id,
                "called": facts.names.called(_kind(switch), switch.id),
                "kind": _kind(switch),
                "normal": switch.normal,
                "place": place_of.get(switch.id, -1),
            }
            for switch in switches
        ],
        "groups": _groups(facts.layout, number_of),
        "places": _places(facts),
        "heads": _heads(facts),
        "routes": [_route(facts, number, number_of) for number in range(len(facts.routes.all))],
        "arms": list(_arms(facts, number_of)),
        "frame": _frame(facts, number_of),
        "roads": _roads(facts),
        "trains": [facts.names.called("trains", train) for train in facts.layout.trains],
        "train_ids": list(facts.layout.trains),
        "plays": [*_scenes(facts), *_sessions(facts), *_meetings(facts)],
    }
    return data


def _kind(switch: Points | Crossing) -> str:
    return "points" if isinstance(switch, Points) else "crossings"


def _switches(layout: Layout) -> list[Points | Crossing]:
    """Return all points and slips, in the order of the plan."""
    return [*layout.points.values(), *(c for c in layout.crossings.values() if c.lies)]


def _groups(layout: Layout, number_of: Mapping[str, int]) -> list[dict[str, Any]]:
    """Return the switches that move together, with their settings, the normal one first."""
    together = worked_with(layout)
    groups, seen = [], set[str]()
    for switch in _switches(layout):
        if switch.id in seen:
            continue
        members = [m for m in together.get(switch.id, (switch.id,)) if m in number_of]
        members = list(dict.fromkeys([switch.id, *members]))
        seen.update(members)
        words = ["normal", "reverse"]
        if len(members) == 1 and len(switch.lies) > 2:
            words = ["normal", *(lie for lie in switch.lies if lie != switch.normal)]
        settings = []
        for word in words:
            lies = [_lie(layout, member, word) for member in members]
            settings.append({"word": word, "lies": lies})
        groups.append({"switches": [number_of[m] for m in members], "settings": settings})
    return groups


def _lie(layout: Layout, name: str, word: str) -> str:
    switch = layout.switch(name)
    return (lie_of(switch, word) or str(switch.normal)) if switch is not None else ""


def _places(facts: Facts) -> list[dict[str, Any]]:
    found = []
    for number, place in enumerate(facts.network.places):
        kind = "tracks" if place.kind == "section" else place.kind
        found.append(
            {
                "name": place.name,
                "called": place_called(facts, place),
                "kind": kind,
                "id": place.id,
                "part": place.part or 1,
                "parts": len(facts.network.sections.get(place.id, ())) or 1,
                "stand": number in facts.network.stand_at,
            }
        )
    return found


def _heads(facts: Facts) -> list[dict[str, Any]]:
    """Return the heads at which trains are held, with the arms of each by kind."""
    found: list[dict[str, Any]] = [
        {"signal": head.signal, "stop": [], "shunt": []} for head in facts.network.heads
    ]
    for number, arm in enumerate(facts.assignment.arms):
        if arm.kind in ("stop", "shunt"):
            found[facts.assignment.head_of[number]][arm.kind].append(number)
    return found


def _route(facts: Facts, number: int, number_of: Mapping[str, int]) -> dict[str, Any]:
    network, route = facts.network, facts.routes.all[number]
    return {
        "head": route.head,
        "states": list(route.path),
        "needs": [[number_of[network.places[place].id], lie] for place, lie in route.lies.items()],
        "faces": network.facing[route.path[-1]],
        "past": [
            [
                [arm, along]
                for along in facts.routes.of_kind(head, shunting=True)
                if runs_along(route, facts.routes.all[along])
                for arm in facts.assignment.arms_for(along)
            ]
            for head in route.past
        ],
    }


def _arms(facts: Facts, number_of: Mapping[str, int]) -> Iterator[dict[str, Any]]:
    """Yield the arms that give leave, by number, then the distants."""
    for number, arm in enumerate(facts.assignment.arms):
        yield {
            "id": arm.id,
            "called": facts.names.called("arms", arm.id),
            "elsewhere": arm.elsewhere,
            "kind": arm.kind,
            "routes": list(facts.assignment.routes_of[number]),
            # Points that differ keep the others apart: no two such routes are ever set at once.
            "never": [
                [c.other, [[number_of[n], lie] for n, lie in (c.when or {}).items()]]
                for c in facts.conflicts[number]
                if c.by == "direct"
            ],
        }
    for distant in facts.distants:
        yield {
            "id": distant.arm.id,
            "called": facts.names.called("arms", distant.arm.id),
            "kind": "distant",
            "routes": [],
            "never": [],
            "above": distant.above,
            "first": list(distant.first),
            "repeats": list(distant.repeats),
            "beside": facts.network.section_state(
                distant.arm.track, distant.arm.heading, distant.arm.at_mm
            ),
        }


def _frame(facts: Facts, number_of: Mapping[str, int]) -> dict[str, Any] | None:
    """Return the levers with their points and arms, and the entries of the locking."""
    if not facts.layout.levers:
        return None
    from trappoint.lever_frame.derivation import derive_frame

    table, frame = derive_frame(facts), read_frame(facts.layout)
    index = {lever.number: number for number, lever in enumerate(table.levers)}
    arms: list[list[str]] = [[] for _ in table.levers]
    for arm, lever in frame.lever_of_arm.items():
        arms[lever].append(arm)
    lies: dict[int, list[Any]] = {}
    for (name, lie), levers in frame.lies.items():
        if levers is not None and name in number_of:
            rev, nor = (list(bits(each)) for each in levers)
            lies.setdefault(number_of[name], []).append([lie, rev, nor])
    return {
        "levers": [
            {
                "number": lever.number,
                "plate": facts.layout.levers[lever.number].name or ", ".join(lever.names),
                "colour": lever.colour,
                "works": lever.works,
                "arms": arms[number],
            }
            for number, lever in enumerate(table.levers)
        ],
        "lies": [[switch, ways] for switch, ways in lies.items()],
        "entries": [
            {
                "lever": index[entry.lever],
                "relation": entry.relation,
                "others": [[index[t.lever], t.position == "reversed"] for t in entry.others],
                "when": [[index[t.lever], t.position == "reversed"] for t in entry.when],
                "text": entry.text,
            }
            for entry in table.entries
        ],
    }


def _roads(facts: Facts) -> dict[str, Any]:
    """Return the moves of the journey search: states, stands, free moves and routes with leave."""
    network, finder = facts.network, Finder(facts)
    return {
        "place_of": list(network.place_of),
        "facing": list(network.facing),
        "may_stop": [
            int(
                (stand := network.stand_at.get(network.place_of[state])) is not None
                and state in network.stands[stand].states
            )
            for state in range(len(network.place_of))
        ],
        "stands": [[stand.place, list(stand.states)] for stand in network.stands],
        "free": [
            [[e.to, e.element, e.lie] for e in exits if e.head < 0] for exits in network.exits
        ],
        "leave": [
            [number, network.held_at[facts.routes.all[number].head], list(leave.arms)]
            for number, leave in finder.leave.items()
        ],
        "to_edge": _edges(network),
    }


def _edges(network: Network) -> dict[str, list[int]]:
    """Return the states in which a train is about to leave the plan, by the edge."""
    found: dict[str, list[int]] = {}
    for track in network.layout.tracks.values():
        for heading in ("down", "up"):
            end = track.end(heading)
            pieces = network.sections.get(track.id)
            if end.kind == "edge" and pieces is not None:
                state = pieces[-1 if heading == "down" else 0].get(heading)
                if state is not None:
                    found.setdefault(end.name, []).append(state)
    return found


def _scenes(facts: Facts) -> list[dict[str, Any]]:
    return [
        {
            "title": f"Scene: {facts.names.called('scenes', scene.id)}",
            "frames": [
                {
                    "title": facts.names.called("scenes", scene.id),
                    "points": dict(scene.points),
                    "off": list(scene.off),
                    "trains": [
                        [
                            place,
                            facts.names.called("trains", train) if isinstance(train, str) else "",
                        ]
                        for place, train in scene.trains.items()
                    ],
                    "lines": [],
                }
            ],
        }
        for scene in facts.layout.scenes.values()
    ]


def _sessions(facts: Facts) -> list[dict[str, Any]]:
    """Return the frames of each session: before it, then two or more for each movement."""
    return [_session(write_sheet(facts, worked)) for worked in facts.sessions]


def _session(sheet: SessionSheet) -> dict[str, Any]:
    """Return the frames of one session: the road set, then the train at its end, for each stage."""
    called = sheet.called
    at = {called.train(train): place for train, place in sheet.standing}
    lies: dict[str, str] = {}
    frames = [_frame_of(tell_beginning(sheet), lies, [], at, [])]
    for entry in sheet.entries:
        title = tell_movement(entry, called)
        lines = [step.text for step in tell_order(entry.order, called)]
        train = called.train(entry.order.train)
        at[train] = entry.order.start
        for stage in entry.order.stages:
            off = [name for work in stage.works if work.do == "off" for name in work.names]
            lies |= _lies_set(stage.works)
            frames.append(_frame_of(title, lies, off, at, lines))
            at[train] = stage.over[-1]
            frames.append(_frame_of(title, lies, [], at, lines))
        if entry.leaves:
            del at[train]
        lies |= _lies_set(entry.order.restore)
    return {"title": f"Session: {sheet.name or sheet.session}", "frames": frames}


def _lies_set(works: Iterable[LeverWork]) -> dict[str, str]:
    return {
        name: lie
        for work in works
        if work.do == "set"
        for name, lie in zip(work.names, work.lies, strict=True)
    }


def _frame_of(
    title: str, lies: Mapping[str, str], off: list[str], at: Mapping[str, str], lines: list[str]
) -> dict[str, Any]:
    """Return one frame: how points lie, which arms are off, which train stands where."""
    return {
        "title": title,
        "points": dict(lies),
        "off": off,
        "trains": [[place, train] for train, place in at.items()],
        "lines": lines,
    }


def movements_of(facts: Facts) -> list[Movement]:
    """Return the movements by which a plan fails, at most ``MAX_MOVEMENTS``.

    They are the last of the ``plays``, in the same order.
    """
    return [f.movement for f in facts.verdict.failures if f.movement is not None][:MAX_MOVEMENTS]


def _meetings(facts: Facts) -> list[dict[str, Any]]:
    return [_meeting(facts, movement) for movement in movements_of(facts)]


def _meeting(facts: Facts, movement: Movement) -> dict[str, Any]:
    """Return the frames of a movement by which a plan fails."""
    ids = (step.to or step.over[-1] for step in movement.steps if step.to or step.over)
    called = places_called(facts, ids)
    at = {
        f"Train {letter}": place
        for letter, place in zip("AB", movement.starts, strict=True)
        if place is not None
    }
    lies: dict[str, str] = {}
    off: dict[str, list[str]] = {}
    lines: list[str] = []
    frames = []
    for step in movement.steps:
        train = f"Train {step.train}"
        if step.do == "take":
            lies |= _route_taken(facts, step, off)
        elif step.do in ("run", "come-on"):
            at[train] = step.to or ""
        elif step.do == "leave":
            del at[train]
        lines = [*lines, f"{step_in_words(facts, step, called)}."]
        arms = [arm for own in off.values() for arm in own]
        frames.append(_frame_of(lines[-1], lies, arms, at, lines))
    frames[-1]["title"] += f" Both trains are in {called[movement.meets_at]}."
    return {"title": f"How two trains meet in {called[movement.meets_at]}", "frames": frames}


def _route_taken(facts: Facts, step: Step, off: dict[str, list[str]]) -> dict[str, str]:
    """Note the arm that a train is given; return the lies of its route."""
    network = facts.network
    for number, route in enumerate(facts.routes.all):
        names = tuple(network.place(state).name for state in route.path)
        if network.heads[route.head].signal == step.signal and names == step.over:
            arms = facts.assignment.arms_for(number)[:1]
            off[step.train] = [facts.assignment.arms[arm].id for arm in arms]
            return {network.places[place].id: lie for place, lie in route.lies.items()}
    return {}
