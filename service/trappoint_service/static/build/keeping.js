/* The draft on the page: begun, kept, opened, forgotten; and other windows that have it too. */
"use strict";

trappointBuild.makeKeeping = ({ state, drafts, titleOf, note, say, start, openBeginnings, refreshList }) => {
  const { clock, links, makeHistory } = trappointBuild;
  const PAUSE = 250; // milliseconds between a change and its keeping
  const FULL = "This browser keeps no drafts: its storage is full or forbidden. Go on, and take the plan away before you close the page.";
  let timer = 0;
  let unkept = false;

  const nameless = () => ({ id: "", revision: 0, name: "", file: "" });

  function soon() {
    clearTimeout(timer);
    timer = setTimeout(now, PAUSE);
  }

  function atOnce() { if (timer) now(); }

  function now() {
    clearTimeout(timer);
    timer = 0;
    const { history, draft } = state;
    if (!draft.id) {
      // Nothing is kept of an empty beginning.
      if (!history.text) return;
      draft.id = drafts.newId();
      showAddress();
    }
    const { name, file } = draft;
    const whole = { ...history.keep(), title: titleOf(), name, file, base: draft.base, stamp: draft.stamp, boards: state.boards, at: state.at };
    const result = drafts.keep(draft.id, whole, draft.revision);
    if (result === "kept") draft.revision += 1;
    if (result === "other") {
      const theirs = draft.id;
      branchOff();
      tellForeign(theirs);
    }
    unkept = result === "full";
    if (unkept) note("storage", FULL);
  }

  function showAddress() {
    const query = state.draft.file ? `?file=${encodeURIComponent(state.draft.file)}` : "";
    window.history.replaceState(null, "", `${location.pathname}${query}#draft=${state.draft.id}`);
  }

  /* --- other windows */

  /* Go on with this text as a draft of its own. */
  function branchOff() {
    state.draft = { ...state.draft, id: drafts.newId(), revision: 0 };
    showAddress();
    now();
  }

  function tellForeign(id) {
    const theirs = drafts.read(id);
    const apart = id !== state.draft.id; // this text has its own draft already
    if (!theirs) {
      note("foreign", "Another window has forgotten this draft. It is kept again.");
      return;
    }
    const acts = [["Show the plan of the other window", () => { if (!apart) open(id); else location.hash = `draft=${id}`; }]];
    if (!apart) acts.push(["Go on here as a draft of its own", () => { branchOff(); say("This is a draft of its own now."); }]);
    note("foreign", `Another window changed this draft at ${clock(theirs.when)}. ${apart ? "This text goes on as a draft of its own." : "Both are kept: choose."}`, ...acts);
  }

  drafts.onForeign((id, theirs) => {
    refreshList();
    if (!state.draft.id || id !== state.draft.id) return;
    if (!theirs) {
      state.draft.revision = 0;
      soon();
      tellForeign(id);
    } else if (theirs.window !== drafts.window && theirs.text !== state.history.text) {
      if (timer) now();
      else tellForeign(id);
    }
  });

  /* --- beginning, opening, forgetting */

  const plain = (text) => text.replace(/^\ufeff/, "").replace(/\r\n?/g, "\n");

  /* Begin another plan, as a draft of its own. `more`: what the draft remembers of its file. */
  function begin(text, { name = "", said = "", boards = {}, more = {} } = {}) {
    atOnce();
    state.draft = { ...nameless(), name, ...more };
    start(makeHistory({ text: plain(text) }), { boards });
    openBeginnings(!text);
    if (text) now();
    else window.history.replaceState(null, "", location.pathname);
    ["draft", "foreign"].forEach((key) => note(key, ""));
    say(said);
  }

  function open(id) {
    const kept = drafts.read(id);
    if (!kept) return false;
    atOnce();
    const { revision = 0, name = "", file = "", base = "", stamp = "" } = kept;
    state.draft = { id, revision, name, file, base, stamp };
    start(makeHistory(kept), { boards: kept.boards ?? {}, place: kept.at ?? "plan" });
    openBeginnings(false);
    showAddress();
    note("foreign", "");
    note("draft", `Draft of ${clock(kept.when)} is shown. It is kept in this browser only.`,
      ["Begin another plan", () => openBeginnings(true)], ["Forget this draft", () => forget(state.draft.id)]);
    return true;
  }

  function forget(id) {
    drafts.forget(id);
    if (id !== state.draft.id) return;
    clearTimeout(timer);
    timer = 0;
    state.draft = nameless();
    start(makeHistory(), {});
    window.history.replaceState(null, "", location.pathname);
    note("draft", "");
    openBeginnings(true);
    say("The draft is forgotten.");
  }

  /* Open the draft of the address, or the plan of a link, else the last draft. */
  async function openAddress() {
    const [, kind, rest] = /^#(draft|plan)=(.*)$/s.exec(location.hash) ?? [];
    if (kind === "draft") {
      if (rest === state.draft.id || open(rest)) return;
      note("trouble", "This draft is not in this browser.");
    }
    if (kind === "plan") {
      try {
        begin(await links.unpack(rest), { said: "The plan of the link is open, as a draft of its own." });
        return;
      } catch { note("trouble", "This link is damaged: it holds no plan."); }
    }
    const latest = kind ? null : drafts.list().find(({ file }) => !file);
    if (latest && open(latest.id)) return;
    start(makeHistory(), {});
    openBeginnings(true);
  }

  addEventListener("hashchange", openAddress);
  addEventListener("pagehide", atOnce);
  document.addEventListener("visibilitychange", () => { if (document.hidden) atOnce(); });
  addEventListener("beforeunload", (event) => {
    atOnce();
    if (unkept && state.history.text) event.preventDefault();
  });

  return { soon, atOnce, begin, open, forget, openAddress };
};
