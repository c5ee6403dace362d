"""Every state of small plans, reached by presses on the script that is shipped.

From each state the browser makes every press: each setting of points, each arm or lever, a train
set down or taken up. The model makes the same press from the same state. Both must answer alike,
and come to the same state. In no state two arms are off whose routes the definition keeps apart.
"""

from __future__ import annotations

import json
import random
from itertools import combinations
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest

import trappoint
from amount import amount
from frame.plans import junction_1873
from frame.random_frames import random_frame
from oracle.cases import a_plan, trapped
from oracle.conflicts import conflict
from oracle.ground import Ground, Route
from oracle.stations import station_plan
from trappoint.reporting.work_data import work_data
from working.conftest import example
from working.model import Model
from working.shipped import ask, facts_of

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from trappoint.facts.facts import Facts

MOST = amount(1_500, long=40_000)
"""About the most states of one plan; its search stops there."""

STATES = """(data, places, most) => {
  const work = trappointLocking(data);
  const presses = [];
  if (data.frame) data.frame.levers.forEach((_, l) => presses.push(["lever", l]));
  work.groups.forEach(({ settings }, g) => (
    settings.forEach((_, n) => presses.push(["points", g, n]))));
  work.arms.forEach((_, a) => presses.push(["arm", a]));
  places.forEach((place) => presses.push(["train", place]));
  const now = () => JSON.stringify([
    [...work.lies], [...work.off].sort((a, b) => a - b), [...work.reversed].sort((a, b) => a - b),
    places.filter((place) => work.trainAt(place) !== null)]);
  const put = (text) => {
    const [lies, off, reversed, at] = JSON.parse(text);
    work.restore({ lies, off, reversed });
    work.trains.clear();
    at.forEach((place) => work.stand(work.nextTrain(), place));
  };
  const make = ([kind, n, setting]) => {
    if (kind === "lever") return work.moveLever(n);
    if (kind === "points") return work.setGroup(n, setting);
    if (kind === "arm") return work.moveArm(n);
    if (work.trainAt(n) === null) work.stand(work.nextTrain(), n);
    else work.trains.delete(work.trainAt(n));
    return null;
  };
  const states = [now()];
  const number = new Map([[states[0], 0]]);
  const answers = [];
  for (let s = 0; s < states.length; s += 1) {
    const own = presses.map((press) => {
      put(states[s]);
      const may = press[0] === "arm" ? work.whyNot(press[1]) === null : null;
      const why = make(press);
      const reached = now();
      const wrong = (what) => {
        throw new Error(`${what}: ${states[s]} ${press} ${why} ${reached}`);
      };
      if (why !== null && reached !== states[s]) wrong("refused, yet moved");
      if (may !== null && may !== (why === null)) wrong("whyNot says otherwise");
      if (why !== null && !/^[^ ]+ .*[.]$/.test(why)) wrong("no sentence");
      if (!number.has(reached) && states.length < most) {
        number.set(reached, states.length);
        states.push(reached);
      }
      return [why === null, number.get(reached) ?? reached];
    });
    answers.push(own);
  }
  return { presses, states: states.map((text) => JSON.parse(text)), answers };
}"""


class State(NamedTuple):
    """A state in the browser: lies by switch, arms off, levers reversed, places occupied."""

    lies: list[str]
    off: list[int]
    reversed: list[int]
    at: list[int]


class Held:
    """The model put into states of the browser, to make the same presses."""

    def __init__(self, facts: Facts, data: dict[str, Any]) -> None:
        ids = [switch["id"] for switch in data["switches"]]
        self.groups = [[ids[number] for number in group["switches"]] for group in data["groups"]]
        words = [[setting["word"] for setting in group["settings"]] for group in data["groups"]]
        self.data, self.facts = data, facts
        self.model = Model(facts, self.groups, words)
        self.arms = [arm["id"] for arm in data["arms"]]
        self.levers = [lever["number"] for lever in (data["frame"] or {"levers": []})["levers"]]

    def put(self, state: State) -> None:
        model = self.model
        model.settings = [
            next(
                number
                for number, setting in enumerate(group["settings"])
                if setting["lies"] == [state.lies[switch] for switch in group["switches"]]
            )
            for group in self.data["groups"]
        ]
        model.off = {self.arms[arm] for arm in state.off}
        model.levers = {self.levers[lever] for lever in state.reversed}
        model.trains = set(state.at)

    def press(self, kind: str, number: int, setting: int = 0) -> bool:
        if kind == "lever":
            return self.model.pull(self.levers[number])
        if kind == "points":
            return self.model.throw(number, setting)
        if kind == "arm":
            return self.model.move(self.arms[number])
        self.model.train(number)
        return True

    def same(self, state: State) -> bool:
        model = self.model
        now = (model.settings, model.off, model.levers, model.trains)
        self.put(state)
        return now == (model.settings, model.off, model.levers, model.trains)


