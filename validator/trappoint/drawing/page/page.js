/* The diagram that works: presses on it, the levers beneath it, trains, roads, scenes and sessions.

   Nothing of a plan is ever read as markup: texts are set as text. */
"use strict";

function trappointPage(root, data) {
  const work = trappointLocking(data);
  const roads = trappointRoads(work);
  const one = (selector, within = root) => within.querySelector(selector);
  const all = (selector, within = root) => [...within.querySelectorAll(selector)];
  const SVG = "http://www.w3.org/2000/svg";
  const svg = one("svg.trappoint-diagram");
  const status = one("[data-say]");
  const HINTS = {
    work: "Press points to throw them, arms to take them off. What may come off now has a ring.",
    trains: "Press a track to set a train down there, or to take it up.",
    road: "Press where the train is, then the place to go to.",
  };
  let mode = "work";
  let from = -1;

  function make(tag, words = "", attributes = {}) {
    const made = document.createElement(tag);
    made.textContent = words;
    Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
    return made;
  }

  function shape(tag, attributes, into, before = null) {
    const made = document.createElementNS(SVG, tag);
    Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
    into.insertBefore(made, before);
    return made;
  }

  function say(text, refused = false) {
    status.textContent = text;
    status.classList.toggle("refused", refused);
  }

  const esc = (id) => CSS.escape(id);
  const partOf = (kind, id) => one(`[data-kind="${kind}"][data-id="${esc(id)}"]`, svg);
  const armPart = (a) => one(`[data-arm="${esc(work.arms[a].id)}"]`, svg);

  /* --- points: the leg that they lie for is closed, the others begin after a gap */

  const OPEN = 6;
  const pair = (text) => text.split(" ").map(Number);
  const pointsIn = (d) => d.match(/-?[\d.]+ -?[\d.]+/g).map(pair);
  const line = (points) => `M${points.map((p) => p.join(" ")).join(" L")}`;

  function along(points, far) {
    let left = far;
    for (let n = 0; n + 1 < points.length; n += 1) {
      const [[x, y], [u, v]] = [points[n], points[n + 1]];
      const step = Math.hypot(u - x, v - y);
      if (step > left) return [[x + ((u - x) * left) / step, y + ((v - y) * left) / step], n + 1];
      left -= step;
    }
    return [points.at(-1), points.length];
  }

  const blades = [];
  work.switches.forEach((own, s) => {
    const part = partOf(own.kind === "points" ? "points" : "crossing", own.id);
    if (!part) return;
    const legs = all(".leg", part);
    if (own.kind === "points") {
      const toe = legs.find((leg) => leg.dataset.leg === "toe") ?? legs[0];
      const centre = pointsIn(toe.getAttribute("d"))[0];
      legs.filter((leg) => leg !== toe).forEach((leg) => {
        const drawn = pointsIn(leg.getAttribute("d"));
        const whole = Math.hypot(drawn[0][0] - centre[0], drawn[0][1] - centre[1]) < 0.3 ? drawn : [centre, ...drawn];
        const [start, next] = along(whole, OPEN);
        const cover = shape("path", { d: line([along(whole, 1.4)[0], start]), class: "gap" }, part, legs[0]);
        blades.push({ s, lie: leg.dataset.leg, leg, cover, closed: line(whole), open: line([start, ...whole.slice(next)]) });
      });
    }
    const label = one("text.label", part);
    if (label) {
      const y = Number(label.getAttribute("y"));
      const rails = one(".leg", part)?.getBBox().y ?? 0;
      blades.push({ s, note: shape("text", {
        x: label.getAttribute("x"), y: y > rails ? y + 9 : y - 9, class: "lie",
        "text-anchor": label.getAttribute("text-anchor") ?? "middle",
      }, part) });
    }
  });

  function drawLies() {
    blades.forEach(({ s, lie, leg, cover, closed, open, note }) => {
      if (note) {
        note.textContent = work.lies[s] === work.switches[s].normal ? "" : work.lies[s];
        return;
      }
      const set = work.lies[s] === lie;
      leg.setAttribute("d", set ? closed : open);
      cover.setAttribute("visibility", set ? "hidden" : "visible");
    });
  }

  /* --- trains */

  const trainLayer = shape("g", { class: "trains" }, svg);

  function spotOf(place) {
    const own = work.places[place];
    if (own.kind !== "tracks") {
      const kind = { crossings: "crossing", turntables: "turntable" }[own.kind] ?? own.kind;
      const part = own.kind === "yards" ? one(`[data-yard="${esc(own.id)}"]`, svg) : partOf(kind, own.id);
      if (!part) return null;
      const box = part.getBBox();
      return [box.x + box.width / 2, box.y + box.height / 2];
    }
    const lines = all("path", one(`.track[data-track="${esc(own.id)}"]`, svg) ?? svg)
      .filter((each) => !each.classList.contains("running") && !each.classList.contains("hit"));
    const longest = lines.reduce((most, each) => (
      !most || each.getTotalLength() > most.getTotalLength() ? each : most), null);
    if (!longest) return null;
    const { x, y } = longest.getPointAtLength(longest.getTotalLength() * ((own.part - 0.5) / own.parts));
    return [x, y];
  }

  function drawTrains() {
    trainLayer.replaceChildren();
    work.trains.forEach((at, name) => {
      const spot = at.length ? spotOf(at[0]) : null;
      if (!spot) return;
      const short = name.replace(/^Train /, "").slice(0, 9);
      const wide = Math.max(22, short.length * 5.6 + 9);
      const train = shape("g", { class: "train" }, trainLayer);
      shape("title", {}, train).textContent = `${name} in ${work.places[at[0]].called}`;
      shape("rect", { x: spot[0] - wide / 2, y: spot[1] - 5.5, width: wide, height: 11, rx: 2 }, train);
      shape("text", { x: spot[0], y: spot[1] + 3.2, "text-anchor": "middle" }, train).textContent = short;
    });
  }

  /* --- targets: a wider area beneath each thing, which the arrow keys reach too */

  const targets = [];

  function target(part, label, press) {
    part.classList.add("target");
    part.setAttribute("role", "button");
    part.setAttribute("tabindex", "-1");
    const own = { part, label, press };
    part.addEventListener("click", (event) => { event.stopPropagation(); focusOn(own, false); press(event); });
    part.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); press(event); }
    });
    targets.push(own);
    return own;
  }

  let current = null;
  function focusOn(own, move = true) {
    current?.part.setAttribute("tabindex", "-1");
    current = own;
    own.part.setAttribute("tabindex", "0");
    if (move) own.part.focus();
  }

  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  /* The nearest thing in the way of the arrow; things straight ahead come first. */
  function step(event) {
    const way = WAYS[event.key];
    if (!way || !current || !svg.contains(document.activeElement)) return;
    event.preventDefault();
    const middle = (own) => {
      const box = own.part.getBoundingClientRect();
      return [box.x + box.width / 2, box.y + box.height / 2];
    };
    const [x, y] = middle(current);
    let best = null;
    targets.forEach((own) => {
      if (own === current || !own.part.checkVisibility()) return;
      const [u, v] = middle(own);
      const ahead = (u - x) * way[0] + (v - y) * way[1];
      const aside = Math.abs((u - x) * way[1]) + Math.abs((v - y) * way[0]);
      if (ahead < 2) return;
      const far = ahead + 2 * aside;
      if (!best || far < best[0]) best = [far, own];
    });
    if (best) focusOn(best[1]);
  }

  function hit(part, grow) {
    const box = part.getBBox();
    shape("rect", {
      x: box.x - grow, y: box.y - grow, width: box.width + 2 * grow, height: box.height + 2 * grow, class: "hit",
    }, part);
  }

  function nearestPart(event, places) {
    if (places.length < 2 || event.clientX === undefined || !event.detail) return places[0];
    const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const far = (place) => {
      const at = spotOf(place);
      return at ? Math.hypot(at[0] - spot.x, at[1] - spot.y) : Infinity;
    };
    return places.reduce((best, place) => (far(place) < far(best) ? place : best));
  }

  /* Only the arm turns, not its ring. */
  function turnArm(part, isOff) {
    all(":scope > :not(title):not(.hit)", part).forEach((own) => {
      if (isOff) own.setAttribute("transform", `rotate(${part.dataset.turn})`);
      else own.removeAttribute("transform");
    });
  }

  function setTargets() {
    work.groups.forEach((group, g) => group.switches.forEach((s) => {
      const own = work.switches[s];
      const part = partOf(own.kind === "points" ? "points" : "crossing", own.id);
      if (!part) return;
      hit(part, 4);
      target(part, () => {
        const others = group.switches.filter((t) => t !== s).map((t) => work.switches[t].id);
        const kind = own.kind === "points" ? "Points" : "Slip";
        return `${kind} ${own.called}: ${work.lies[s]}${others.length ? `, worked with ${work.list(others)}` : ""}`;
      }, () => (mode === "work" ? pressGroup(g) : say(HINTS[mode])));
    }));
    work.arms.forEach((arm, a) => {
      const part = armPart(a);
      if (!part) return;
      hit(part, 5);
      target(part, () => `Arm ${arm.called}: ${work.off.has(a) ? "off" : work.whyNot(a) === null ? "on, may come off" : "on"}`,
        () => (mode === "work" ? pressArm(a) : say(HINTS[mode])));
    });
    const own = new Map();
    work.places.forEach((place, p) => {
      if (place.kind === "tracks" || place.kind === "yards") {
        const key = `${place.kind}/${place.id}`;
        own.set(key, [...(own.get(key) ?? []), p]);
      }
    });
    own.forEach((places) => {
      const { kind, id } = work.places[places[0]];
      const part = one(kind === "tracks" ? `.track[data-track="${esc(id)}"]` : `[data-yard="${esc(id)}"]`, svg);
      if (!part) return;
      if (kind === "tracks") {
        all("path", part).filter((each) => !each.classList.contains("running")).forEach((each) => (
          shape("path", { d: each.getAttribute("d"), class: "hit" }, part)));
      }
      target(part, () => {
        const trains = places.map((p) => work.trainAt(p)).filter(Boolean);
        const { called } = work.places[places[0]];
        const named = kind === "tracks" ? `Track ${called}` : work.capital(called);
        return `${named}${trains.length ? `, ${work.list(trains)} here` : ", empty"}`;
      }, (event) => pressPlace(nearestPart(event, places)));
    });
    all('[data-kind="edge"][data-id]', svg).forEach((part) => {
      hit(part, 5);
      target(part, () => `Edge ${part.dataset.id}`, () => pressEdge(part.dataset.id));
    });
    if (targets.length) focusOn(targets[0], false);
    svg.removeAttribute("role");
    svg.setAttribute("aria-label", "Diagram");
    svg.addEventListener("keydown", step);
  }

  /* --- presses */

  function done(why, text) {
    say(why ?? text, why !== null);
    refresh();
  }

  function pressGroup(g) {
    const why = work.throwGroup(g);
    const ids = work.groups[g].switches.map((s) => `${work.switches[s].id} ${work.lies[s]}`);
    done(why, `${work.list(ids)}.`);
  }

  function pressArm(a) {
    const why = work.moveArm(a);
    done(why, `${work.arms[a].called} is ${work.off.has(a) ? "off" : "on"}.`);
  }

  function pressLever(l) {
    const why = work.moveLever(l);
    const lever = data.frame.levers[l];
    done(why, `Lever ${lever.number} is ${work.reversed.has(l) ? "reversed" : "normal"}: ${lever.plate}.`);
  }

  function pressPlace(place) {
    const called = work.places[place].called;
    if (mode === "work") {
      const train = work.trainAt(place);
      say(`${work.capital(called)}: ${train ?? "empty"}.`);
    } else if (mode === "trains") {
      const train = work.trainAt(place);
      if (train) work.trains.delete(train);
      else work.stand(chosenTrain(), place);
      done(null, train ? `${train} is taken up from ${called}.` : `${work.trainAt(place)} stands in ${called}.`);
      listTrains();
    } else if (from < 0) {
      if (!work.places[place].stand) {
        say(`No train may set off from ${called}: choose a track where trains stand.`, true);
        return;
      }
      from = place;
      mark();
      say(`From ${called}. Press the place to go to.`);
    } else if (place !== from) {
      if (!work.places[place].stand) {
        say(`No train may stand in ${called}: choose another track.`, true);
        return;
      }
      setRoad({ places: new Set([place]), called });
    } else {
      from = -1;
      mark();
      say(HINTS.road);
    }
  }

  function pressEdge(id) {
    if (mode !== "road" || from < 0) {
      say(mode === "road" ? "Begin on the track at this edge: press the track itself." : `The plan ends here: ${id}.`);
      return;
    }
    const states = data.roads.to_edge[id] ?? [];
    const places = new Set(states.map((state) => data.roads.place_of[state]));
    setRoad({ places, states: new Set(states), called: `the edge ${id}`, leaves: true });
  }

  /* --- set me a road */

  const steps = one("[data-steps]");
  let doing = null;

  function setRoad(goal) {
    const start = from;
    const train = work.trainAt(start);
    const taken = new Set([...work.trains].flatMap(([name, at]) => (name === train ? [] : at)));
    from = -1;
    const found = roads.find(start, goal, taken);
    const names = `from ${work.places[start].called} to ${goal.called}`;
    if (!found) {
      const free = roads.find(start, goal);
      const over = free ? free.legs.flatMap((leg) => (
        leg.route >= 0 ? [...work.placesOf[leg.route]] : leg.states.map((state) => data.roads.place_of[state]))) : [];
      const way = [...new Set(over.map((place) => work.trainAt(place)).filter((name) => name && name !== train))];
      say(free ? `The road ${names} is blocked: ${work.list(way)} ${way.length > 1 ? "are" : "is"} in the way.`
        : `No signals lead ${names}.`, true);
      mark();
      return;
    }
    doing = { names, stages: roads.stages(found), next: 0, train, goal, apart: roads.stages(found, false), lines: [] };
    steps.replaceChildren();
    one("[data-set-road]").hidden = false;
    stage();
    mark();
  }

  /* Set one stage: points, then arms, the farthest first; then the train may run. */
  function stage() {
    let own = doing.stages[doing.next];
    let order = roads.order(own);
    if (order.why && doing.apart.length > doing.stages.length) {
      doing.stages = doing.apart;
      own = doing.stages[doing.next];
      order = roads.order(own);
    }
    if (order.why) {
      tell(order.why);
      say(`The road ${doing.names} is blocked: ${order.why}`, true);
      endRoad();
      return;
    }
    if (own.turns) tell("The train stops, and sets off the other way.");
    order.acts.forEach((act) => {
      roads.act(act);
      tell(act.a === undefined
        ? `Set ${work.list(work.groups[act.g].switches.map((s) => `${work.switches[s].id} ${work.lies[s]}`))}${byLever(work.groups[act.g].switches.flatMap((s) => work.leversOf.get(s) ?? []))}.`
        : `Take ${work.arms[act.a].called} off${byLever([work.leverOfArm.get(act.a)])}.`);
    });
    roads.distantsOf(own).forEach((a) => {
      if (work.moveArm(a) === null) tell(`Take ${work.arms[a].called} off${byLever([work.leverOfArm.get(a)])}.`);
    });
    const to = work.places[roads.placeOf(own.states.at(-1))].called;
    const run = one("[data-run]");
    run.textContent = `Run ${doing.train ?? "the train"} to ${to}`;
    run.hidden = false;
    say(`The road ${doing.names} is set${doing.stages.length > 1 ? `, part ${doing.next + 1} of ${doing.stages.length}` : ""}. ${doing.train ? "" : "Press the button when the train has run."}`.trim());
    refresh();
  }

  function byLever(levers) {
    const known = [...new Set(levers.filter((l) => l !== undefined))];
    return known.length ? ` (lever ${work.list(known.map((l) => data.frame.levers[l].number))})` : "";
  }

  const tell = (text) => steps.append(make("li", text));

  function run() {
    const own = doing.stages[doing.next];
    const at = roads.placeOf(own.states.at(-1));
    if (doing.train) work.trains.set(doing.train, [at]);
    tell(`${doing.train ?? "The train"} runs to ${work.places[at].called}.`);
    // Distants first, then the arms as the train passes them.
    const back = [...work.off].filter((a) => work.arms[a].kind === "distant");
    back.push(...own.arms);
    back.forEach((a) => { if (work.off.has(a) && work.moveArm(a) === null) tell(`Put ${work.arms[a].called} back.`); });
    doing.next += 1;
    if (doing.next < doing.stages.length) stage();
    else {
      if (doing.goal.leaves && doing.train) work.trains.delete(doing.train);
      say(`${doing.train ?? "The train"} is ${doing.goal.leaves ? "off the plan" : `in ${doing.goal.called}`}.`);
      endRoad();
    }
    listTrains();
    refresh();
  }

  function endRoad() {
    doing = null;
    one("[data-run]").hidden = true;
    refresh();
  }

  function mark() {
    all(".from", svg).forEach((part) => part.classList.remove("from"));
    if (from >= 0) {
      const { kind, id } = work.places[from];
      one(kind === "tracks" ? `.track[data-track="${esc(id)}"]` : `[data-yard="${esc(id)}"]`, svg)?.classList.add("from");
    }
  }

  /* --- scenes, sessions and the movement by which a plan fails: frames shown one by one */

  const play = one("[data-play]");
  let frames = [];
  let at = 0;

  function setPlay() {
    const select = one("select", play);
    data.plays.forEach((each, n) => select.append(new Option(each.title, n)));
    play.hidden = !data.plays.length;
    one("[data-choose]", play).addEventListener("click", () => {
      frames = data.plays[Number(select.value)].frames;
      at = 0;
      showFrame();
    });
    one("[data-back]", play).addEventListener("click", () => { at = Math.max(0, at - 1); showFrame(); });
    one("[data-next]", play).addEventListener("click", () => { at = Math.min(frames.length - 1, at + 1); showFrame(); });
  }

  function showFrame() {
    const frame = frames[at];
    work.show(frame);
    one("[data-count]", play).textContent = frames.length > 1 ? `Step ${at + 1} of ${frames.length}` : "";
    all("[data-back], [data-next]", play).forEach((button) => { button.hidden = frames.length < 2; });
    one("[data-back]", play).disabled = at === 0;
    one("[data-next]", play).disabled = at === frames.length - 1;
    one("[data-lines]", play).replaceChildren(...frame.lines.map((text) => make("li", text)));
    say(frame.title);
    listTrains();
    refresh();
  }

  /* --- levers, lists */

  const levers = [];
  function setLevers() {
    const box = one("[data-levers]");
    if (!data.frame) return;
    one("[data-frame]").hidden = false;
    data.frame.levers.forEach((lever, l) => {
      const button = make("button", "", { type: "button", class: `lever ${lever.works} ${lever.colour}` });
      button.append(make("b", lever.number), make("span", lever.plate));
      button.addEventListener("click", () => pressLever(l));
      box.append(button);
      levers.push(button);
    });
  }

  const rows = [];
  function setLists() {
    const points = one("[data-point-list]");
    work.groups.forEach((group, g) => {
      const row = make("button", "", { type: "button" });
      row.addEventListener("click", () => pressGroup(g));
      points.append(row);
      rows.push(() => {
        row.textContent = work.list(group.switches.map((s) => `${work.switches[s].called} ${work.lies[s]}`));
      });
    });
    const arms = one("[data-arm-list]");
    work.arms.forEach((arm, a) => {
      if (arm.elsewhere) return;
      const row = make("button", arm.called, { type: "button" });
      row.addEventListener("click", () => pressArm(a));
      arms.append(row);
      rows.push(() => {
        row.setAttribute("aria-pressed", String(work.off.has(a)));
        row.textContent = `${arm.called}: ${work.off.has(a) ? "off" : work.whyNot(a) === null ? "on, may come off" : "on"}`;
      });
    });
  }

  function chosenTrain() {
    const value = one("#which-train").value;
    return value && !work.trains.has(value) ? value : work.nextTrain();
  }

  function listTrains() {
    const select = one("#which-train");
    const free = data.trains.filter((name) => !work.trains.has(name));
    select.replaceChildren(new Option("the next train", ""), ...free.map((name) => new Option(name, name)));
    if (free.length) select.value = free[0];
  }

  function refresh() {
    drawLies();
    drawTrains();
    work.arms.forEach((arm, a) => {
      const part = armPart(a);
      if (!part) return;
      const isOff = work.off.has(a);
      part.classList.toggle("off", isOff);
      turnArm(part, isOff);
      part.classList.toggle("may", !isOff && work.whyNot(a) === null);
    });
    targets.forEach((own) => own.part.setAttribute("aria-label", own.label()));
    levers.forEach((button, l) => {
      button.setAttribute("aria-pressed", String(work.reversed.has(l)));
      button.classList.toggle("kept", work.frameKeeps(l).length > 0);
    });
    rows.forEach((row) => row());
  }

  /* --- begin */

  all("[data-script]").forEach((part) => { part.hidden = false; });
  setTargets();
  setLevers();
  setLists();
  setPlay();
  listTrains();
  all("input[name=mode]").forEach((input) => input.addEventListener("change", () => {
    mode = input.value;
    from = -1;
    mark();
    one("[data-trains]").hidden = mode !== "trains";
    say(HINTS[mode]);
  }));
  one("[data-put-back]").addEventListener("click", () => {
    work.putBack();
    endRoad();
    one("[data-set-road]").hidden = true;
    say("All arms are on, all points normal.");
    refresh();
  });
  one("[data-clear]").addEventListener("click", () => {
    work.trains.clear();
    listTrains();
    say("All trains are taken up.");
    refresh();
  });
  one("[data-run]").addEventListener("click", run);
  one("[data-fit]").addEventListener("change", (event) => one("[data-drawing]").classList.toggle("fitted", event.target.checked));
  say(HINTS.work);
  refresh();
  return work;
}
