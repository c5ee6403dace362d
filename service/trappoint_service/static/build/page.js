/* The page: one plan, its text, its diagram and what is done to it. */
"use strict";

(() => {
  const root = document.querySelector("[data-build]");
  if (!root) return;
  const build = trappointBuild;
  const { make, button } = build;
  const one = (selector, within = root) => within.querySelector(selector);
  const PAUSE = 350; // milliseconds between the last key and the check
  const AGAIN = 5000; // milliseconds until a failed check is tried again
  const WANT = ["report", "diagram", "outline", "offers", "fixes"];

  const server = build.makeServer({ lay: root.dataset.layAddress, propose: root.dataset.proposeAddress });
  const drafts = build.makeDrafts();

  /* The state of the page. `answer` is the last one for a whole text, `memory` where things stood in
     its drawing, `textPlaces` where they are in its text. */
  const state = {
    history: build.makeHistory(), draft: { id: "", revision: 0, name: "", file: "" }, boards: {},
    at: "plan", near: [], atMm: null, answer: null, memory: null, textPlaces: [],
  };
  let mode = "build";
  let running = null;
  let timer = 0;
  let steps = Promise.resolve();

  /* --- telling */

  const live = one("[data-live]");
  function say(text) {
    if (!text) return;
    live.textContent = text;
    one("[data-said]").textContent = text;
  }

  /* A note stays until it is closed or another takes its place. */
  const notes = one("[data-notes]");
  function note(key, text, ...acts) {
    notes.querySelector(`[data-note="${key}"]`)?.remove();
    if (!text) return;
    const box = make("p", "", { class: "message", "data-note": key, role: "status" });
    const close = () => box.remove();
    box.append(make("span", text), " ");
    acts.forEach(([words, act]) => box.append(button(words, () => { close(); act(); }), " "));
    box.append(button("Close", close, "close"));
    notes.append(box);
  }
  const trouble = (text) => note("trouble", text);

  /* --- the parts of the page */

  const pane = build.makeTextPane(one("[data-text-pane]"), {
    onType: (text) => changed(text, "Typing", true),
    onUndo: () => undo(),
    onRedo: () => redo(),
    onCaret: (offset) => pointing.mark(offset),
  });

  const diagram = build.makeDiagramPane(one("[data-diagram]"), {
    onChoose: (place, near, share) => pointing.choose(place, near, share),
    onOpen: () => pointing.enter(),
    onKey: (key) => {
      const act = { p: () => one("[data-propose]").focus(), w: () => { pointing.enter(); diagram.choose("plan"); } }[key];
      act?.();
      return Boolean(act);
    },
  });

  const sheet = one("[data-offers]");
  const offers = build.makeOffers(sheet, {
    onDo: (step, label) => doStep(step, label),
    onPreview: (step) => pointing.preview(step),
    onLeave: () => pointing.leave(),
    onGo: (place) => pointing.go(place),
    onClose: () => {
      offers.open(false);
      diagram.focus(state.at);
    },
  });

  const pointing = build.makePointing({ state, root, server, wish, pane, diagram, offers, trouble });

  const findings = build.makeFindings(one("[data-judged]"), {
    onPoint: (finding, place) => {
      pane.showLine(finding.line, finding.column);
      const some = [place, ...namedIn(finding)].filter(Boolean);
      diagram.mark(some, "found");
      const seen = some.find((each) => diagram.has(each));
      if (seen) diagram.bringIntoView(seen);
    },
    onFix: (fix) => (fix.step ? doStep(fix.step, fix.label) : changed(fix.text, fix.label)),
    onPlay: () => setMode("work", true),
  });

  const proposals = build.makeProposals(one("[data-judged]"), {
    server,
    text: () => state.history.text,
    boards: () => boards.used(),
    onBoard: (name) => openBoard(name),
    onAsk: () => offers.open(false),
    onTake: (text, said) => { changed(text, said); one("[data-stamp]").focus(); },
    onTrouble: trouble,
  });

  const working = build.makeWorking(one("[data-work]"), one("[data-work-frame]"));

  const beginnings = build.makeBeginnings(one("[data-begin]"), {
    server,
    drafts,
    current: () => state.draft.id,
    onText: (text, name, said, boards = {}) => keeping.begin(text, { name, said, boards }),
    onStep: (step, label) => {
      if (state.history.text) keeping.begin("");
      doStep(step, label);
    },
    onOpen: (id) => { if (id !== state.draft.id) location.hash = `draft=${id}`; else beginnings.open(false); },
    onForget: (id) => keeping.forget(id),
    onTrouble: trouble,
  });

  const keeping = build.makeKeeping({
    state, drafts, titleOf, note, say, start,
    openBeginnings: (is) => beginnings.open(is),
    refreshList: () => { if (beginnings.isOpen) beginnings.showDrafts(); },
  });

  const folder = root.dataset.folder === undefined ? null : build.makeFolder(one("[data-folder-box]"), {
    address: root.dataset.folder, state, server, drafts, keeping, changed, note, say, showTitle,
    openBeginnings: (is) => beginnings.open(is),
  });

  const boards = build.makeBoards(one("[data-boards-box]"), {
    state, onOpen: (name) => openBoard(name), onTrouble: trouble,
    onStep: (step, label) => { pointing.go("plan"); doStep(step, label); },
  });
  folder?.bringBoards(boards);

  /* Open the plan of a board as a plan of its own. */
  function openBoard(name) {
    if (folder?.openBoard(name)) return;
    if (!(name in state.boards)) trouble(`The file ${name} is not here. Add it below, under Boards.`);
    else keeping.begin(state.boards[name], { name: name.split("/").at(-1), boards: state.boards, said: `${name} is open, as a draft of its own.` });
  }

  build.makeTakeAway(one("[data-take]"), {
    plan: () => ({ text: state.history.text, name: state.draft.name || "plan.layout.json", boards: state.boards }),
    drawing: () => state.answer?.diagram?.svg ?? null,
    onTrouble: trouble,
    onSaid: say,
  });

  /* The things that a finding names. */
  function namedIn({ path = [] }) {
    const kinds = ["tracks", "points", "crossings", "turntables", "yards", "platforms", "arms", "signals"];
    return path.flatMap((id) => kinds.map((kind) => `${kind}/${id}`)).filter((place) => diagram.has(place));
  }

  /* --- a text changes: by typing, by a step, by undoing */

  function changed(text, said, typed = false) {
    if (!state.history.change(text, said, typed)) return;
    if (!typed) pane.setText(text);
    afterChange(typed ? PAUSE : 0);
    if (!typed) say(said);
  }

  function move(said, words) {
    if (said === null) return;
    pane.setText(state.history.text);
    afterChange(0);
    say(`${words}: ${said}`);
  }
  const undo = () => move(state.history.undo(), "Undone");
  const redo = () => move(state.history.redo(), "Done again");

  /* `wait`: milliseconds until the service is asked about the text; null: its answer is here. */
  function afterChange(wait) {
    pointing.leave();
    showHistory();
    folder?.showState();
    proposals.changed();
    keeping.soon();
    root.classList.toggle("empty", !state.history.text);
    if (state.history.text) beginnings.open(false);
    clearTimeout(timer);
    running?.abort();
    if (wait !== null) timer = setTimeout(refresh, wait);
  }

  function showHistory() {
    [["undo", state.history.toUndo], ["redo", state.history.toRedo]].forEach(([name, said]) => {
      one(`[data-${name}]`).disabled = said === null;
      one(`[data-${name}-what]`).textContent = said ?? "";
    });
  }

  /* --- asking the service */

  function wish(text, laid, want) {
    const named = Object.keys(state.boards).length ? { boards: state.boards } : {};
    const wanted = mode === "work" && want.includes("report") ? [...want, "work"] : want;
    return { plan: text || null, steps: laid, at: pointing.withParts(state.at), before: state.memory, want: wanted, ...named };
  }

  async function refresh() {
    running?.abort();
    clearTimeout(timer);
    const { text } = state.history;
    if (!text) {
      showNothing();
      return;
    }
    running = new AbortController();
    const { signal } = running;
    root.setAttribute("aria-busy", "true");
    try {
      const found = await server.lay(wish(text, [], WANT), signal);
      if (text === state.history.text) show(found);
    } catch (error) {
      if (signal.aborted) return;
      trouble(error.message);
      if (!error.refused) timer = setTimeout(refresh, AGAIN);
    }
    root.removeAttribute("aria-busy");
  }

  /* Do one step after the other. */
  function doStep(step, label) {
    pointing.leave();
    steps = steps.then(() => laid(step, label)).catch((error) => {
      const text = [error.message, error.fix].filter(Boolean).join(" ");
      trouble(text);
      say(text);
    });
  }

  /* The answer for a text that has changed meanwhile is dropped, and the step is done again. */
  async function laid(step, label) {
    for (let tries = 0; tries < 5; tries += 1) {
      const { text } = state.history;
      const found = await server.lay(wish(text, [step], WANT));
      if (text === state.history.text && !pane.composing) {
        trouble("");
        const said = found.said.join(" ") || label;
        if (state.history.change(found.plan, said)) {
          pane.setText(found.plan);
          state.atMm = null; // the track may be another one now
          afterChange(null);
        }
        show(found);
        say(said);
        return;
      }
    }
    say("The text changes all the time. Press again.");
  }

  /* --- showing an answer */

  function show(found) {
    state.answer = found;
    state.textPlaces = build.findTextPlaces(state.history.text);
    const drawn = Boolean(found.diagram) && diagram.show(found.diagram.svg, found.touched ?? []);
    if (drawn) state.memory = found.diagram.memory ?? null;
    one("[data-stale]").hidden = drawn;
    if (!drawn) {
      const kept = diagram.stale();
      one("[data-stale]").textContent = `This text is no plan that can be drawn.${kept ? " The diagram shows the last one that could." : ""}`;
    }
    findings.show(found.report, found.fixes ?? [], drawn);
    pane.mark(findings.marks(found.report));
    showOutline(found.outline ?? []);
    showTitle();
    pointing.listPlaces();
    proposals.canMend(state.textPlaces.some(({ place }) => place.startsWith("signals/")));
    pointing.show(found.offers ?? []);
    showWork();
  }

  function showOutline(sentences) {
    one("[data-outline]").replaceChildren(...sentences.map((text) => make("li", text)));
  }

  function showNothing() {
    Object.assign(state, { answer: null, memory: null, textPlaces: [], at: "plan", near: [], atMm: null });
    diagram.clear();
    findings.clear();
    pane.mark(new Map());
    one("[data-stale]").hidden = true;
    showOutline([]);
    showTitle();
    pointing.listPlaces();
    pointing.show([]);
    setMode("build");
    root.removeAttribute("aria-busy");
  }

  function titleOf() {
    try {
      const { title } = JSON.parse(state.history.text);
      if (typeof title === "string" && title) return title;
    } catch { /* being typed */ }
    return state.draft.name.replace(/\.layout\.json$/, "") || (state.history.text ? "Plan without a title" : "Build a plan");
  }

  function showTitle() {
    one("[data-title]").textContent = titleOf();
    document.title = `${titleOf()} (Trappoint)`;
    boards.show();
  }

  /* --- building or working */

  const modes = [...root.querySelectorAll("[data-mode]")];
  let playing = false;
  function setMode(next, plays = false) {
    if (next === mode && !plays) return;
    mode = next;
    playing = plays;
    modes.forEach((own) => own.setAttribute("aria-pressed", String(own.dataset.mode === mode)));
    root.classList.toggle("works", mode === "work");
    one("[data-work]").hidden = mode !== "work";
    one("[data-diagram]").hidden = mode === "work";
    sheet.hidden = mode === "work";
    pointing.leave();
    if (mode === "work") refresh();
    else {
      working.hide();
      if (state.answer?.diagram) diagram.show(state.answer.diagram.svg);
    }
  }

  function showWork() {
    if (mode !== "work") return;
    const { diagram: drawn, work } = state.answer;
    if (drawn && work && working.show(drawn.svg, work)) {
      if (playing) working.play(work);
      playing = false;
    } else if (!drawn || work === null) working.refuse();
  }
  modes.forEach((own) => own.addEventListener("click", () => setMode(own.dataset.mode)));

  /* --- begin */

  /* Show another plan, with its history. */
  function start(history, { boards = {}, place = "plan" }) {
    Object.assign(state, { history, boards, memory: null, at: place, near: [], atMm: null });
    proposals.clear();
    pane.begin(history.text);
    diagram.clear();
    diagram.zoom.forget();
    showHistory();
    showTitle();
    folder?.showState();
    root.classList.toggle("empty", !history.text);
    refresh();
  }

  one("[data-undo]").addEventListener("click", undo);
  one("[data-redo]").addEventListener("click", redo);
  one("[data-begin-another]").addEventListener("click", () => beginnings.open(!beginnings.isOpen));
  addEventListener("keydown", (event) => {
    if (event.key === "Escape" && diagram.previewing) pointing.leave();
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    if (key !== "z" && key !== "y") return;
    const { target } = event;
    if (target !== pane.area && target.matches?.("input:not([type=checkbox]), textarea")) return;
    event.preventDefault();
    (key === "y" || event.shiftKey ? redo : undo)();
  });

  const given = pane.area.dataset.given === "yes" ? pane.area.defaultValue : "";
  if (given) keeping.begin(given, { name: root.dataset.name });
  else if (folder && root.dataset.file && !location.hash) folder.open(root.dataset.file);
  else keeping.openAddress();
  folder?.showFiles();
  folder?.showState();
})();
