/* The plans of a folder on this computer: listed, opened, saved. */
"use strict";

trappointBuild.makeFolder = (root, { address, state, server, drafts, keeping, changed, note, say, openBeginnings }) => {
  const { make, button, clock, boardsIn } = trappointBuild;
  const one = (selector) => root.querySelector(selector);
  const list = one("[data-files]");
  const status = one("[data-saved]");
  const save = one("[data-save]");
  const changes = one("[data-changes]");
  const addressOf = (kind, name) => `${address}/${kind}/${name.split("/").map(encodeURIComponent).join("/")}`;
  const VERDICTS = new Map([[true, "holds"], [false, "does not hold"], [null, "not judged"]]);

  /* --- the list */

  async function showFiles() {
    try {
      const { folder, files } = await server.get(`${address}/plans`);
      one("[data-folder-name]").textContent = `With a plan of the folder ${folder}`;
      list.replaceChildren(...files.filter(({ kind }) => kind === "plan").map((file) => {
        const item = make("li", "");
        item.append(button(file.name, () => open(file.name), "draft"), make("span", `${VERDICTS.get(file.holds ?? null)}, changed ${clock(Date.parse(file.changed))}`, { class: "hint" }));
        return item;
      }));
    } catch (error) { note("trouble", error.message); }
  }

  /* The texts of the files that a plan of the folder names as its boards; without those that cannot
     be read: the findings say so. */
  async function boardsOf(name, text, at = "", found = {}) {
    const folder = (path) => path.slice(0, path.lastIndexOf("/") + 1);
    await Promise.all(boardsIn(text).map(async (file) => {
      const path = folder(at) + file; // from the folder of the plan
      if (path in found) return;
      found[path] = "";
      try { found[path] = (await server.get(addressOf("plans", folder(name) + path))).text; } catch { delete found[path]; }
      if (found[path]) await boardsOf(name, found[path], path, found);
    }));
    return found;
  }

  /* --- opening: a draft with changes that were not saved goes before the file, and says so */

  async function open(name) {
    let file = null;
    try { file = await server.get(addressOf("plans", name)); } catch (error) {
      note("trouble", error.message);
      return;
    }
    const boards = await boardsOf(name, file.text);
    const kept = drafts.list().filter((own) => own.file === name)
      .map(({ id }) => ({ id, ...drafts.read(id) })).find(({ base, text }) => text !== base && text !== file.text);
    const show = () => {
      keeping.begin(file.text, { name, boards, more: { file: name, base: file.text, stamp: file.stamp } });
      openBeginnings(false);
      say(`${name} is open.`);
      showState();
    };
    if (kept && kept.base === file.text) {
      keeping.open(kept.id);
      note("draft", `Changes of ${clock(kept.when)} that are not saved yet are shown.`, ["Show the file as it is", show]);
    } else {
      show();
      if (kept) note("draft", `This browser has a draft of ${clock(kept.when)} for a file of this name.`, ["Show the draft", () => keeping.open(kept.id)]);
    }
    showState();
  }

  function showState() {
    const { file, base } = state.draft;
    save.disabled = !state.history.text || (Boolean(file) && base === state.history.text);
    status.textContent = file ? `${file}: ${save.disabled ? "saved" : "not saved yet"}` : "not in the folder yet";
    one("[data-changes-box]").hidden = !file;
  }

  /* --- saving */

  let saving = false;

  async function put(name, more) {
    if (saving) return;
    saving = true;
    const { text } = state.history;
    const own = state.draft;
    try {
      const answer = await server.put(addressOf("plans", name), { text, ...more });
      if (own === state.draft || own.id === state.draft.id) {
        if (answer.status === 409) conflict(name, answer);
        else saved(name, text, answer);
      }
    } catch (error) { note("save", `${error.message} Nothing was saved; your text is here.`); }
    saving = false;
    showState();
  }

  function saved(name, sent, { text, stamp, merged, said = [] }) {
    note("save", "");
    const typed = state.history.text !== sent;
    // The next save merges the typing since then; it began with the text that was sent.
    Object.assign(state.draft, { file: name, name, base: typed ? sent : text, stamp: typed ? "" : stamp });
    if (!typed && text !== sent) changed(text, "The file had changed: both are merged");
    keeping.soon();
    if (merged) note("save", ["The file had changed meanwhile. Both are merged and saved.", ...said].join(" "));
    say(`${name} is saved.`);
    if (changes.open) showChanges();
  }

  function conflict(name, { theirs, stamp, merged, conflicts = [], detail }) {
    if (typeof theirs !== "string") {
      note("save", detail ?? `${name} exists already. Nothing was saved.`);
      return;
    }
    const settle = () => Object.assign(state.draft, { base: theirs, stamp });
    const acts = [["Open the file as a plan of its own", () => keeping.begin(theirs, { name, more: { file: name, base: theirs, stamp } })]];
    if (merged) acts.push(["Show both in the text, with marks", () => { settle(); changed(merged, "Both versions, with marks where they conflict"); showState(); }]);
    acts.push(["Write this text over the file", () => { settle(); put(name, { base: theirs, stamp }); }]);
    note("save", ["The file has changed, and the changes conflict. Nothing was saved.", ...conflicts].join(" "), ...acts);
  }

  function saveNow() {
    const { file, base, stamp } = state.draft;
    if (file) put(file, { base: base ?? "", stamp: stamp ?? "" });
    else one("[data-save-as]").focus();
  }

  function saveAs() {
    let name = one("[data-save-as]").value.trim();
    if (!name) return;
    if (!name.endsWith(".layout.json")) name += ".layout.json";
    put(name, { new: true });
  }

  /* --- what changed since the last commit */

  async function showChanges() {
    const into = one("[data-change-list]");
    try {
      const { since, changes: some, text = [] } = await server.get(addressOf("changes", state.draft.file));
      const lines = some.length ? some : text;
      one("[data-since]").textContent = since ? `Since ${since}:` : "This file is in no commit yet.";
      into.replaceChildren(...(lines.length ? lines : since ? ["Nothing has changed."] : []).map((line) => make("li", line)));
    } catch (error) { one("[data-since]").textContent = error.message; }
  }

  root.hidden = false;
  one("[data-files-box]").hidden = false;
  save.addEventListener("click", saveNow);
  one("[data-save-as-form]").addEventListener("submit", (event) => {
    event.preventDefault();
    saveAs();
  });
  changes.addEventListener("toggle", () => { if (changes.open) showChanges(); });
  addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== "s") return;
    event.preventDefault();
    saveNow();
  });

  return { open, showFiles, showState };
};
