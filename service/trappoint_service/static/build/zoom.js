/* The size of the drawing in its frame: buttons, keys, the wheel with Ctrl, two fingers. */
"use strict";

trappointBuild.makeZoom = (root, frame, drawing) => {
  const [LEAST, MOST, STEP] = [0.2, 5, 1.25];
  const READABLE = 0.75; // at first no drawing is smaller: names can be read
  let scale = 0;
  let own = false; // whether the person has chosen the size

  function natural(svg) {
    return [svg.viewBox.baseVal.width, svg.viewBox.baseVal.height];
  }

  function fitting(svg) {
    const [wide, high] = natural(svg);
    return Math.min((frame.clientWidth - 4) / wide, (frame.clientHeight - 4) / high);
  }

  function apply(svg) {
    if (!scale) scale = Math.min(1.7, Math.max(READABLE, fitting(svg)));
    // A plan that grows stays in sight, as far as its names can be read.
    else if (!own) scale = Math.min(scale, Math.max(READABLE, fitting(svg)));
    const [wide, high] = natural(svg);
    svg.setAttribute("width", (wide * scale).toFixed(1));
    svg.setAttribute("height", (high * scale).toFixed(1));
  }

  /* Set the scale; the spot at (x, y) of the window stays where it is. */
  function set(next, x = null, y = null) {
    const svg = drawing();
    if (!svg) return;
    const view = frame.getBoundingClientRect();
    const [u, v] = [(x ?? view.left + view.width / 2), (y ?? view.top + view.height / 2)];
    const before = svg.getBoundingClientRect();
    const [ratioX, ratioY] = [(u - before.left) / before.width, (v - before.top) / before.height];
    scale = Math.min(MOST, Math.max(LEAST, next));
    own = true;
    apply(svg);
    const after = svg.getBoundingClientRect();
    frame.scrollLeft += after.left + ratioX * after.width - u;
    frame.scrollTop += after.top + ratioY * after.height - v;
  }

  function fit() {
    const svg = drawing();
    if (svg) set(fitting(svg));
    own = false;
  }

  const acts = { larger: () => set(scale * STEP), smaller: () => set(scale / STEP), fit };
  root.querySelectorAll("[data-zoom]").forEach((button) => {
    button.addEventListener("click", acts[button.dataset.zoom]);
  });
  root.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input, select, textarea")) return;
    const act = { "+": acts.larger, "=": acts.larger, "-": acts.smaller, 0: fit }[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
  frame.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    set(scale * Math.exp(-event.deltaY / 300), event.clientX, event.clientY);
  }, { passive: false });

  /* Two fingers: their distance is the size, and what is between them stays there. */
  let pinch = null;
  const spread = ([one, other]) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
  const middle = ([one, other]) => [(one.clientX + other.clientX) / 2, (one.clientY + other.clientY) / 2];
  frame.addEventListener("touchstart", ({ touches }) => {
    pinch = touches.length === 2 ? { spread: spread(touches), scale } : null;
  }, { passive: true });
  frame.addEventListener("touchmove", (event) => {
    if (!pinch || event.touches.length !== 2) return;
    event.preventDefault();
    set((pinch.scale * spread(event.touches)) / pinch.spread, ...middle(event.touches));
  }, { passive: false });
  frame.addEventListener("touchend", () => { pinch = null; }, { passive: true });

  /* The mouse drags the paper. A drag is no press. */
  let drag = null;
  frame.addEventListener("pointerdown", (event) => {
    if (event.pointerType !== "mouse" || event.button !== 0) return;
    drag = { x: event.clientX, y: event.clientY, left: frame.scrollLeft, top: frame.scrollTop, far: false };
  });
  addEventListener("pointermove", (event) => {
    if (!drag) return;
    const [x, y] = [event.clientX - drag.x, event.clientY - drag.y];
    if (Math.hypot(x, y) > 5) drag.far = true;
    if (!drag.far) return;
    frame.classList.add("dragged");
    frame.scrollLeft = drag.left - x;
    frame.scrollTop = drag.top - y;
  });
  addEventListener("pointerup", () => {
    if (drag?.far) {
      // The click that follows is the end of the drag.
      const stop = (event) => { event.stopPropagation(); event.preventDefault(); };
      frame.addEventListener("click", stop, { capture: true, once: true });
      setTimeout(() => frame.removeEventListener("click", stop, { capture: true }), 0);
    }
    drag = null;
    frame.classList.remove("dragged");
  });

  return { apply, fit, set, get scale() { return scale; }, forget: () => { scale = 0; own = false; } };
};
