"""Random presses on the script that is shipped, held against the library's facts and frame."""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING, Any

import pytest

import trappoint
from amount import amount
from oracle.stations import station_plan
from trappoint.operation.journey_search import Finder, Goal
from trappoint.reporting.work_data import work_data
from working.conftest import EXAMPLES
from working.model import Model
from working.shipped import ask, facts_of

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from trappoint.facts.facts import Facts

NAMES = ("kelpie-quay", "pixie-ring", "boggart-bridge", "selkie-harbour", "hobthrush-vale")

PRESS = """(data, count, seed) => {
  const work = trappointLocking(data);
  let state = seed;
  const below = (n) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 4294967296) * n);
  };
  let done = "";
  for (let n = 0; n < count; n += 1) {
    const kind = below(100);
    let why = null;
    if (data.frame && kind < 90) {
      why = work.moveLever(below(data.frame.levers.length));
    } else if (kind < 55) {
      const arm = below(work.arms.length);
      const before = work.whyNot(arm);
      why = work.moveArm(arm);
      if ((before === null) !== (why === null)) throw new Error(`whyNot of ${work.arms[arm].id}`);
    } else if (kind < 90 && work.groups.length) {
      why = work.throwGroup(below(work.groups.length));
    } else if (kind < 97) {
      const place = below(work.places.length);
      const train = work.trainAt(place);
      if (train === null) work.stand(work.nextTrain(), place);
      else work.trains.delete(train);
    } else if (kind < 98) {
      work.trains.clear();
    }
    done += why === null ? "1" : "0";
  }
  return done;
}"""

ROADS = """(data) => {
  const work = trappointLocking(data);
  const roads = trappointRoads(work);
  const places = data.roads.stands.map(([place]) => place);
  return places.flatMap((from) => places.filter((to) => to !== from).map((to) => {
    const found = roads.find(from, { places: new Set([to]) });
    return [from, to, found && found.cost];
  }));
}"""


class Presses:
    """The same random presses as in the browser, on the model."""

    def __init__(self, facts: Facts, data: dict[str, Any], seed: int) -> None:
        ids = [switch["id"] for switch in data["switches"]]
        groups = [[ids[number] for number in group["switches"]] for group in data["groups"]]
        words = [[setting["word"] for setting in group["settings"]] for group in data["groups"]]
        self.model = Model(facts, groups, words)
        self.arms = [arm["id"] for arm in data["arms"]]
        self.levers = [lever["number"] for lever in (data["frame"] or {"levers": []})["levers"]]
        self.places = len(data["places"])
        self.state = seed

    def below(self, count: int) -> int:
        self.state = (self.state * 1664525 + 1013904223) % 2**32
        return self.state * count // 2**32

    def press(self) -> bool:
        model, kind = self.model, self.below(100)
        if self.levers and kind < 90:
            return model.pull(self.levers[self.below(len(self.levers))])
        if kind < 55:
            return model.move(self.arms[self.below(len(self.arms))])
        if kind < 90 and model.groups:
            group = self.below(len(model.groups))
            return model.throw(group, (model.settings[group] + 1) % len(model.words[group]))
        if kind < 97:
            model.train(self.below(self.places))
        elif kind < 98:
            model.trains.clear()
        return True


def hold(page: Page, facts: Facts, count: int, seed: int) -> str:
    """Hold presses in the browser against the model; return which were done."""
    data = work_data(facts)
    done: str = ask(page, PRESS, data, count, seed)
    presses = Presses(facts, data, seed)
    for number, each in enumerate(done):
        assert presses.press() is (each == "1"), (number, sorted(presses.model.off))
    assert len(done) == count
    return done


@pytest.mark.parametrize("name", NAMES)
def test_presses_on_the_examples(bench: Page, name: str) -> None:
    facts = facts_of(EXAMPLES / f"{name}.layout.json")
    count = amount(2_000, long=200_000)
    done = hold(bench, facts, count, seed=len(name))
    assert done.count("1") > count / 10 < done.count("0")


def test_presses_on_random_stations(bench: Page) -> None:
    """Small plans with every kind of element; few presses reach every state of most of them."""
    rng = random.Random("presses")
    tried = 0
    while tried < amount(30, long=1_000):
        report = trappoint.check(json.dumps(station_plan(rng)))
        if report.facts is None or report.table is None or not report.table.arms:
            continue
        hold(bench, report.facts, 200, seed=rng.randrange(2**31))
        tried += 1


@pytest.mark.parametrize("name", NAMES)
def test_the_shortest_roads_are_those_of_the_library(bench: Page, name: str) -> None:
    facts = facts_of(EXAMPLES / f"{name}.layout.json")
    finder = Finder(facts, 10**9)
    found = ask(bench, ROADS, work_data(facts))
    assert len(found) >= 20
    for start, end, cost in found:
        journey = finder.find(finder.standing(start), Goal(frozenset([end])))
        assert cost == (None if journey is None else list(journey.cost)), (start, end)
