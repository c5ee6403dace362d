/* The plans of a folder on this computer: listed, opened, saved. */
"use strict";

trappointBuild.makeFolder = (root, { address, state, server, drafts, keeping, changed, note, say, showTitle, openBeginnings }) => {
  const { make, button, clock, boardsIn } = trappointBuild;
  const one = (selector) => root.querySelector(selector);
  const list = one("[data-files]");
  const status = one("[data-saved]");
  const save = one("[data-save]");
  const changes = one("[data-changes]");
  const addressOf = (kind, name) => `${address}/${kind}/${name.split("/").map(encodeURIComponent).join("/")}`;
  const VERDICTS = new Map([[true, "holds"], [false, "does not hold"], [null, "not judged"]]);

  const folderOf = (path) => path.slice(0, path.lastIndexOf("/") + 1);

  /* --- the list */

  let plans = [];

  async function showFiles() {
    try {
      const { folder, files } = await server.get(`${address}/plans`);
      one("[data-folder-name]").textContent = `With a plan of the folder ${folder}`;
      plans = files.filter(({ kind }) => kind === "plan");
      list.replaceChildren(...plans.map((file) => {
        const item = make("li", "");
        item.append(button(file.name, () => open(file.name), "draft"), make("span", `${VERDICTS.get(file.holds ?? null)}, changed ${clock(Date.parse(file.changed))}`, { class: "hint" }));
        return item;
      }));
    } catch (error) { note("trouble", error.message); }
  }

  /* The texts of the files that a plan of the folder names as its boards; without those that cannot
     be read: the findings say so. */
  async function boardsOf(name, text, at = "", found = {}) {
    await Promise.all(boardsIn(text).map(async (file) => {
      const path = folderOf(at) + file; // from the folder of the plan
      if (path in found) return;
      found[path] = "";
      try { found[path] = (await server.get(addressOf("plans", folderOf(name) + path))).text; } catch { delete found[path]; }
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

  /* --- boards: plans in the folder of this one, or below it */

  function bringBoards(boards) {
    const names = document.querySelector("[data-board-names]");
    const fill = () => names.replaceChildren(...plans.map(({ name }) => name)
      .filter((name) => name !== state.draft.file && name.startsWith(folderOf(state.draft.file))).map((name) => new Option(name, name)));
    names.closest("details").addEventListener("toggle", async () => { await showFiles(); fill(); });
    document.querySelector("[data-add-board]").addEventListener("click", async () => {
      if (!names.value) return;
      try {
        const at = names.value.slice(folderOf(state.draft.file).length);
        const { text } = await server.get(addressOf("plans", names.value));
        boards.add(at, text, await boardsOf(state.draft.file, text, at));
      } catch (error) { note("trouble", error.message); }
    });
  }

  /* Open the file of a board. Returns false if the plan itself is not in the folder. */
  function openBoard(name) {
    if (!state.draft.file) return false;
    open(folderOf(state.draft.file) + name);
    return true;
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
        else {
          saved(name, text, answer);
          if (more.new) await saveBoards(name);
        }
      }
    } catch (error) { note("save", `${error.message} Nothing was saved; your text is here.`); }
    saving = false;
    showState();
  }

  /* A plan that is new in the folder brings the boards along that are not there yet. */
  async function saveBoards(name) {
    const told = [];
    await Promise.all(Object.entries(state.boards).map(async ([board, text]) => {
      const file = folderOf(name) + board;
      try {
        const answer = await server.put(addressOf("plans", file), { text, new: true });
        if (answer.status !== 409) told.push(`${file} is saved too.`);
        else if ((await server.get(addressOf("plans", file))).text !== text) told.push(`The folder has another ${file}: it was left as it is.`);
      } catch (error) { told.push(`${file} was not saved: ${error.message}`); }
    }));
    if (told.length) note("boards", told.join(" "));
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
    showTitle();
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

  return { open, showFiles, showState, bringBoards, openBoard };
};
