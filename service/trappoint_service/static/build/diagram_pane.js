/* The diagram: shown, pointed at, marked. The things of the drawing before glide to their new places. */
"use strict";

trappointBuild.makeDiagramPane = (root, { onChoose, onOpen, onKey }) => {
  const SVG = "http://www.w3.org/2000/svg";
  const { drawnPlaces, readDrawing } = trappointBuild;
  const frame = root.querySelector("[data-drawing]");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let svg = null; // the drawing on the page
  let kept = null; // the drawing of the plan, while a preview is shown
  let places = new Map();
  let targets = null;
  let chosen = "";
  let near = null; // the thing under the mouse

  function shape(tag, attributes, into) {
    const made = document.createElementNS(SVG, tag);
    Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
    into.append(made);
    return made;
  }

  /* The outline of a thing, as a part of its own above the drawing. */
  function outline(own, into, grow = 4, whole = false) {
    (whole && own.kind !== "track" ? own.parts : own.shapes).forEach((part) => {
      if (own.kind === "track") {
        shape("path", { d: part.getAttribute("d") }, into);
        return;
      }
      const { x, y, width, height } = part.getBBox();
      shape("rect", {
        x: x - grow, y: y - grow, width: width + 2 * grow, height: height + 2 * grow, rx: 3,
      }, into);
    });
  }

  /* Yards and platforms lie behind other things: a press means them if nothing else is near. */
  const isInFront = ({ kind }) => kind !== "yard";

  function setTargets() {
    const layer = shape("g", { class: "places" }, svg);
    targets = trappointTargets(svg, isInFront);
    places = new Map(drawnPlaces.find(svg).map((own) => [own.place, own]));
    const ordered = [...places.values()].map((own) => [own.shapes[0].getBBox().x, own]).sort((a, b) => a[0] - b[0]);
    ordered.forEach(([, own]) => {
      const part = shape("g", { class: `place ${own.kind}`, "aria-label": own.label, "aria-pressed": "false" }, layer);
      part.dataset.at = own.place;
      outline(own, part);
      own.spot = own.parts.flatMap((each) => drawnPlaces.spotsOf(each, own.shapes.filter((s) => each.contains(s)), own.kind, targets));
      own.target = targets.add(part, own.kind, () => own.label, (event) => {
        choose(own.place);
        if (event.type === "keydown" || !event.detail) onOpen(own.place);
      }, own.spot);
    });
    const first = places.get(chosen) ?? ordered[0]?.[1];
    if (first) targets.focus(first.target, false);
  }

  /* --- showing a drawing */

  function rectangles() {
    const found = new Map();
    places.forEach((own, place) => found.set(place, own.parts[0].getBoundingClientRect()));
    return found;
  }

  const GLIDE = { duration: 280, easing: "ease-in-out" };
  const MOST_GLIDING = 1500;

  function glide(before) {
    if (calm.matches || !before.size || places.size > MOST_GLIDING) return;
    const scale = svg.getScreenCTM().a;
    places.forEach((own, place) => {
      const old = before.get(place);
      const part = own.parts[0];
      if (!old) {
        part.animate([{ opacity: 0 }, { opacity: 1 }], GLIDE);
        return;
      }
      if (own.kind === "arm" || own.kind === "end") return; // they move with what they are part of
      const now = part.getBoundingClientRect();
      const x = (old.x + old.width / 2 - now.x - now.width / 2) / scale;
      const y = (old.y + old.height / 2 - now.y - now.height / 2) / scale;
      if (Math.hypot(x, y) < 0.5) return;
      part.animate([{ transform: `translate(${x}px, ${y}px)` }, { transform: "none" }], GLIDE);
    });
  }

  function put(next, moves) {
    const hadFocus = svg?.contains(document.activeElement) ? document.activeElement.dataset.at ?? chosen : null;
    const before = svg && moves ? rectangles() : new Map();
    const view = svg?.viewBox.baseVal;
    const old = view && { x: view.x, y: view.y, scale: svg.getScreenCTM()?.a || 1 };
    if (svg) svg.replaceWith(next);
    else frame.append(next);
    svg = next;
    near = null;
    svg.setAttribute("tabindex", "-1"); // the keys go to its things
    svg.setAttribute("role", "group");
    svg.setAttribute("aria-label", "Diagram");
    svg.setAttribute("aria-describedby", "build-keys");
    zoom.apply(svg);
    if (old) {
      // The drawing grows to any side: what was seen stays where it was.
      frame.scrollLeft += (old.x - svg.viewBox.baseVal.x) * zoom.scale;
      frame.scrollTop += (old.y - svg.viewBox.baseVal.y) * zoom.scale;
    }
    setTargets();
    markChosen();
    if (hadFocus !== null) {
      const own = places.get(hadFocus) ?? places.get(chosen) ?? [...places.values()][0];
      if (own) targets.focus(own.target);
    }
    if (moves) glide(before);
  }

  /* Show the drawing of the plan. Returns false for one that is more than a picture. */
  function show(text, touched = []) {
    const next = readDrawing(text);
    if (!next) return false;
    kept = null;
    root.classList.remove("preview", "stale");
    put(next, true);
    // If most of the drawing is new, marks tell nothing.
    if (touched.length * 2 < places.size) mark(touched, "fresh");
    return true;
  }

  /* Show what a step would make; `leave` shows the plan again. */
  function preview(text, touched) {
    const next = readDrawing(text);
    if (!next) return;
    kept ??= svg;
    put(next, false);
    root.classList.add("preview");
    mark(touched, "fresh");
  }

  function leave() {
    if (!kept) return;
    const back = kept;
    kept = null;
    root.classList.remove("preview");
    back.querySelector(".places")?.remove();
    back.querySelector(".marks")?.remove();
    put(back.cloneNode(true), false); // a clone: the targets of the old one are gone
  }

  /* --- marks */

  /* Mark things by an outline: `fresh`, `found` or `asked`. */
  function mark(some, kind) {
    svg?.querySelectorAll(`.marks .${kind}`).forEach((part) => part.remove());
    if (!svg || !some.length) return;
    const layer = svg.querySelector(".marks") ?? shape("g", { class: "marks", "aria-hidden": "true" }, svg);
    some.forEach((place) => {
      const own = places.get(place) ?? places.get(place.split("/").slice(0, 2).join("/"));
      if (own) outline(own, shape("g", { class: `${kind} ${own.kind}` }, layer), 5, true);
    });
  }

  function markChosen() {
    places.forEach((own) => {
      const is = own.place === chosen;
      own.target.part.classList.toggle("chosen", is);
      own.target.part.setAttribute("aria-pressed", String(is));
    });
  }

  function choose(place, tell = true) {
    chosen = place;
    markChosen();
    mark([], "fresh");
    mark([], "found");
    const own = places.get(place);
    // A press moves the keys' place there as well.
    if (own && targets) targets.focus(own.target, tell);
    if (tell) onChoose(place, neighbours(place), own && isPressed() ? drawnPlaces.shareOf(own, pressed, svg) : null);
  }

  let pressed = null; // the last press, for the things beside it
  let bare = false; // whether nothing is drawn there; asked before the page scrolls to what is chosen
  root.addEventListener("click", (event) => {
    pressed = event.detail ? event : null;
    bare = Boolean(pressed && svg && targets && !targets.under(event));
  }, true);
  const isPressed = () => Boolean(pressed && targets && svg.contains(pressed.target));

  /* Bare paper is the whole plan. */
  frame.addEventListener("click", () => {
    if (bare) choose("plan");
  });

  /* What a press may have meant as well. */
  function neighbours(place) {
    if (!isPressed()) return [];
    return targets.near(pressed).map((own) => own.part.dataset.at).filter((other) => other !== place);
  }

  /* Scroll the drawing to a thing, if it is out of view. */
  function bringIntoView(place) {
    const own = places.get(place);
    if (!own) return;
    const [box, view] = [own.target.part, frame].map((each) => each.getBoundingClientRect());
    if (box.left < view.left || box.right > view.right) frame.scrollLeft += box.left + box.width / 2 - view.left - view.width / 2;
    if (box.top < view.top || box.bottom > view.bottom) frame.scrollTop += box.top + box.height / 2 - view.top - view.height / 2;
  }

  frame.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || !svg?.contains(event.target)) return;
    if (onKey(event.key.toLowerCase())) event.preventDefault();
  });

  let asked = 0;
  frame.addEventListener("pointermove", (event) => {
    if (event.pointerType !== "mouse" || !targets || asked) return;
    asked = requestAnimationFrame(() => {
      asked = 0;
      const own = targets.under(event);
      if (own === near) return;
      near?.part.classList.remove("near");
      near = own;
      near?.part.classList.add("near");
      frame.classList.toggle("over", Boolean(own));
    });
  });
  frame.addEventListener("pointerleave", () => {
    near?.part.classList.remove("near");
    near = null;
  });

  const zoom = trappointBuild.makeZoom(root.closest(".picture"), frame, () => svg);

  return {
    show, preview, leave, choose, mark, bringIntoView, zoom,
    /* The text is no plan that can be drawn. Returns whether an earlier drawing is still shown. */
    stale: () => { leave(); root.classList.add("stale"); return svg !== null; },
    clear: () => { svg?.remove(); svg = null; kept = null; places = new Map(); targets = null; },
    focus: (place) => {
      const last = svg?.querySelector(".target[tabindex='0']")?.dataset.at;
      const own = places.get(place) ?? places.get(last) ?? [...places.values()][0];
      if (own) targets.focus(own.target);
    },
    comeUp: (place) => {
      root.scrollIntoView({ block: "start" });
      bringIntoView(place);
    },
    has: (place) => places.has(place),
    get places() { return [...places.values()].map(({ place, label }) => ({ place, label })); },
    get chosen() { return chosen; },
    get previewing() { return kept !== null; },
  };
};
