/* What a plan can begin with: a line, a shape, an example, files, a paste, a draft. */
"use strict";

/* The files that a plan names as its boards; none for a text that is no plan. */
trappointBuild.boardsIn = (text) => {
  try {
    return Object.values(JSON.parse(text).boards ?? {}).map((board) => String(board?.plan ?? ""));
  } catch { return []; }
};

trappointBuild.makeBeginnings = (root, { server, drafts, onText, onStep, onOpen, onForget, onTrouble, current }) => {
  const { make, button, clock, makeOffers, boardsIn } = trappointBuild;
  const list = root.querySelector("[data-drafts]");
  const none = root.querySelector("[data-no-drafts]");
  const input = root.querySelector("input[type=file]");
  const first = makeOffers(root.querySelector("[data-first]"), {
    onDo: onStep, onPreview: () => {}, onLeave: () => {}, onGo: () => {}, onClose: () => {}, folded: false,
  });
  const BEGIN = new Set(["lay-line", "lay-shape"]); // steps that make the first track
  let asked = false;

  /* --- drafts */

  function row(draft) {
    const item = make("li", "");
    const own = draft.id === current();
    const words = `${draft.title || draft.name || "Plan without a title"}, ${clock(draft.when)}`;
    const open = button(own ? `${words} (shown)` : words, () => onOpen(draft.id), "draft");
    const forget = button("Forget", () => {
      onForget(draft.id);
      showDrafts();
    });
    forget.setAttribute("aria-label", `Forget the draft ${words}`);
    item.append(open, forget);
    return item;
  }

  function showDrafts() {
    const found = drafts.list();
    list.replaceChildren(...found.map(row));
    none.hidden = found.length > 0;
  }

  /* --- examples, which the service has */

  root.querySelectorAll("[data-example]").forEach((form) => form.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      const text = await server.text(form.action);
      onText(text, form.dataset.name, `The example ${form.dataset.example} is open.`);
    } catch (error) { onTrouble(error.message); }
  }));

  /* --- files: one plan, with its boards; or several plans, each a draft of its own */

  const bare = (name) => name.replaceAll("\\", "/").split("/").at(-1);

  async function read(file) {
    const bytes = await file.arrayBuffer();
    try { return new TextDecoder("utf-8", { fatal: true }).decode(bytes); } catch { return null; }
  }

  async function take(files) {
    const read_ = await Promise.all([...files].map(async (file) => ({ name: file.name, text: await read(file) })));
    const bad = read_.filter(({ text }) => text === null).map(({ name }) => name);
    if (bad.length) onTrouble(`Not a text in UTF-8, and left out: ${bad.join(", ")}.`);
    const plans = read_.filter(({ text }) => text !== null);
    if (!plans.length) return;
    // The plan is the file that names others as its boards.
    const whole = plans.find(({ text }) => boardsIn(text).length && plans.length > 1);
    const boards = {};
    const used = new Set([whole]);
    (whole ? boardsIn(whole.text) : []).forEach((name) => {
      const own = plans.find((each) => each.name === bare(name));
      if (!own) return;
      boards[name] = own.text; // under the name that the plan gives it
      used.add(own);
    });
    const rest = plans.filter((own) => !used.has(own));
    [...rest.slice(whole ? 0 : 1).reverse()].forEach((own) => onText(own.text, own.name, "", {}));
    const shown = whole ?? rest[0];
    onText(shown.text, shown.name, `${shown.name} is open.`, boards);
  }

  input.addEventListener("change", async () => {
    await take(input.files);
    input.value = "";
  });
  const hasFiles = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
  let depth = 0;
  const showDrop = () => document.body.classList.toggle("dropping", depth > 0);
  addEventListener("dragenter", (event) => { if (hasFiles(event)) { depth += 1; showDrop(); } });
  addEventListener("dragleave", (event) => { if (hasFiles(event)) { depth = Math.max(0, depth - 1); showDrop(); } });
  addEventListener("dragover", (event) => { if (hasFiles(event)) event.preventDefault(); });
  addEventListener("drop", (event) => {
    depth = 0;
    showDrop();
    if (!hasFiles(event) || !event.dataTransfer.files.length) return;
    event.preventDefault();
    take(event.dataTransfer.files);
  });

  /* A plan that is pasted outside of any field. */
  addEventListener("paste", (event) => {
    if (event.target.closest?.("textarea, input, select")) return;
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (text.trimStart().startsWith("{")) onText(text, "", "The pasted plan is open.");
  });

  async function askFirst() {
    if (asked) return;
    asked = true;
    try {
      const { offers } = await server.lay({ plan: null, steps: [], at: ["plan"], before: null, want: ["offers"] });
      const own = offers.find(({ at }) => at === "plan");
      const can = own?.can.filter(({ step }) => BEGIN.has(step.do)) ?? [];
      first.show([{ ...own, can, called: "With a line or a shape" }], [], String);
    } catch (error) {
      asked = false;
      onTrouble(error.message);
    }
  }

  function open(is) {
    root.hidden = !is;
    if (!is) return;
    showDrafts();
    askFirst();
  }

  return { open, showDrafts, get isOpen() { return !root.hidden; } };
};
