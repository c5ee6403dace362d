/* The diagram that works: presses on it, the levers beneath it, trains, roads, scenes and sessions.

   `root` is the element of the diagram: nothing outside it is read or changed. It gets an event
   `worked` after each change, and `arm-shown` with the id of the arm whose road is marked, or "".
   `signal`, if given, ends everything that listens outside of `root`.
   Nothing of a plan is ever read as markup: texts are set as text. */
"use strict";

function trappointPage(root, data, signal = undefined) {
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
    arm: "Press an arm to see its road, and the arms that must stay on.",
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

  /* The longest line that is drawn for a track; null for any other place. */
  function longestLine(place) {
    const part = one(`.track[data-track="${esc(work.places[place].id)}"]`, svg);
    if (work.places[place].kind !== "tracks" || !part) return null;
    return all("path", part)
      .filter((each) => !each.classList.contains("running") && !each.classList.contains("hit"))
      .reduce((most, each) => (
        !most || each.getTotalLength() > most.getTotalLength() ? each : most), null);
  }

  function spotOf(place) {
    const own = work.places[place];
    if (own.kind !== "tracks") {
      const kind = { crossings: "crossing", turntables: "turntable" }[own.kind] ?? own.kind;
      const part = own.kind === "yards" ? one(`[data-yard="${esc(own.id)}"]`, svg) : partOf(kind, own.id);
      if (!part) return null;
      const box = part.getBBox();
      return [box.x + box.width / 2, box.y + box.height / 2];
    }
    const longest = longestLine(place);
    if (!longest) return null;
    const { x, y } = longest.getPointAtLength(longest.getTotalLength() * ((own.part - 0.5) / own.parts));
    return [x, y];
  }

  /* As much of a train's name as its track has room for. */
  function shortName(name, place) {
    const short = name.replace(/^Train /, "").replace(/ \([^()]*\)$/, "");
    const line = longestLine(place);
    const room = line ? (line.getTotalLength() * 0.8) / work.places[place].parts : 0;
    const most = Math.max(9, Math.floor((room - 9) / 5.6));
    return short.length > most ? `${short.slice(0, most - 1).trim()}\u2026` : short;
  }

  /* Draw the trains; return the parts of those that have moved. */
  function drawTrains() {
    const before = new Set(all("title", trainLayer).map((title) => title.textContent));
    trainLayer.replaceChildren();
    work.trains.forEach((at, name) => {
      const spot = at.length ? spotOf(at[0]) : null;
      if (!spot) return;
      const train = shape("g", { class: "train" }, trainLayer);
      shape("title", {}, train).textContent = `${name} in ${work.places[at[0]].called}`;
      const box = shape("rect", { y: spot[1] - 5.5, height: 11, rx: 2 }, train);
      const text = shape("text", { x: spot[0], y: spot[1] + 3.2, "text-anchor": "middle" }, train);
      text.textContent = shortName(name, at[0]);
      const wide = Math.max(22, text.getComputedTextLength() + 9);
      box.setAttribute("x", spot[0] - wide / 2);
      box.setAttribute("width", wide);
    });
    return all(".train", trainLayer).filter((train) => !before.has(one("title", train).textContent));
  }

  /* --- targets: a wider area beneath each thing, which the arrow keys reach too */

  const isWorked = ({ kind }) => kind === "arm" || kind === "points";
  const targets = trappointTargets(svg, (own) => isWorked(own) === !["trains", "road"].includes(mode));

  /* The area of a thing: its ring, and the mark of the keys. */
  function hit(part, grow) {
    const box = part.getBBox();
    shape("rect", {
      x: box.x - grow, y: box.y - grow, width: box.width + 2 * grow, height: box.height + 2 * grow,
      rx: 3, class: "hit",
    }, part);
  }

  /* Where points are pressed: at the middle of their legs, or on their name. */
  function spotsOf(part) {
    const toe = one('.leg[data-leg="toe"]', part);
    const legs = toe ? [toe] : all(".leg", part);
    const [x, y] = toe ? pointsIn(toe.getAttribute("d"))[0] : middleOf(legs);
    const label = one("text.label", part);
    return [[x - 6, y - 6, x + 6, y + 6], ...(label ? [targets.box(label.getBBox())] : [])];
  }

  function middleOf(parts) {
    const boxes = parts.map((part) => targets.box(part.getBBox()));
    const side = (n, of) => of(...boxes.map((box) => box[n]));
    return [(side(0, Math.min) + side(2, Math.max)) / 2, (side(1, Math.min) + side(3, Math.max)) / 2];
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
    all(":scope > :not(title):not(.hit):not(.cross)", part).forEach((own) => {
      if (isOff) own.setAttribute("transform", `rotate(${part.dataset.turn})`);
      else own.removeAttribute("transform");
    });
  }

  function setTargets() {
    work.groups.forEach((group, g) => group.switches.forEach((s) => {
      const own = work.switches[s];
      const part = partOf(own.kind === "points" ? "points" : "crossing", own.id);
      if (!part) return;
      const spots = spotsOf(part);
      hit(part, 4);
      targets.add(part, "points", () => {
        const others = group.switches.filter((t) => t !== s).map((t) => work.switches[t].id);
        const kind = own.kind === "points" ? "Points" : "Slip";
        return `${kind} ${own.called}: ${work.lies[s]}${others.length ? `, worked with ${work.list(others)}` : ""}`;
      }, () => (mode === "work" ? pressGroup(g) : say(HINTS[mode])), spots);
    }));
    work.arms.forEach((arm, a) => {
      const part = armPart(a);
      if (!part) return;
      const name = part.nextElementSibling?.matches("text.label") ? [part.nextElementSibling] : [];
      const spots = [part, ...name].map((each) => targets.box(each.getBBox()));
      hit(part, 5);
      targets.add(part, "arm", () => `Arm ${arm.called}: ${work.off.has(a) ? "off" : work.whyNot(a) === null ? "on, may come off" : "on"}`,
        () => ({ work: pressArm, arm: pressForRoad }[mode] ?? (() => say(HINTS[mode])))(a), spots);
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
      const lines = kind === "tracks" ? all("path", part).filter((each) => !each.classList.contains("running")) : [];
      const spots = lines.length ? lines.flatMap(targets.along) : [targets.box(part.getBBox())];
      lines.forEach((each) => shape("path", { d: each.getAttribute("d"), class: "hit" }, part));
      targets.add(part, "place", () => {
        const trains = places.map((p) => work.trainAt(p)).filter(Boolean);
        const { called } = work.places[places[0]];
        const named = kind === "tracks" ? `Track ${called}` : work.capital(called);
        return `${named}${trains.length ? `, ${work.list(trains)} here` : ", empty"}`;
      }, (event) => pressPlace(nearestPart(event, places)), spots);
    });
    all('[data-kind="edge"][data-id]', svg).forEach((part) => {
      const spots = [targets.box(part.getBBox())];
      hit(part, 5);
      targets.add(part, "edge", () => `Edge ${part.dataset.id}`, () => pressEdge(part.dataset.id), spots);
    });
    if (targets.all.length) targets.focus(targets.all[0], false);
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
    } else if (mode === "arm") {
      say(HINTS.arm);
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

  /* --- the road of an arm: its tracks and points, and the arms that must stay on while it is off.
     The drawing has them at each arm, as words: ids, and ids with a lie (`p1:left`). */

  const armRoad = one("[data-arm-road]");
  const whichArm = one("[data-which-arm]");
  let shown = -1;

  const pressForRoad = (a) => showRoadOf(a === shown ? -1 : a);
  const wordsOf = (text) => (text ? text.split(" ") : []);
  const inWords = (pairs) => pairs.map(([id, lie]) => `${id} ${lie}`).join(", ") || "none";

  function showRoadOf(a) {
    const before = shown;
    shown = a;
    all(".lit, .needed, .chosen, .excluded", svg).forEach((part) => (
      part.classList.remove("lit", "needed", "chosen", "excluded")));
    all(".cross, .lie-needed", svg).forEach((part) => part.remove());
    svg.classList.toggle("shows-road", a >= 0);
    armRoad.hidden = true;
    whichArm.value = a < 0 ? "" : work.arms[a].id;
    if (a >= 0) {
      chooseMode("arm");
      markRoadOf(a);
    } else if (before >= 0) say(HINTS[mode]);
    if (a !== before) tellPage("arm-shown", whichArm.value);
  }

  function markRoadOf(a) {
    const { id, called } = work.arms[a];
    const part = armPart(a);
    if (!part) {
      say(`${work.capital(called)} is not on this diagram.`);
      return;
    }
    const { points, excludes, sometimesExcludes } = part.dataset;
    const lies = new Map();
    wordsOf(points).map((word) => word.split(":")).forEach(([name, lie]) => (
      lies.set(name, [...new Set([...(lies.get(name) ?? []), lie])])));
    lies.forEach((needed, name) => (
      ["points", "crossing"].forEach((kind) => showNeeded(partOf(kind, name), needed))));
    part.classList.add("chosen");
    all(`[data-road-of~="${esc(id)}"]`, svg).forEach((own) => own.classList.add("lit"));
    wordsOf(excludes).forEach((other) => crossOut(other, "cross"));
    wordsOf(sometimesExcludes).forEach((other) => crossOut(other, "cross sometimes"));
    bringRoadIntoView();
    // The tooltip of the arm has its meaning after its name and kind.
    say(`${work.capital(called)}: ${one("title", part).textContent.replace(/^.*?\)\. /, "")}`);
    tellRoadOf(a, wordsOf(excludes), wordsOf(sometimesExcludes));
  }

  function tellRoadOf(a, never, some) {
    const own = work.arms[a].routes.map((r) => work.routes[r]);
    const lines = own.map((route) => {
      const needs = inWords(route.needs.map(([s, lie]) => [work.switches[s].id, lie]));
      const end = work.places[roads.placeOf(route.states.at(-1))].called;
      return own.length > 1 ? `To ${end}: points ${needs}.` : `Points: ${needs}.`;
    });
    lines.push(`Never off with it: ${never.join(", ") || "none"}.`);
    if (some.length) lines.push(`Sometimes not off with it, as the points lie: ${some.join(", ")}.`);
    armRoad.replaceChildren(...lines.map((text) => make("p", text)));
    armRoad.hidden = false;
  }

  function showNeeded(part, lies) {
    if (!part) return;
    all(".leg", part).forEach((leg) => (
      leg.classList.toggle("needed", lies.includes(leg.dataset.leg) || leg.dataset.leg === "toe")));
    const label = one("text.label", part);
    if (!label) return;
    const y = Number(label.getAttribute("y"));
    const rails = one(".leg", part)?.getBBox().y ?? 0;
    shape("text", {
      x: label.getAttribute("x"), y: y > rails ? y + 9 : y - 9, class: "lie-needed",
      "text-anchor": label.getAttribute("text-anchor") ?? "middle",
    }, part).textContent = lies.join("/");
  }

  /* Cross out an arm that must not be off together with the chosen one. */
  function crossOut(id, kind) {
    const part = one(`[data-arm="${esc(id)}"]`, svg);
    const arm = part && one("path, circle, rect, polygon", part);
    if (!arm) return;
    const box = arm.getBBox();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    shape("path", { d: `M${x - 6} ${y - 6} L${x + 6} ${y + 6} M${x + 6} ${y - 6} L${x - 6} ${y + 6}`, class: kind }, part);
    part.classList.add("excluded");
  }

  /* If the diagram is wider than its frame, scroll to the road. */
  function bringRoadIntoView() {
    const drawing = one("[data-drawing]");
    const lit = all(".lit", svg).map((part) => part.getBoundingClientRect());
    if (!lit.length || drawing.scrollWidth <= drawing.clientWidth) return;
    const frame = drawing.getBoundingClientRect();
    const left = Math.min(...lit.map((box) => box.left));
    const right = Math.max(...lit.map((box) => box.right));
    if (left >= frame.left && right <= frame.right) return;
    drawing.scrollLeft += Math.min(left - frame.left - 20, (left + right) / 2 - frame.left - frame.width / 2);
  }

  function setArms() {
    whichArm.append(new Option("none", ""));
    work.arms.forEach((arm, a) => { if (armPart(a)) whichArm.append(new Option(arm.called, arm.id)); });
    whichArm.addEventListener("change", () => (
      showRoadOf(work.arms.findIndex((arm) => arm.id === whichArm.value))));
    document.addEventListener("keydown", (event) => { if (event.key === "Escape" && shown >= 0) showRoadOf(-1); }, { signal });
  }

  /* --- scenes, sessions and the movement by which a plan fails: frames shown one by one */

  const play = one("[data-play]");
  let frames = [];
  let at = 0;

  function setPlay() {
    const select = one("select", play);
    data.plays.forEach((each, n) => select.append(new Option(each.title, n)));
    play.hidden = !data.plays.length;
    one("[data-choose]", play).addEventListener("click", () => playFrames(Number(select.value)));
    one("[data-back]").addEventListener("click", () => { at = Math.max(0, at - 1); showFrame(); });
    one("[data-next]").addEventListener("click", () => { at = Math.min(frames.length - 1, at + 1); showFrame(); });
  }

  /* Show the frames of a play from the first; a number below zero counts from the last play. */
  function playFrames(number) {
    const n = number < 0 ? data.plays.length + number : number;
    one("select", play).value = n;
    frames = data.plays[n].frames;
    at = 0;
    showFrame();
    one("[data-drawing]").scrollIntoView({ block: "nearest" });
  }

  function showFrame() {
    const frame = frames[at];
    work.show(frame);
    one("[data-count]").textContent = frames.length > 1 ? `Step ${at + 1} of ${frames.length}` : "";
    all("[data-back], [data-next]").forEach((button) => { button.hidden = frames.length < 2; });
    one("[data-back]").disabled = at === 0;
    one("[data-next]").disabled = at === frames.length - 1;
    one("[data-lines]", play).replaceChildren(...frame.lines.map((text) => make("li", text)));
    say(frame.title);
    listTrains();
    refresh();
  }

  /* --- the size of the drawing, and the controls that a hand needs while it works */

  function setSize() {
    svg.style.setProperty("--wide", `${svg.getAttribute("width")}px`);
    one("[data-drawing]").classList.add("scaled");
  }

  /* Scroll the drawing to a part, if it is not in view. */
  function bringIntoView(part) {
    const drawing = one("[data-drawing]");
    const [frame, box] = [drawing, part].map((each) => each.getBoundingClientRect());
    if (box.left < frame.left || box.right > frame.right) {
      drawing.scrollLeft += box.left + box.width / 2 - frame.left - frame.width / 2;
    }
    if (box.top < frame.top || box.bottom > frame.bottom) {
      drawing.scrollTop += box.top + box.height / 2 - frame.top - frame.height / 2;
    }
  }

  /* A high drawing begins to scroll at the thing that is farthest left. */
  function showLeftEnd() {
    const drawing = one("[data-drawing]");
    const [, y] = targets.all.flatMap((own) => own.spots).reduce(
      (most, spot) => (spot[0] < most[0] ? spot : most), [Infinity, 0]);
    const { a, f } = svg.getScreenCTM();
    drawing.scrollTop += y * a + f - drawing.getBoundingClientRect().top - drawing.clientHeight / 2;
  }

  /* On paper a long drawing is cut into strips, each as high as what is drawn there, and a high one
     between its rows, into parts that fit on a page. */
  const STRIP = 1100;
  const OVERLAP = 40;
  const BESIDE = 150; // what a strip that is narrower than the paper shows beside it
  const HIGH = 1.25; // the greatest height of a part beside its width
  const BETWEEN = 8; // the least height between two rows

  function cutOut(left, top, wide, high) {
    const made = svg.cloneNode(true);
    const shown = { viewBox: `${left} ${top} ${wide} ${high}`, width: wide, height: high };
    Object.entries(shown).forEach(([key, value]) => made.setAttribute(key, value));
    return made;
  }

  function strip(left, wide, boxes) {
    const own = boxes.filter((box) => box[0] < left + wide + BESIDE && box[2] > left - BESIDE);
    const top = Math.min(...own.map((box) => box[1])) - 8;
    const bottom = Math.max(...own.map((box) => box[3])) + 8;
    return cutOut(left, top, wide, bottom - top);
  }

  /* The top and the bottom of groups of rows, each as high as a page allows. */
  function rowsOf(boxes, most) {
    const rows = [];
    [...boxes].sort((a, b) => a[1] - b[1]).forEach(([, top, , bottom]) => {
      const last = rows.at(-1);
      if (last && top <= last[1] + BETWEEN) last[1] = Math.max(last[1], bottom);
      else rows.push([top, bottom]);
    });
    return rows.reduce((groups, [top, bottom]) => {
      const last = groups.at(-1);
      if (last && bottom - last[0] <= most) last[1] = bottom;
      else groups.push([top, bottom]);
      return groups;
    }, []);
  }

  function cutForPaper() {
    const { x, width, height } = svg.viewBox.baseVal;
    const count = Math.ceil(width / STRIP);
    if (count < 2 && height <= width * HIGH) return;
    const boxes = all("path:not(.hit), text:not(.caution), circle", svg).flatMap((part) => (
      part.localName === "path" ? targets.along(part) : [targets.box(part.getBBox())]));
    const strips = make("div", "", { class: "strips" });
    if (count < 2) {
      rowsOf(boxes, width * HIGH).forEach(([top, bottom]) => strips.append(cutOut(x, top - 8, width, bottom - top + 16)));
    }
    for (let n = 0; count > 1 && n < count; n += 1) {
      strips.append(strip(x + (n * width) / count, width / count + OVERLAP, boxes));
    }
    one("[data-drawing]").after(strips);
  }

  function setPrint() {
    addEventListener("beforeprint", cutForPaper, { signal });
    addEventListener("afterprint", () => one(".strips")?.remove(), { signal });
  }

  function setHand() {
    const hand = make("div", "", { class: "hand", role: "group", "aria-label": "Working the diagram" });
    const drawing = one("[data-drawing]");
    const narrow = matchMedia("(max-width: 40rem)");
    const place = () => (narrow.matches ? drawing.parentElement.append(hand) : drawing.before(hand));
    const next = make("div", "", { class: "bar" });
    next.append(one("[data-run]"), one("[data-back]"), one("[data-next]"), one("[data-count]"));
    hand.append(status, ...all(":scope > .bar", drawing.parentElement), next);
    place();
    narrow.addEventListener("change", place, { signal });
    const keys = make("p", "With the keyboard: press Tab to reach the diagram, the arrow keys to move on it, Enter or Space to press.",
      { class: "keys", id: "diagram-keys" });
    drawing.after(keys);
    one("desc", svg).id = "diagram-text";
    svg.setAttribute("role", "group");
    svg.setAttribute("aria-label", "Diagram");
    svg.setAttribute("aria-describedby", "diagram-text diagram-keys");
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

  /* The tracks and yards as a list, with the whole names of trains. */
  function setTracks() {
    const arms = one("[data-arm-list]");
    const heading = arms.previousElementSibling.cloneNode();
    heading.textContent = "Tracks and trains";
    const box = make("div", "", { class: "lists", "data-track-list": "" });
    arms.after(heading, box);
    work.places.forEach((place, p) => {
      if (place.kind !== "tracks" && place.kind !== "yards") return;
      const row = make("button", "", { type: "button" });
      row.addEventListener("click", () => pressPlace(p));
      box.append(row);
      rows.push(() => { row.textContent = `${place.called}: ${work.trainAt(p) ?? "empty"}`; });
    });
  }

  const rows = [];
  const list = one("[data-list]");

  /* A row is a button: the state of a thing, and a reason why it stays so. */
  function addRow(into, press, state) {
    const row = make("button", "", { type: "button" });
    row.addEventListener("click", press);
    into.append(row);
    rows.push(() => {
      const [text, why, pressed] = state();
      row.replaceChildren(text, ...(why ? [make("span", why, { class: "why" })] : []));
      if (pressed !== undefined) row.setAttribute("aria-pressed", String(pressed));
    });
  }

  function setLists() {
    work.groups.forEach((group, g) => addRow(one("[data-point-list]"), () => pressGroup(g), () => [
      work.list(group.switches.map((s) => `${work.switches[s].called} ${work.lies[s]}`)), whyNotThrown(g)]));
    work.arms.forEach((arm, a) => {
      if (!arm.elsewhere) addRow(one("[data-arm-list]"), () => pressArm(a), () => stateOf(a));
    });
    list.addEventListener("toggle", refresh);
  }

  /* Throw points and put them back as they were: the answer is why they must stay. */
  function whyNotThrown(g) {
    const kept = work.keep();
    const why = work.throwGroup(g);
    work.restore(kept);
    return why;
  }

  function stateOf(a) {
    const { called } = work.arms[a];
    const isOff = work.off.has(a);
    const why = isOff ? work.lockedOn(a) : work.whyNot(a);
    const reason = why && work.capital(why.replace(`${called} must stay on: `, ""));
    if (isOff) return [`${called}: off${why ? ", but must be on" : ""}`, reason, true];
    return [`${called}: ${why ? "on, must stay on" : "on, may come off"}`, reason, false];
  }

  /* Points, arms and trains as they are, as an entry of `scenes` in the plan. */
  const asScene = one("[data-as-scene]");

  function writeScene() {
    const points = {};
    work.switches.forEach((own, s) => { if (work.lies[s] !== own.normal) points[own.id] = work.lies[s]; });
    const trains = {};
    work.trains.forEach(([place], name) => {
      const known = data.trains.indexOf(name);
      trains[work.places[place].id] = known < 0 ? true : data.train_ids[known];
    });
    const scene = Object.entries({ points, off: [...work.off].map((a) => work.arms[a].id), trains })
      .filter(([, own]) => Object.keys(own).length);
    one("textarea", asScene).value = JSON.stringify({ scenes: { "new-scene": Object.fromEntries(scene) } }, null, 2);
  }

  function chosenTrain() {
    const { value } = one("[data-which-train]");
    return value && !work.trains.has(value) ? value : work.nextTrain();
  }

  function listTrains() {
    const select = one("[data-which-train]");
    const free = data.trains.filter((name) => !work.trains.has(name));
    select.replaceChildren(new Option("the next train", ""), ...free.map((name) => new Option(name, name)));
    if (free.length) select.value = free[0];
  }

  function refresh() {
    drawLies();
    const moved = drawTrains();
    if (moved.length) bringIntoView(moved[0]);
    work.arms.forEach((arm, a) => {
      const part = armPart(a);
      if (!part) return;
      const isOff = work.off.has(a);
      part.classList.toggle("off", isOff);
      part.setAttribute("aria-pressed", String(isOff));
      turnArm(part, isOff);
      part.classList.toggle("may", !isOff && work.whyNot(a) === null);
    });
    targets.all.forEach((own) => own.part.setAttribute("aria-label", own.label()));
    levers.forEach((button, l) => {
      button.setAttribute("aria-pressed", String(work.reversed.has(l)));
      button.classList.toggle("kept", work.frameKeeps(l).length > 0);
    });
    if (list.open) rows.forEach((row) => row());
    if (asScene.open) writeScene();
    tellPage("worked");
  }

  function tellPage(type, detail = null) { root.dispatchEvent(new CustomEvent(type, { detail })); }

  function chooseMode(next) {
    if (next === mode) return;
    mode = next;
    from = -1;
    mark();
    one(`input[name=mode][value=${mode}]`).checked = true;
    one("[data-trains]").hidden = mode !== "trains";
    one("[data-arms]").hidden = mode !== "arm";
    if (mode !== "arm") showRoadOf(-1);
    say(HINTS[mode]);
  }

  /* --- begin */

  all("[data-script]").forEach((part) => { part.hidden = false; });
  setSize();
  setTargets();
  setLevers();
  setLists();
  setTracks();
  setPlay();
  setHand();
  setPrint();
  showLeftEnd();
  listTrains();
  setArms();
  asScene.addEventListener("toggle", refresh);
  all("input[name=mode]").forEach((input) => input.addEventListener("change", () => chooseMode(input.value)));
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
  return {
    work, showRoadOf: (id) => showRoadOf(work.arms.findIndex((arm) => arm.id === id)),
    show: (state) => { work.show(state); refresh(); },
    play: playFrames,
  };
}
