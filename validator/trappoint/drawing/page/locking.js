/* The layout as it is worked: points, arms, levers and trains, and what may be moved now.

   It knows nothing of the page. `data` is what `reporting/work_data.py` returns; switches, places,
   routes, arms and levers are named by their index there. Every act answers null if it was done, or
   a sentence that says why not. */
"use strict";

function trappointLocking(data) {
  const { switches, groups, routes, arms, heads, frame, roads, places } = data;
  const groupOf = new Map();
  groups.forEach((group, g) => group.switches.forEach((s) => groupOf.set(s, g)));
  const armNumber = new Map(arms.map((arm, a) => [arm.id, a]));
  const placeNumber = new Map(places.map((place, p) => [place.name, p]));
  const switchNumber = new Map(switches.map((one, s) => [one.id, s]));
  const placesOf = routes.map((route) => new Set(route.states.map((state) => roads.place_of[state])));
  const leverOfArm = new Map();
  const leversOf = new Map();
  const switchesOf = new Map();
  (frame?.levers ?? []).forEach((lever, l) => lever.arms.forEach((id) => leverOfArm.set(armNumber.get(id), l)));
  (frame?.lies ?? []).forEach(([s, ways]) => {
    const levers = [...new Set(ways.flatMap(([, rev, nor]) => [...rev, ...nor]))];
    leversOf.set(s, levers);
    levers.forEach((l) => switchesOf.set(l, [...(switchesOf.get(l) ?? []), s]));
  });
  const waysOf = new Map(frame?.lies ?? []);

  /* --- the state */

  const lies = switches.map((one) => one.normal);
  const off = new Set();
  const reversed = new Set();
  const trains = new Map();

  const list = (words, last = "and") => (
    words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} ${last} ${words.at(-1)}`);
  const called = (a) => arms[a].called;
  const capital = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

  const isSet = (route) => route.needs.every(([s, lie]) => lies[s] === lie);
  const setRoutes = (a) => arms[a].routes.filter((r) => isSet(routes[r]));

  function trainAt(place) {
    for (const [name, at] of trains) if (at.includes(place)) return name;
    return null;
  }

  /* --- why an arm must stay on: the points, another arm, a shunt arm on the way, a train */

  function nearestWrong(a) {
    let wrong = null;
    arms[a].routes.forEach((r) => {
      const own = routes[r].needs.filter(([s, lie]) => lies[s] !== lie);
      if (!wrong || own.length < wrong.length) wrong = own;
    });
    return wrong;
  }

  function whyWrongPoints(a) {
    const wrong = nearestWrong(a);
    if (!wrong) return `${called(a)} must stay on: it gives leave for no route.`;
    const needs = list(wrong.map(([s, lie]) => `${switches[s].id} ${lie}`));
    const found = list(wrong.map(([s]) => `${switches[s].id} is ${lies[s]}`));
    return `${called(a)} must stay on: its route needs ${needs}, and ${found}.`;
  }

  function conflictWith(a) {
    for (const [other, when] of arms[a].never) {
      if (off.has(other) && when.every(([s, lie]) => lies[s] === lie)) return other;
    }
    return -1;
  }

  function whyConflict(a, other) {
    const mine = setRoutes(a).flatMap((r) => [...placesOf[r]]);
    const theirs = new Set(setRoutes(other).flatMap((r) => [...placesOf[r]]));
    const shared = [...new Set(mine.filter((p) => theirs.has(p)))];
    const points = shared.filter((p) => places[p].kind !== "tracks");
    const names = (points.length ? points : shared).slice(0, 3).map((p) => places[p].called);
    const over = names.length ? `, and both lead over ${list(names)}` : ", and the two face each other";
    return `${called(a)} must stay on: ${called(other)} is off${over}.`;
  }

  /* `gone`: arms that count as on already. */
  const NONE = new Set();
  const pastClear = (past, gone) => past.some(
    ([arm, along]) => !gone.has(arm) && off.has(arm) && isSet(routes[along]));

  function shuntOn(a, gone = NONE) {
    for (const r of setRoutes(a)) {
      for (const past of routes[r].past) if (!pastClear(past, gone)) return past;
    }
    return null;
  }

  function whyDistant(a, gone = NONE) {
    const distant = arms[a];
    const isOff = (other) => !gone.has(other) && off.has(other);
    const ends = (other) => setRoutes(other).map((r) => routes[r].faces).filter((h) => h >= 0);
    if (distant.above >= 0 && !isOff(distant.above)) return `${called(distant.above)} above it is on`;
    const first = distant.above >= 0 ? ends(distant.above) : distant.first;
    if (!first.length) return "no stop signal that it repeats is ahead on the road that is set";
    for (const head of first) {
      let ahead = heads[head].stop.filter((b) => distant.repeats.includes(b));
      if (!ahead.length) return `it does not repeat signal ${heads[head].signal}`;
      const done = new Set();
      while (ahead.length) {
        const clear = ahead.find(isOff);
        if (clear === undefined) {
          return `${list(ahead.map(called))} ahead of it ${ahead.length > 1 ? "are" : "is"} on`;
        }
        done.add(clear);
        ahead = ends(clear).flatMap((h) => heads[h].stop)
          .filter((b) => distant.repeats.includes(b) && !done.has(b));
      }
    }
    return null;
  }

  function whyOccupied(a) {
    if (arms[a].kind === "calling-on") return null;
    for (const r of setRoutes(a)) {
      for (const place of placesOf[r]) {
        const train = trainAt(place);
        if (train !== null) return `${called(a)} must stay on: ${train} stands in ${places[place].called}.`;
      }
    }
    return null;
  }

  /* The locking alone: points and arms. */
  function lockedOn(a) {
    if (arms[a].kind === "distant") {
      const why = whyDistant(a);
      return why ? `${called(a)} must stay on: ${why}.` : null;
    }
    if (!setRoutes(a).length) return whyWrongPoints(a);
    const other = conflictWith(a);
    if (other >= 0) return whyConflict(a, other);
    const past = shuntOn(a);
    if (past) {
      const names = [...new Set(past.map(([arm]) => called(arm)))];
      return `${called(a)} must stay on: its road passes ${list(names, "or")}, which is on.`;
    }
    return null;
  }

  function whyOn(a) { return lockedOn(a) ?? whyOccupied(a); }

  /* Why arms that are off must stay off: another one that is off depends on one of them. */
  function whyOff(...going) {
    const gone = new Set(going);
    for (const other of off) {
      if (gone.has(other)) continue;
      const keeps = arms[other].kind === "distant" ? whyDistant(other, gone) : shuntOn(other, gone);
      if (keeps) return `Put ${called(other)} back first: it may be off only while ${list(going.map(called))} is.`;
    }
    return null;
  }

  /* Why points must stay as they are: an arm that is off, or a train on them. */
  function whyThrow(changes) {
    for (const [s] of changes) {
      const train = switches[s].place < 0 ? null : trainAt(switches[s].place);
      if (train !== null) return `${capital(switches[s].called)} must stay ${lies[s]}: ${train} stands there.`;
    }
    const after = new Map(changes);
    const then = (route) => route.needs.every(([s, lie]) => (after.get(s) ?? lies[s]) === lie);
    for (const a of off) {
      const moved = arms[a].routes.find((r) => isSet(routes[r]) !== then(routes[r]));
      if (moved !== undefined) {
        const held = changes.find(([s]) => routes[moved].needs.some(([t]) => t === s)) ?? changes[0];
        return `${capital(switches[held[0]].called)} must stay ${lies[held[0]]}: ${called(a)} is off, and its route leads over it.`;
      }
    }
    return null;
  }

  /* --- points and arms worked without levers */

  const changesOf = (g, setting) => groups[g].switches
    .map((s, n) => [s, groups[g].settings[setting].lies[n]]).filter(([s, lie]) => lies[s] !== lie);
  const settingOf = (g) => groups[g].settings.findIndex(
    (setting) => groups[g].switches.every((s, n) => lies[s] === setting.lies[n]));
  const inFrame = (g) => groups[g].switches.some((s) => leversOf.has(s));

  function throwByHand(g, setting) {
    const changes = changesOf(g, setting);
    const why = whyThrow(changes);
    if (!why) changes.forEach(([s, lie]) => { lies[s] = lie; });
    return why;
  }

  function moveByHand(a) {
    const why = off.has(a) ? whyOff(a) : whyOn(a);
    if (!why) off[off.has(a) ? "delete" : "add"](a);
    return why;
  }

  /* --- the frame */

  const met = (state) => ([lever, wanted]) => state.has(lever) === wanted;

  function brokenBy(entry, state) {
    if (!state.has(entry.lever) || entry.relation === "locks both ways") return false;
    if (!entry.when.every(met(state))) return false;
    if (entry.relation === "locks") return entry.others.some(([lever]) => state.has(lever));
    return !entry.others.some(met(state));
  }

  function holds(entry, state, lever) {
    if (!state.has(entry.lever)) return false;
    const names = (terms) => terms.some(([other]) => other === lever);
    if (entry.relation === "locks both ways") return entry.when.every(met(state)) && names(entry.others);
    return entry.relation === "released by" && entry.when.length > 0
      && (names(entry.others) || names(entry.when));
  }

  const number = (l) => frame.levers[l].number;

  function frameKeeps(l, state = reversed) {
    const after = new Set(state);
    after[after.has(l) ? "delete" : "add"](l);
    return frame.entries.filter((entry) => holds(entry, state, l) || brokenBy(entry, after));
  }

  function whyLever(l) {
    const keeps = frameKeeps(l);
    if (!keeps.length) return null;
    const causes = keeps.slice(0, 3).map((entry) => {
      const others = [...new Set([entry.lever, ...entry.others.map(([o]) => o), ...entry.when.map(([o]) => o)])]
        .filter((other) => other !== l);
      const now = others.map((o) => `${number(o)} is ${reversed.has(o) ? "reversed" : "normal"}`);
      return now.length ? `${entry.text} (${now.join(", ")})` : entry.text;
    });
    return `Lever ${number(l)} is ${reversed.has(l) ? "back-locked" : "locked"}: ${causes.join("; ")}.`;
  }

  function liesAfter(state) {
    const changes = [];
    waysOf.forEach((ways, s) => {
      const way = ways.find(([, rev, nor]) => rev.every((l) => state.has(l)) && !nor.some((l) => state.has(l)));
      if (way && lies[s] !== way[0]) changes.push([s, way[0]]);
    });
    return changes;
  }

  /* Pull a lever or put it back: points first, then the arms whose road is set. */
  function moveLever(l) {
    const locked = whyLever(l);
    if (locked) return locked;
    const own = frame.levers[l].arms.map((id) => armNumber.get(id)).filter((a) => a !== undefined);
    const back = reversed.has(l);
    const going = back ? own.filter((a) => off.has(a)) : [];
    const needed = going.length ? whyOff(...going) : null;
    if (needed) return needed;
    const after = new Set(reversed);
    after[back ? "delete" : "add"](l);
    const changes = liesAfter(after).filter(([s]) => (leversOf.get(s) ?? []).includes(l));
    const why = changes.length ? whyThrow(changes) : null;
    if (why) return why;
    const before = changes.map(([s]) => [s, lies[s]]);
    changes.forEach(([s, lie]) => { lies[s] = lie; });
    const keeps = back ? null : takeOff(own);
    if (keeps) {
      before.forEach(([s, lie]) => { lies[s] = lie; });
      return keeps;
    }
    reversed[back ? "delete" : "add"](l);
    going.forEach((a) => off.delete(a));
    return null;
  }

  /* Take off the arms of a lever whose road is set, distants last: all of them or none. */
  function takeOff(own) {
    const coming = own.filter((a) => arms[a].kind !== "distant" && setRoutes(a).length);
    coming.push(...own.filter((a) => arms[a].kind === "distant"));
    if (own.length && !coming.length) return whyWrongPoints(own[0]);
    const taken = [];
    for (const a of coming) {
      const why = whyOn(a);
      if (why) {
        taken.forEach((other) => off.delete(other));
        return why;
      }
      off.add(a);
      taken.push(a);
    }
    return null;
  }

  /* --- acts of the page */

  /* The levers to move, one after another, for points to lie as in a setting. */
  function leversFor(g, setting) {
    const wanted = new Map(groups[g].switches.map((s, n) => [s, groups[g].settings[setting].lies[n]]));
    const back = new Set();
    const pull = new Set();
    wanted.forEach((lie, s) => {
      const way = (waysOf.get(s) ?? []).find(([each]) => each === lie);
      if (!way) return;
      way[1].forEach((l) => { if (!reversed.has(l)) pull.add(l); });
      way[2].forEach((l) => { if (reversed.has(l)) back.add(l); });
    });
    return [...back, ...pull];
  }

  /* Set points by hand, or by their levers in any order that the locking allows: all or none. */
  function setGroup(g, setting) {
    if (!inFrame(g)) return throwByHand(g, setting);
    if (settingOf(g) === setting) return null;
    const kept = keep();
    let refusal = null;
    const moved = (left) => !left.length || left.some((l) => {
      const before = keep();
      const why = moveLever(l);
      if (why === null && moved(left.filter((other) => other !== l))) return true;
      refusal ??= why;
      restore(before);
      return false;
    });
    if (moved(leversFor(g, setting)) && settingOf(g) === setting) return null;
    restore(kept);
    return refusal ?? `No lever sets ${list(groups[g].switches.map((s) => switches[s].called))} ${groups[g].settings[setting].word}.`;
  }

  function throwGroup(g) { return setGroup(g, (settingOf(g) + 1) % groups[g].settings.length); }

  function moveArm(a) {
    const lever = leverOfArm.get(a);
    if (lever === undefined) return moveByHand(a);
    if (reversed.has(lever) && !off.has(a)) {
      return `${called(a)} stays on: lever ${number(lever)} works another arm as the points lie.`;
    }
    if (!off.has(a) && arms[a].kind !== "distant" && !setRoutes(a).length) return whyWrongPoints(a);
    return moveLever(lever);
  }

  /* Why an arm may not be moved now; null if it may. Nothing is moved. */
  function whyNot(a) {
    const kept = keep();
    const why = moveArm(a);
    restore(kept);
    return why;
  }

  function putBack() {
    off.clear();
    reversed.clear();
    groups.forEach((group) => group.switches.forEach((s) => { lies[s] = switches[s].normal; }));
  }

  /* Show a state as it is given: a scene, a step of a movement. Nothing is refused. */
  function show(state) {
    off.clear();
    reversed.clear();
    switches.forEach((one, s) => { lies[s] = one.normal; });
    Object.entries(state.points ?? {}).forEach(([id, word]) => {
      const s = switchNumber.get(id);
      if (s !== undefined) lay(s, word);
    });
    (state.off ?? []).forEach((id) => { if (armNumber.has(id)) off.add(armNumber.get(id)); });
    waysOf.forEach((ways, s) => {
      const way = ways.find(([lie]) => lie === lies[s]);
      (way?.[1] ?? []).forEach((l) => reversed.add(l));
    });
    off.forEach((a) => { if (leverOfArm.has(a)) reversed.add(leverOfArm.get(a)); });
    if (state.trains) {
      trains.clear();
      state.trains.forEach(([at, name]) => stand(name || nextTrain(), at));
    }
  }

  function lay(s, word) {
    const g = groupOf.get(s);
    const n = groups[g].switches.indexOf(s);
    const setting = groups[g].settings.find((each) => each.word === word || each.lies[n] === word);
    if (setting) groups[g].switches.forEach((t, m) => { lies[t] = setting.lies[m]; });
  }

  /* The points, arms and levers as they are, to be restored later. */
  function keep() { return { lies: [...lies], off: [...off], reversed: [...reversed] }; }

  function restore(kept) {
    kept.lies.forEach((lie, s) => { lies[s] = lie; });
    off.clear();
    kept.off.forEach((a) => off.add(a));
    reversed.clear();
    kept.reversed.forEach((l) => reversed.add(l));
  }

  /* --- trains */

  const partsOf = (name) => (placeNumber.has(name) ? [placeNumber.get(name)]
    : places.flatMap((place, p) => (place.id === name && place.kind !== "points" ? [p] : [])));

  function nextTrain() {
    for (let n = 0; ; n += 1) {
      const name = `Train ${String.fromCharCode(65 + (n % 26))}${n < 26 ? "" : Math.floor(n / 26)}`;
      if (!trains.has(name)) return name;
    }
  }

  function stand(name, at) {
    const found = typeof at === "number" ? [at] : partsOf(at);
    if (!found.length) return false;
    trains.set(name, found);
    return true;
  }

  return {
    data, lies, off, reversed, trains, places, arms, groups, switches, routes,
    groupOf, leverOfArm, leversOf, placesOf, settingOf, whyNot, lockedOn, frameKeeps,
    throwGroup, setGroup, moveArm, moveLever, putBack, keep, restore, show, stand, nextTrain, trainAt,
    list, capital,
  };
}
