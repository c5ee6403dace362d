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
    yards: "Yard", signals: "Signal", arms: "Arm", levers: "Lever", scenes: "Scene", boards: "Board",
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

  /* The outer half of the mark of an end: the track itself stays in reach, however short it is. */
  function tipOf(part, [left, top, right, bottom]) {
    const [x, y] = [(left + right) / 2, (top + bottom) / 2];
    const lines = [...(part.closest(".track")?.querySelectorAll(":scope > path:not(.running)") ?? [])];
    const tips = lines.flatMap((line) => [line.getPointAtLength(0), line.getPointAtLength(line.getTotalLength())]);
    const away = (tip) => Math.hypot(tip.x - x, tip.y - y);
    const tip = tips.reduce((best, each) => (!best || away(each) < away(best) ? each : best), null) ?? { x, y };
    return [Math.min(tip.x, x) - 2, Math.min(tip.y, y) - 2, Math.max(tip.x, x) + 2, Math.max(tip.y, y) + 2];
  }

  function spotsOf(part, shapes, kind, { box, along }) {
    if (kind === "track") return shapes.flatMap(along);
    const boxes = shapes.map((own) => box(own.getBBox()));
    if (kind === "end") return [tipOf(part, boxes[0])];
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

  return { find, spotsOf, inWords };
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
