/* What can be pressed on the diagram, by finger, mouse or keys.

   A press goes to the nearest thing within reach, so that a finger need not meet an arm exactly.
   The arrow keys go from thing to thing. */
"use strict";

function trappointTargets(svg, first) {
  const REACH = 22; // CSS pixels: a finger needs 44 by 44
  const all = [];
  let current = null;

  const box = ({ x, y, width, height }) => [x, y, x + width, y + height];

  /* The spots of a line, close enough for a press anywhere on it. */
  function along(path) {
    const count = Math.ceil(path.getTotalLength() / 4) + 1;
    return Array.from({ length: count }, (_, n) => {
      const { x, y } = path.getPointAtLength((path.getTotalLength() * n) / (count - 1 || 1));
      return [x, y, x, y];
    });
  }

  /* `kind` is arm, points, place or edge; `spots` are boxes in units of the drawing. */
  function add(part, kind, label, press, spots) {
    part.classList.add("target");
    part.setAttribute("role", "button");
    part.setAttribute("tabindex", "-1");
    const own = { part, kind, label, press, spots };
    part.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); press(event); }
    });
    all.push(own);
    return own;
  }

  function focus(own, move = true) {
    current?.part.setAttribute("tabindex", "-1");
    current = own;
    own.part.setAttribute("tabindex", "0");
    if (move) own.part.focus();
  }

  /* How far a press is from a box, and from its middle; null if it is out of reach. */
  function far([left, top, right, bottom], { x, y }, reach) {
    const [u, v] = [(left + right) / 2, (top + bottom) / 2];
    if (Math.abs(x - u) > Math.max((right - left) / 2, reach)) return null;
    if (Math.abs(y - v) > Math.max((bottom - top) / 2, reach)) return null;
    const out = Math.hypot(Math.max(left - x, x - right, 0), Math.max(top - y, y - bottom, 0));
    return out + Math.hypot(x - u, y - v) / 1000;
  }

  function nearestOf(some, spot, reach) {
    let best = null;
    some.forEach((own) => own.spots.forEach((each) => {
      const away = far(each, spot, reach);
      if (away !== null && (!best || away < best[0])) best = [away, own];
    }));
    return best?.[1] ?? null;
  }

  /* The spot of an event and the reach around it, in units of the drawing. */
  function spotOf(event) {
    const matrix = svg.getScreenCTM();
    const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    return [spot, REACH / matrix.a];
  }

  /* The thing that a press means: first those that the press is for, then any other. */
  function meant(event) {
    if (!event.detail) return all.find((own) => own.part.contains(event.target)) ?? null;
    return under(event);
  }

  function under(event) {
    const [spot, reach] = spotOf(event);
    return nearestOf(all.filter(first), spot, reach)
      ?? nearestOf(all.filter((own) => !first(own)), spot, reach);
  }

  /* All things within reach of a press. */
  function near(event) {
    const [spot, reach] = spotOf(event);
    return all.filter((own) => own.spots.some((each) => far(each, spot, reach) !== null));
  }

  svg.addEventListener("click", (event) => {
    const own = meant(event);
    if (!own) return;
    focus(own, false);
    own.press(event);
  });

  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  /* The nearest thing in the way of the arrow; things straight ahead come first. */
  function step(event) {
    const way = WAYS[event.key];
    if (!way || !current || !svg.contains(document.activeElement)) return;
    event.preventDefault();
    const middle = (own) => {
      const { x, y, width, height } = own.part.getBoundingClientRect();
      return [x + width / 2, y + height / 2];
    };
    const [x, y] = middle(current);
    let best = null;
    all.forEach((own) => {
      if (own === current || !own.part.checkVisibility()) return;
      const [u, v] = middle(own);
      const ahead = (u - x) * way[0] + (v - y) * way[1];
      const aside = Math.abs((u - x) * way[1]) + Math.abs((v - y) * way[0]);
      if (ahead < 2) return;
      const away = ahead + 1.5 * aside;
      if (!best || away < best[0]) best = [away, own];
    });
    if (best) focus(best[1]);
  }

  svg.addEventListener("keydown", step);
  svg.addEventListener("focusin", (event) => {
    const own = all.find(({ part }) => part === event.target);
    if (own && own !== current) focus(own, false);
  });

  return { all, add, focus, box, along, under, near };
}
