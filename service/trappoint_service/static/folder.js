/* The list of a folder: fills in the verdicts that are found after the page was sent, and what has
   changed since the last commit. The script never parses any part of a plan as markup. */
"use strict";

(() => {
  const table = document.querySelector("[data-folder]");
  if (!table) return;
  const folder = table.dataset.folder;
  const rows = new Map([...table.querySelectorAll("[data-name]")].map((row) => [row.dataset.name, row]));
  const wait = (seconds) => new Promise((done) => { setTimeout(done, seconds * 1000); });
  const address = (kind, name) => `${folder}/${kind}/${name.split("/").map(encodeURIComponent).join("/")}`;

  async function ask(url) {
    const answer = await fetch(url, { headers: { Accept: "application/json" } });
    return answer.ok ? answer.json() : null;
  }

  function wordFor(file) {
    if (file.kind === "store") return file.holds ? "Usable" : "Not usable";
    if (file.holds === null) return "Not judged";
    return file.holds ? "Holds" : "Does not hold";
  }

  function showVerdict(file) {
    const cell = rows.get(file.name)?.querySelector("[data-verdict]");
    if (!cell || !file.judged) return;
    const word = document.createElement("b");
    word.className = file.holds ? "holds" : file.holds === false ? "fails" : "unjudged";
    word.textContent = wordFor(file);
    cell.replaceChildren(word, ` ${file.findings}`);
  }

  async function fillVerdicts() {
    for (let pause = 0.3; ; pause = Math.min(pause * 1.5, 5)) {
      const found = await ask(`${folder}/plans`);
      if (!found) return;
      found.files.forEach(showVerdict);
      if (found.files.every((file) => file.judged)) return;
      await wait(pause);
    }
  }

  function showChanges(cell, found) {
    const list = document.createElement("ul");
    for (const sentence of found.changes) {
      const item = document.createElement("li");
      item.textContent = sentence;
      list.append(item);
    }
    const more = document.createElement("details");
    const head = document.createElement("summary");
    head.textContent = found.since ? `Changed since ${found.since}` : "Not in the last commit";
    more.append(head, list);
    cell.replaceChildren(more);
  }

  async function fillChanges() {
    for (const [name, row] of rows) {
      if (!["changed", "new"].includes(row.dataset.commit)) continue;
      const found = await ask(address("changes", name));
      if (found?.changes.length) showChanges(row.querySelector("[data-changes]"), found);
    }
  }

  const open = [...rows.values()].some((row) => row.querySelector("[data-verdict] .hint"));
  // A list that cannot be completed stays as it was sent.
  (open ? fillVerdicts() : Promise.resolve()).then(fillChanges).catch(() => {});
})();
