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

  function roadsOf(id) {
    try { return JSON.parse(state.history.text).turntables[id].roads; } catch { return []; }
  }

  /* A thing and its parts: ends, legs, arms. */
  function withParts(place) {
    const [kind, id, more] = place.split("/");
    if (more || !id) return [place];
    if (kind === "turntables") return [place, ...roadsOf(id).map((road) => `${place}/${road}`)];
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

  /* How far a press on a track is from its up end, in mm; null if the plan gives no length. */
  function measured(place, share) {
    const [kind, id, more] = place.split("/");
    if (share === null || kind !== "tracks" || more) return null;
    try {
      const length = JSON.parse(state.history.text).tracks[id].length_mm;
      const grain = length > 200 ? 10 : 1;
      const found = Math.round((share * length) / grain) * grain;
      return found > 0 && found < length ? found : null;
    } catch { return null; }
  }

  /* `share`: where a track was pressed, from 0 at its up end to 1 at its down end; null elsewhere. */
  function choose(place, near = [], share = null) {
    Object.assign(state, { at: place, near, atMm: measured(place, share) });
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

  /* The offers, with the place that was pressed as their place along the track. */
  function here(own) {
    if (!state.atMm) return own;
    const along = (ask) => (ask.key === "at_mm" ? { ...ask, value: state.atMm } : ask);
    return { ...own, can: own.can.map((offer) => ({ ...offer, asks: offer.asks.map(along) })) };
  }

  /* Why nothing can be done at what a board brings; "" for what the plan has itself. */
  function onBoard(place) {
    const [, board, more] = place.split("/");
    const is = more && state.textPlaces.some((each) => each.place === `boards/${board}`);
    return is ? `This is on board ${board}, which has a plan of its own. Open it under Boards, below.` : "";
  }

  function show(found) {
    const known = new Map(found.map((own) => [own.at, own]));
    const own = known.get(state.at) ?? { at: state.at, called: called(state.at), can: [], why: onBoard(state.at) };
    const parts = withParts(state.at).slice(1).map((place) => known.get(place)).filter(Boolean);
    const [whole] = state.at.match(/^[^/]+\/[^/]+/) ?? [state.at];
    const near = state.near.filter((place) => diagram.has(place) && !(whole === state.at && place.startsWith(`${whole}/`)));
    offers.show([here(own), ...parts], near, called);
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
