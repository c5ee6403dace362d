/* From the thing that is pointed at to what can be done there, and to what that would make. */
"use strict";

trappointBuild.makePointing = ({ state, root, server, wish, pane, diagram, offers, trouble }) => {
  const { inWords } = trappointBuild.drawnPlaces;
  const list = root.querySelector("[data-places]");
  const note = root.querySelector("[data-preview]");
  const narrow = matchMedia("(max-width: 60rem)");
  let asking = null;
  let previewing = null;
  let entering = false;

  const PARTS = { tracks: ["up", "down"], points: ["toe", "left", "middle", "right"], crossings: ["a1", "a2", "b1", "b2"] };

  /* A thing and its parts: ends, legs, arms. */
  function withParts(place) {
    const [kind, id, more] = place.split("/");
    if (more || !id) return [place];
    if (kind in PARTS) return [place, ...PARTS[kind].map((part) => `${place}/${part}`)];
    const own = kind === "signals" && state.textPlaces.find((each) => each.place === place);
    const arms = own ? state.textPlaces.filter((each) => each.place.startsWith("arms/") && each.start > own.start && each.end < own.end) : [];
    return [place, ...arms.map((each) => each.place)];
  }

  const called = (place) => (
    diagram.places.find((each) => each.place === place)?.label ?? inWords(place)).split(/[:,(]|\. /)[0].trim();

  function linesOf(place) {
    const whole = place.split("/").slice(0, 2).join("/");
    const own = [place, whole].map((name) => state.textPlaces.find((each) => each.place === name)).find(Boolean);
    return own ? [pane.lineAt(own.start)] : [];
  }

  function choose(place, near = []) {
    Object.assign(state, { at: place, near });
    offers.open(true);
    // Beside the sheet there is room for the diagram alone.
    if (narrow.matches && place !== "plan") diagram.comeUp(place);
    list.value = place;
    const lines = linesOf(place);
    pane.pointAt(lines);
    if (lines.length && document.activeElement !== pane.area) pane.scrollTo(lines[0]);
    ask();
  }

  function go(place) {
    if (diagram.has(place)) diagram.bringIntoView(place);
    diagram.choose(place, false);
    choose(place);
  }

  async function ask() {
    asking?.abort();
    asking = new AbortController();
    const [text, place, { signal }] = [state.history.text, state.at, asking];
    try {
      const found = await server.lay(wish(text, [], ["offers"]), signal);
      if (text === state.history.text && place === state.at) show(found.offers);
    } catch (error) {
      if (!signal.aborted) trouble(error.message);
    }
  }

  function show(found) {
    const known = new Map(found.map((own) => [own.at, own]));
    const own = known.get(state.at) ?? { at: state.at, called: called(state.at), can: [] };
    const parts = withParts(state.at).slice(1).map((place) => known.get(place)).filter(Boolean);
    offers.show([own, ...parts], state.near.filter((place) => diagram.has(place)), called);
    if (entering) {
      entering = false;
      offers.enter();
    }
  }

  /* All places as a list, for those that the diagram does not show. */
  function listPlaces() {
    const drawn = diagram.places.map(({ place }) => place);
    const known = new Set(drawn);
    const more = state.textPlaces.map(({ place }) => place).filter((place) => !known.has(place));
    list.replaceChildren(...["plan", ...drawn, ...more].map((place) => new Option(called(place), place)));
    list.value = state.at;
  }

  async function preview(step) {
    previewing?.abort();
    previewing = new AbortController();
    const [text, { signal }] = [state.history.text, previewing];
    try {
      const found = await server.lay({ ...wish(text, [step], ["diagram"]), at: [] }, signal);
      if (signal.aborted || text !== state.history.text || !found.diagram) return;
      diagram.preview(found.diagram.svg, found.touched ?? []);
      note.textContent = `Preview, not done yet: ${found.said.join(" ")}`;
      note.hidden = false;
    } catch { /* no preview: pressing tells why */ }
  }

  function leave() {
    previewing?.abort();
    note.hidden = true;
    diagram.leave();
  }

  /* Mark the thing of the plan at the caret. */
  function mark(offset) {
    const inside = state.textPlaces.filter(({ start, end }) => start <= offset && offset <= end);
    const own = inside.reduce((best, each) => (
      !best || each.end - each.start < best.end - best.start ? each : best), null);
    diagram.mark(own ? [own.place] : [], "asked");
  }

  list.addEventListener("change", () => go(list.value));

  return { withParts, choose, go, show, listPlaces, preview, leave, mark, enter: () => { entering = true; } };
};
