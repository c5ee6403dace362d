/* The things of a drawing that can be pointed at: the name of each, its parts and its spots. */
"use strict";

trappointBuild.drawnPlaces = (() => {
  /* From a drawn part to its place; the first that fits. */
  const KINDS = [
    ["[data-end][data-track]", ({ track, end }) => `tracks/${track}/${end}`, "end"],
    [".track[data-track]", ({ track }) => `tracks/${track}`, "track"],
    ['[data-kind="points"][data-id]', ({ id }) => `points/${id}`, "points"],
    ['[data-kind="crossing"][data-id]', ({ id }) => `crossings/${id}`, "points"],
    ['[data-kind="turntable"][data-id]', ({ id }) => `turntables/${id}`, "points"],
    [".platform[data-platform]", ({ platform }) => `platforms/${platform}`, "platform"],
    [".yard[data-yard]", ({ yard }) => `yards/${yard}`, "yard"],
    [".signal[data-signal]", ({ signal }) => `signals/${signal}`, "signal"],
    ["[data-arm]", ({ arm }) => `arms/${arm}`, "arm"],
  ];
  const KIND_WORDS = {
    tracks: "Track", points: "Points", crossings: "Crossing", turntables: "Turntable", platforms: "Platform",
    yards: "Yard", signals: "Signal", arms: "Arm", levers: "Lever", scenes: "Scene", trains: "Train",
    sessions: "Session", boards: "Board",
  };

  /* A place in words, if the service has not said how it is called. */
  function inWords(place) {
    if (place === "plan") return "The whole plan";
    const [kind, id, more] = place.split("/");
    const thing = `${KIND_WORDS[kind] ?? kind} ${id}`;
    if (!more) return thing;
    return kind === "tracks" ? `The ${more} end of track ${id}` : `Leg ${more} of ${KIND_WORDS[kind].toLowerCase()} ${id}`;
  }

  function labelOf(part, place) {
    const title = part.querySelector(":scope > title")?.textContent;
    return title || inWords(place);
  }

  /* The drawn parts that are the thing itself: not an arm of a signal, not an arrow on a track. */
  function shapesOf(part, kind) {
    if (kind === "track") {
      return [...part.querySelectorAll(":scope > path:not(.running)")].filter((own) => !own.closest("[data-end]"));
    }
    if (kind === "signal") return [...part.querySelectorAll(":scope > .post, :scope > .foot")];
    return [part];
  }

  const lineOf = (part) => [...(part.closest(".track")?.querySelectorAll(":scope > path:not(.running)") ?? [])];

  /* The tip of a track at the mark of its end. */
  function tipOf(part) {
    const { x, y, width, height } = part.getBBox();
    const [u, v] = [x + width / 2, y + height / 2];
    const tips = lineOf(part).flatMap((line) => [line.getPointAtLength(0), line.getPointAtLength(line.getTotalLength())]);
    const away = (tip) => Math.hypot(tip.x - u, tip.y - v);
    return [tips.reduce((best, each) => (!best || away(each) < away(best) ? each : best), null) ?? { x: u, y: v }, { x: u, y: v }];
  }

  /* The outer half of the mark of an end, and what is drawn beyond it: the track itself stays in
     reach, however short it is. */
  function endSpots(part, { box }) {
    const [tip, mid] = tipOf(part);
    const half = [Math.min(tip.x, mid.x) - 2, Math.min(tip.y, mid.y) - 2, Math.max(tip.x, mid.x) + 2, Math.max(tip.y, mid.y) + 2];
    const beyond = [...part.ownerSVGElement.querySelectorAll(".edge, .buffer")].find((own) => {
      const { x, y } = own.querySelector("path").getPointAtLength(0);
      return Math.hypot(x - tip.x, y - tip.y) < 8;
    });
    return [half, ...[...beyond?.querySelectorAll("path, text") ?? []].map((each) => box(each.getBBox()))];
  }

  /* A track without its tips, which mean its ends. */
  function trackSpots(part, spots) {
    const tips = [...part.querySelectorAll("[data-end]")].map((end) => tipOf(end)[0]);
    const inner = spots.filter(([x, y]) => tips.every((tip) => Math.hypot(x - tip.x, y - tip.y) > 9));
    return inner.length ? inner : [spots[Math.floor(spots.length / 2)]];
  }

  /* Where a track was pressed, from 0 at its up end to 1 at its down end; null if that is unknown. */
  function shareOf({ kind, parts, shapes }, event, svg) {
    const up = parts[0].querySelector("[data-end=up]");
    if (kind !== "track" || shapes.length !== 1 || !up) return null;
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const [line] = shapes;
    const all = line.getTotalLength();
    let best = [Infinity, 0];
    for (let n = 0; n <= 200; n += 1) {
      const spot = line.getPointAtLength((all * n) / 200);
      const away = Math.hypot(spot.x - x, spot.y - y);
      if (away < best[0]) best = [away, n / 200];
    }
    const [tip] = tipOf(up);
    const start = line.getPointAtLength(0);
    return Math.hypot(start.x - tip.x, start.y - tip.y) < 1 ? best[1] : 1 - best[1];
  }

  function spotsOf(part, shapes, kind, { box, along }) {
    if (kind === "track") return trackSpots(part, shapes.flatMap(along));
    if (kind === "end") return endSpots(part, { box });
    const boxes = shapes.map((own) => box(own.getBBox()));
    if (kind !== "points") {
      const label = kind === "arm" && part.nextElementSibling?.matches("text.label") ? part.nextElementSibling : null;
      return label ? [...boxes, box(label.getBBox())] : boxes;
    }
    // The middle, where the rails part, and the name.
    const legs = [...part.querySelectorAll(".leg")];
    const toe = legs.find((leg) => leg.dataset.leg === "toe");
    const [left, top, right, bottom] = boxes[0];
    const middle = toe ? toe.getPointAtLength(0) : { x: (left + right) / 2, y: (top + bottom) / 2 };
    const name = part.querySelector("text.label");
    return [[middle.x - 6, middle.y - 6, middle.x + 6, middle.y + 6], ...(name ? [box(name.getBBox())] : [])];
  }

  /* All drawn things, from left to right: `{place, label, kind, parts, shapes}`. */
  function find(svg) {
    const byPlace = new Map();
    KINDS.forEach(([selector, name, kind]) => svg.querySelectorAll(selector).forEach((part) => {
      if (kind === "track" && part.matches("[data-end]")) return;
      const place = name(part.dataset);
      const own = byPlace.get(place) ?? { place, kind, label: labelOf(part, place), parts: [], shapes: [] };
      own.parts.push(part);
      own.shapes.push(...shapesOf(part, kind));
      if (own.shapes.length) byPlace.set(place, own);
    }));
    return [...byPlace.values()];
  }

  return { find, spotsOf, shareOf, inWords };
})();

/* A drawing as it comes from the service, as elements; null if it is more than shapes and words. */
trappointBuild.readDrawing = (() => {
  const NAMES = new Set(["svg", "g", "title", "desc", "defs", "clipPath", "marker", "pattern", "text", "tspan",
    "path", "rect", "circle", "ellipse", "line", "polyline", "polygon"]);
  const SVG = "http://www.w3.org/2000/svg";

  function isPicture(part) {
    return part.namespaceURI === SVG && NAMES.has(part.localName)
      && [...part.attributes].every(({ name, value }) => (
        !/^on|href/i.test(name) && name !== "style" && !/^\s*(javascript|data):/i.test(value)))
      && [...part.children].every(isPicture);
  }

  return function readDrawing(text) {
    const read = new DOMParser().parseFromString(text, "image/svg+xml");
    const root = read.documentElement;
    if (read.doctype || root.localName !== "svg" || read.querySelector("parsererror") || !isPicture(root)) return null;
    return document.importNode(root, true);
  };
})();
