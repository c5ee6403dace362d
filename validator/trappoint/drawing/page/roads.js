/* Roads: the shortest journey of one train while all others stand, and the acts that set it.

   The search is that of `operation/journey_search.py`: fewest stops on the way, then fewest places,
   then fewest signals. A node is a state, or `states + place` for a train that stands. */
"use strict";

function trappointRoads(work) {
  const { roads, routes } = work.data;
  const states = roads.place_of.length;
  const standAt = new Map(roads.stands.map(([place, own]) => [place, own]));
  const leaveFrom = new Map();
  roads.leave.forEach(([route, at, arms]) => {
    leaveFrom.set(at, [...(leaveFrom.get(at) ?? []), [route, arms]]);
  });
  const placeOf = (node) => (node >= states ? node - states : roads.place_of[node]);

  function movesFrom(node) {
    const found = [];
    if (node >= states) {
      (standAt.get(node - states) ?? []).forEach((state) => found.push(
        { do: "set-off", states: [state], route: -1, node: state, cost: [1, 0, 0] }));
      return found;
    }
    if (roads.may_stop[node]) {
      found.push({ do: "run", states: [], route: -1, node: states + roads.place_of[node], cost: [0, 0, 0] });
    }
    roads.free[node].forEach(([to]) => found.push(
      { do: "run", states: [to], route: -1, node: to, cost: [0, 1, 0] }));
    (leaveFrom.get(node) ?? []).forEach(([route]) => {
      const path = routes[route].states;
      path.forEach((passed, n) => {
        const last = n === path.length - 1;
        if (!last && !roads.may_stop[passed]) return;
        found.push({
          do: "take", states: path.slice(0, n + 1), route,
          node: last ? passed : states + roads.place_of[passed], cost: [0, n + 1, 1],
        });
      });
    });
    return found;
  }

  const blocked = (move, taken) => {
    if (move.do === "set-off") return false;
    if (move.route >= 0) return [...work.placesOf[move.route]].some((place) => taken.has(place));
    return move.states.some((state) => taken.has(roads.place_of[state]));
  };

  /* Costs are compared in order: one number is enough for any layout. */
  const worth = ([stops, places, leaves]) => (stops * 1e5 + places) * 1e5 + leaves;

  class Queue {
    constructor() { this.heap = []; this.count = 0; }
    push(cost, value) {
      const heap = this.heap;
      heap.push([cost, this.count += 1, value]);
      for (let at = heap.length - 1; at > 0;) {
        const up = (at - 1) >> 1;
        if (!Queue.before(heap[at], heap[up])) break;
        [heap[at], heap[up]] = [heap[up], heap[at]];
        at = up;
      }
    }
    pop() {
      const heap = this.heap;
      const top = heap[0];
      const last = heap.pop();
      if (heap.length) {
        heap[0] = last;
        for (let at = 0; ;) {
          const left = 2 * at + 1;
          let least = at;
          [left, left + 1].forEach((child) => {
            if (child < heap.length && Queue.before(heap[child], heap[least])) least = child;
          });
          if (least === at) break;
          [heap[at], heap[least]] = [heap[least], heap[at]];
          at = least;
        }
      }
      return top;
    }
    static before(one, other) { return one[0] < other[0] || (one[0] === other[0] && one[1] < other[1]); }
  }

  /* The shortest journey from a place to a goal {places, states}, null if there is none. */
  function find(start, goal, taken = new Set()) {
    const first = states + start;
    const best = new Map([[first, 0]]);
    const came = new Map();
    const queue = new Queue();
    queue.push(0, first);
    const arrived = -1;
    while (queue.heap.length) {
      const [cost, , node] = queue.pop();
      if (node === arrived) return journey(first, came);
      if (cost > best.get(node)) continue;
      movesFrom(node).forEach((move) => {
        if (blocked(move, taken)) return;
        const own = node === first ? [0, move.cost[1], move.cost[2]] : move.cost;
        const after = cost + worth(own);
        const last = move.states.at(-1);
        const ends = move.do !== "set-off" && move.states.length > 0
          && goal.places.has(roads.place_of[last]) && (!goal.states || goal.states.has(last));
        (ends ? [arrived, move.node] : [move.node]).forEach((reached) => {
          if (best.has(reached) && best.get(reached) <= after) return;
          best.set(reached, after);
          came.set(reached, [node, move, own]);
          queue.push(after, reached);
        });
      });
    }
    return null;
  }

  function journey(first, came) {
    const legs = [];
    const cost = [0, 0, 0];
    for (let at = -1; came.has(at);) {
      const [from, move, own] = came.get(at);
      if (move.states.length) legs.unshift(move);
      own.forEach((value, n) => { cost[n] += value; });
      at = from;
      if (at === first) break;
    }
    return { legs, cost };
  }

  /* --- the stages of a journey: what is set before the train runs, and where it then is */

  function needsOf(leg, from) {
    if (leg.route >= 0) return routes[leg.route].needs;
    const found = [];
    let at = from;
    leg.states.forEach((state) => {
      const way = roads.free[at]?.find(([to]) => to === state);
      if (way && way[1] >= 0) {
        const s = work.switches.findIndex((one) => one.place === way[1]);
        if (s >= 0) found.push([s, way[2]]);
      }
      at = state;
    });
    return found;
  }

  const armsOf = (route) => roads.leave.find(([number]) => number === route)?.[2] ?? [];

  const settingFor = (s, lie) => {
    const g = work.groupOf.get(s);
    const n = work.groups[g].switches.indexOf(s);
    return [g, work.groups[g].settings.findIndex((setting) => setting.lies[n] === lie)];
  };

  /* `atOnce`: take off arms one behind another together; if not, run from signal to signal. */
  function stages(found, atOnce = true) {
    const all = [];
    let part = null;
    let wanted = new Map();
    let at = -1;
    const begin = (turns) => { part = { turns, needs: [], arms: [], states: [], routes: [] }; wanted = new Map(); };
    begin(false);
    const whole = [];
    let onto = [];
    found.legs.forEach((leg) => {
      const joined = { ...leg, states: [...onto, ...leg.states] };
      const element = work.places[roads.place_of[leg.states.at(-1)]].kind;
      onto = ["points", "crossings", "turntables"].includes(element) ? joined.states : [];
      if (!onto.length) whole.push(joined);
    });
    whole.forEach((leg) => {
      if (leg.do === "set-off") {
        if (part.states.length) all.push(part);
        begin(all.length > 0);
      } else {
        const needs = needsOf(leg, at).map(([s, lie]) => settingFor(s, lie));
        const clash = needs.some(([g, setting]) => wanted.has(g) && wanted.get(g) !== setting);
        const places = leg.route >= 0 ? work.placesOf[leg.route] : new Set();
        const meets = part.routes.some((r) => [...work.placesOf[r]].some((place) => places.has(place)));
        if (part.states.length && (clash || meets || (!atOnce && leg.route >= 0 && part.routes.length))) {
          all.push(part);
          begin(false);
        }
        needs.forEach(([g, setting]) => wanted.set(g, setting));
        part.needs.push(...needs);
        if (leg.route >= 0) {
          part.routes.push(leg.route);
          part.arms.push(...armsOf(leg.route));
        }
        part.states.push(...leg.states);
      }
      at = leg.states.at(-1);
    });
    if (part.states.length) all.push(part);
    return all;
  }

  /* The acts of a stage in an order that the locking allows; {acts} or {why}. Nothing is moved. */
  function order(stage) {
    const acts = [];
    const seen = new Set();
    stage.needs.forEach(([g, setting]) => {
      if (!seen.has(g) && work.settingOf(g) !== setting) acts.push({ g, setting });
      seen.add(g);
    });
    [...stage.arms].reverse().forEach((a) => { if (!work.off.has(a)) acts.push({ a }); });
    const kept = work.keep();
    // Points left over from before may lock a lever: put them back too if there is no other way.
    const over = work.groups.flatMap((_, g) => (
      seen.has(g) || work.settingOf(g) === 0 ? [] : [{ g, setting: 0 }]));
    const found = inOrder(acts, new Set(), { left: 4000 })
      ?? (over.length ? inOrder([...over, ...acts], new Set(), { left: 4000 }) : null);
    const why = found ? null : firstRefusal(acts);
    work.restore(kept);
    return found ? { acts: found } : { why };
  }

  const act = (one) => (one.a === undefined ? work.setGroup(one.g, one.setting)
    : work.off.has(one.a) ? null : work.moveArm(one.a));

  function inOrder(acts, dead, effort) {
    if (!acts.length) return [];
    const key = acts.map((one) => (one.a === undefined ? `g${one.g}` : `a${one.a}`)).sort().join();
    if (dead.has(key) || effort.left <= 0) return null;
    for (let n = 0; n < acts.length; n += 1) {
      effort.left -= 1;
      const kept = work.keep();
      if (act(acts[n]) === null) {
        const rest = inOrder([...acts.slice(0, n), ...acts.slice(n + 1)], dead, effort);
        if (rest) { work.restore(kept); return [acts[n], ...rest]; }
      }
      work.restore(kept);
    }
    dead.add(key);
    return null;
  }

  /* Work as far as it goes; the first refusal is the reason. */
  function firstRefusal(acts) {
    for (const one of acts) {
      const why = act(one);
      if (why) return why;
    }
    return null;
  }

  /* Distants on the way that may come off once the arms of a stage are off. */
  function distantsOf(stage) {
    return work.arms.flatMap((arm, a) => {
      if (arm.kind !== "distant" || work.off.has(a)) return [];
      const meets = arm.above >= 0 ? stage.arms.includes(arm.above) : stage.states.slice(0, -1).includes(arm.beside);
      return meets && work.whyNot(a) === null ? [a] : [];
    });
  }

  return { find, stages, order, act, distantsOf, placeOf };
}
