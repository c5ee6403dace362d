"""Trains run by the arms that the shipped script lets off, through the game of the definition.

The trains make every kind of act that the game has. A train takes a route only after the script
has set its points and taken its arm off, and the arm goes back when the train has run it off. On a
plan that holds, each route that the script lets a train take is one that the game allows, and no
two trains ever meet.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest

import trappoint
from amount import amount
from oracle.game import Act, Train, claims, start_of, steps_of
from oracle.ground import Ground, Route
from oracle.stations import station_plan
from trappoint.reporting.work_data import work_data
from working.conftest import example
from working.shipped import ask, facts_of

if TYPE_CHECKING:
    from playwright.sync_api import Page

TRAINS = 3

BEGIN = """(data) => {
  globalThis.work = trappointLocking(data);
  globalThis.stand = (place, n) => {
    if (place === null) work.trains.delete(`${n}`);
    else work.stand(`${n}`, place);
  };
  globalThis.roads = trappointRoads(work);
  return 0;
}"""

THROW = """(at, group) => {
  at.forEach(stand);
  if (group !== null) work.throwGroup(group);
  return work.lies;
}"""

TAKE = """(at, needs, arms) => {
  at.forEach(stand);
  const kept = work.keep();
  const settings = needs.map(([s, lie]) => {
    const g = work.groupOf.get(s);
    const n = work.groups[g].switches.indexOf(s);
    return [g, work.groups[g].settings.findIndex((setting) => setting.lies[n] === lie)];
  });
  const done = settings.every(([g, n]) => work.setGroup(g, n) === null)
    && arms.every((a) => !work.off.has(a) && work.moveArm(a) === null);
  if (!done) work.restore(kept);
  return [done, work.lies];
}"""

BACK = """(arms) => {
  arms.forEach((a) => { if (work.off.has(a)) work.moveArm(a); });
  return arms.every((a) => !work.off.has(a));
}"""


class MeetingError(Exception):
    """Two trains are in one place."""


class Working:
    """Trains of the game on one plan, the script as the signalman's locking."""

    def __init__(self, page: Page, plan: Any, rng: random.Random) -> None:
        self.page, self.rng, self.ground = page, rng, Ground(plan)
        facts = facts_of(json.dumps(plan))
        self.data = work_data(facts)
        ask(page, BEGIN, self.data)
        self.place = {place["name"]: n for n, place in enumerate(self.data["places"])}
        elements = self.ground.elements
        self.names = [elements.place_name(s["kind"], s["id"]) for s in self.data["switches"]]
        self.lies = [str(switch["normal"]) for switch in self.data["switches"]]
        stands = rng.sample(sorted(self.ground.stands), min(TRAINS, len(self.ground.stands)))
        self.trains = [start_of(rng.choice((None, stand))) for stand in stands]
        self.arms: list[list[int]] = [[] for _ in self.trains]
        self.done: Counter[str] = Counter()
        self.ways = self._ways()

    def _ways(self) -> dict[tuple[Any, ...], tuple[int, list[list[int]]]]:
        """Return the route of the page for each of the game, with the arms to take off for it."""
        found = {}
        for arm, own in enumerate(self.data["arms"]):
            if own["kind"] not in ("stop", "shunt"):
                continue
            for number in own["routes"]:
                route = self.data["routes"][number]
                signal = self.data["heads"][route["head"]]["signal"]
                over = tuple(
                    self.data["places"][self.data["roads"]["place_of"][state]]["name"]
                    for state in route["states"]
                )
                lies = frozenset((self.names[s], lie) for s, lie in route["needs"])
                past = [[first[0] for first in head[:1]] for head in route["past"]]
                found[signal, own["kind"], over, lies] = (number, [*past, [arm]])
        return found

    def at(self) -> list[int | None]:
        return [self.place.get(train.place) for train in self.trains]

    def step(self) -> None:
        """Make one act of one train, or throw points at random."""
        mover = self.rng.randrange(len(self.trains))
        if self.data["groups"] and self.rng.random() < 0.15 and not self.traps():
            self.lies = ask(
                self.page, THROW, self.at(), self.rng.randrange(len(self.data["groups"]))
            )
            return
        acts = list(steps_of(self.ground, self.trains[mover]))
        self.rng.shuffle(acts)
        for act in acts:
            if self.make(mover, act):
                self.done[act.step["do"]] += 1
                return

    def traps(self) -> bool:
        return bool(self.ground.elements.trap_groups)

    def make(self, mover: int, act: Act) -> bool:
        train = self.trains[mover]
        others = [other for n, other in enumerate(self.trains) if n != mover]
        theirs = frozenset().union(*(claims(self.ground, other) for other in others))
        if act.step["do"] == "come-on" and not act.allowed(theirs):
            return False  # the neighbour's block
        if act.step["do"] == "take":
            assert act.after.route is not None
            if not self.let(mover, self.ground.all_routes[act.after.route]):
                return False
            assert act.allowed(theirs), (act.step, self.trains)
        elif act.after.lie is not None and not train.ahead and not self.as_they_lie(act.after):
            return False
        self.trains[mover] = act.after
        places = [each.place for each in self.trains if each.place]
        if len(places) > len(set(places)):
            raise MeetingError(act.step, self.trains)
        if act.after.route is None and self.arms[mover]:
            assert ask(self.page, BACK, self.arms[mover])
            self.arms[mover] = []
        return True

    def as_they_lie(self, train: Train) -> bool:
        """Return whether points under a train that runs freely lie as it needs them."""
        switch = self.names.index(train.place)
        return self.lies[switch] == train.lie

    def let(self, mover: int, route: Route) -> bool:
        """Ask the script to set a route: its points, the shunt arms on the way, its arm."""
        for (signal, kind, over, lies), (number, arms) in self.ways.items():
            words = {self.ground.group_of[n]: self.ground.elements.word(n, lie) for n, lie in lies}
            if (signal, kind, list(over), words) != (
                route.signal, route.kind, route.over, route.words,
            ):  # fmt: skip
                continue
            order = [arm for each in arms for arm in each]
            needs = self.data["routes"][number]["needs"]
            let, self.lies = ask(self.page, TAKE, self.at(), needs, order)
            if let:
                self.arms[mover] = order[::-1]
                return True
            self.done["refused"] += 1
        return False


@pytest.mark.parametrize("name", ["kelpie-quay", "boggart-bridge", "selkie-harbour"])
def test_trains_on_the_examples(bench: Page, name: str) -> None:
    working = Working(bench, example(name), random.Random(name))
    for _ in range(amount(500, long=20_000)):
        working.step()
    done = working.done
    assert min(done[act] for act in ("take", "run", "set-off", "refused")) >= 10, done
    assert done["come-on"]


def test_trains_on_random_stations_that_hold(bench: Page) -> None:
    rng = random.Random("trains")
    tried = 0
    done: Counter[str] = Counter()
    while tried < amount(6, long=200):
        plan = station_plan(rng, 0)
        report = trappoint.check(json.dumps(plan))
        if not report.holds or report.table is None or len(report.table.arms) < 3:
            continue
        working = Working(bench, plan, rng)
        for _ in range(150):
            working.step()
        done += working.done
        tried += 1
    assert min(done[act] for act in ("take", "run", "come-on", "set-off", "refused")) >= 10, done


def test_without_a_signal_trains_meet(bench: Page) -> None:
    """On a plan that does not hold the same trains meet."""
    plan = example("kelpie-quay")
    del plan["signals"]["3"]
    with pytest.raises(MeetingError):
        for seed in range(20):
            working = Working(bench, plan, random.Random(seed))
            for _ in range(300):
                working.step()