class Definition:
    """The routes and conflicts of the definition, for the arms of the page."""

    def __init__(self, plan: Any, facts: Facts) -> None:
        self.ground, self.facts = Ground(plan), facts
        of_name: dict[Any, list[Route]] = {}
        for route in self.ground.all_routes:
            of_name.setdefault((route.signal, route.kind, tuple(route.over)), []).append(route)
        routes = facts.routes.all
        self.routes_of = [
            [
                route
                for number in facts.assignment.routes_of[arm]
                for route in of_name[
                    facts.network.heads[routes[number].head].signal,
                    "shunt" if facts.assignment.arms[arm].kind == "shunt" else "stop",
                    tuple(facts.network.place(state).name for state in routes[number].path),
                ]
            ]
            for arm in range(len(facts.assignment.arms))
        ]

    def words(self, data: dict[str, Any], lies: list[str]) -> dict[str, str]:
        """Return how each group of the definition lies."""
        elements = self.ground.elements
        found = {}
        for switch, lie in zip(data["switches"], lies, strict=True):
            name = elements.place_name(switch["kind"], switch["id"])
            found[self.ground.group_of[name]] = elements.word(name, lie)
        return found

    def kept_apart(self, data: dict[str, Any], state: State) -> None:
        """Assert that each arm has a route that is set, and that no two of these conflict."""
        words = self.words(data, state.lies)
        off = {
            arm: [
                route
                for route in self.routes_of[arm]
                if all(words[group] == word for group, word in route.words.items())
            ]
            for arm in state.off
            if arm < len(self.routes_of)
        }
        assert all(off.values()), state
        for one, other in combinations(off, 2):
            for mine in off[one]:
                for theirs in off[other]:
                    assert conflict(self.ground, mine, theirs) is None, (state, mine, theirs)


def every_state(page: Page, plan: Any, places: list[int], most: int = MOST) -> tuple[int, int]:
    """Hold every press in every state; return the number of states, and of presses refused."""
    facts = facts_of(json.dumps(plan))
    data = work_data(facts)
    found = ask(page, STATES, data, places, most)
    states = [State(*state) for state in found["states"]]
    held, definition = Held(facts, data), Definition(plan, facts)
    known = {json.dumps(state) for state in found["states"]}
    refused = 0
    for state, answers in zip(states, found["answers"], strict=True):
        definition.kept_apart(data, state)
        for press, (done, reached) in zip(found["presses"], answers, strict=True):
            refused += not done
            after = states[reached] if isinstance(reached, int) else State(*json.loads(reached))
            if data["frame"] and press[0] in ("points", "arm"):
                # Such a press moves levers: it comes to a state to which presses of levers come.
                assert len(known) >= most or json.dumps(after) in known
                continue
            held.put(state)
            assert held.press(*press) is done, (state, press)
            assert held.same(after), (state, press, after)
    return len(states), refused


HAND_MADE = {
    "a passing loop with shunt arms": a_plan(
        {
            "west": "edge:w p.toe",
            "main": "p.left q.left stand",
            "loop": "p.right q.right stand",
            "east": "q.toe edge:e",
        },
        {
            "W": "west down both",
            "E": "east up",
            "MD": "main down",
            "MU": "main up",
            "LD": "loop down shunt",
            "LU": "loop up shunt",
        },
        points={"p": {"normal": "left"}, "q": {"normal": "left"}},
    ),
    "a stop route past a shunt signal": a_plan(
        {
            "west": "edge:w joint:a",
            "mid": "joint:a p.toe",
            "main": "p.left edge:e",
            "siding": "p.right buffer",
        },
        {"W": "west down", "S": "mid down shunt", "M": "main up", "D": "siding up shunt"},
        points={"p": {"normal": "left"}},
    ),
    "three ways from one signal": a_plan(
        {
            "line": "edge:w p.toe",
            "one": "p.left buffer stand",
            "two": "p.middle buffer stand",
            "three": "p.right buffer stand",
        },
        {"L": "line down", "A": "one up", "B": "two up", "C": "three up"},
        points={"p": {"normal": "left", "kind": "three-way"}},
    ),
    "a slip": a_plan(
        {
            "nw": "edge:nw x.a1",
            "sw": "edge:sw x.b1",
            "ne": "x.a2 edge:ne",
            "se": "x.b2 edge:se",
        },
        {"NW": "nw down", "SW": "sw down", "NE": "ne up", "SE": "se up"},
        crossings={"x": {"kind": "double-slip"}},
    ),
    "trap points worked together": trapped(together=True),
}


@pytest.mark.parametrize("name", HAND_MADE)
def test_every_state_of_plans_made_by_hand(bench: Page, name: str) -> None:
    plan = HAND_MADE[name]
    places = len(facts_of(json.dumps(plan)).network.places)
    states, refused = every_state(bench, plan, list(range(places)))
    assert states >= min(64, MOST)
    assert refused


def test_every_state_of_the_first_example(bench: Page) -> None:
    states, _ = every_state(bench, example("kelpie-quay"), [])
    assert states > 20
    states, _ = every_state(bench, example("kelpie-quay"), [0, 3])
    assert states > 80


@pytest.mark.parametrize("name", ["boggart-bridge", "selkie-harbour"])
def test_many_states_of_an_example_with_more_arms(bench: Page, name: str) -> None:
    states, refused = every_state(bench, example(name), [0, 1], MOST // 4)
    assert states == MOST // 4 < refused


def test_every_state_of_random_stations(bench: Page) -> None:
    rng = random.Random("states")
    tried = 0
    while tried < amount(4, long=60):
        plan = station_plan(rng)
        report = trappoint.check(json.dumps(plan))
        if report.facts is None or report.table is None or not 2 <= len(report.table.arms) <= 9:
            continue
        places = rng.sample(range(len(report.facts.network.places)), 2)
        states, _ = every_state(bench, plan, places, MOST // 3)
        assert states > 4
        tried += 1


def test_every_state_of_the_published_frame(bench: Page) -> None:
    states, refused = every_state(bench, junction_1873(), [])
    assert states == 27
    assert refused


def test_every_state_of_random_frames(bench: Page) -> None:
    rng = random.Random("frames")
    tried = reached = 0
    while tried < amount(5, long=200):
        plan = random_frame(rng)
        if plan is None:
            continue
        states, _ = every_state(bench, plan, [0], MOST // 3)
        reached += states
        tried += 1
    assert reached > 20 * tried
