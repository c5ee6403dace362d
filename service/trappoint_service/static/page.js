/* Additions to the plain page: dropping files, the place in the queue, rows and findings that show
   their things on the diagram. The script never parses any part of a plan as markup. */
"use strict";

(() => {
  const one = (selector, within = document) => within.querySelector(selector);
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];

  function make(tag, words = "", kind = "") {
    const made = document.createElement(tag);
    made.textContent = words;
    if (kind) made.className = kind;
    return made;
  }

  // --- sending a plan

  function takeDrops(form) {
    const input = one("#plan-file", form);
    all("[data-drop-hint]").forEach((hint) => { hint.hidden = false; });
    let depth = 0;
    const show = () => document.body.classList.toggle("dropping", depth > 0);
    const hasFiles = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
    addEventListener("dragenter", (event) => { if (hasFiles(event)) { depth += 1; show(); } });
    addEventListener("dragleave", (event) => {
      if (hasFiles(event)) { depth = Math.max(0, depth - 1); show(); }
    });
    addEventListener("dragover", (event) => { if (hasFiles(event)) event.preventDefault(); });
    addEventListener("drop", (event) => {
      depth = 0;
      show();
      if (!hasFiles(event) || !event.dataTransfer.files.length) return;
      event.preventDefault();
      input.files = event.dataTransfer.files;
      form.requestSubmit(one(".main-button", form));
    });
  }

  /* Do not send a plan that is too large: the server could not put it back into the form. */
  function refuseTooLarge(form) {
    const limit = Number(form.dataset.limit);
    const notice = one("[data-too-large]", form);
    const size = (value) => (
      value instanceof File ? value.size : new Blob([value.replace(/\r?\n/g, "\r\n")]).size);
    form.addEventListener("submit", (event) => {
      const bytes = [...new FormData(form, event.submitter)].reduce(
        // Each part of the form adds some lines.
        (sum, [name, value]) => sum + size(value) + size(name) + (value.name?.length ?? 0) * 3 + 200, 0);
      notice.hidden = bytes <= limit;
      if (notice.hidden) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      notice.textContent = `Plan and store are too large: together they may have ${limit / 1048576} MiB. Nothing was sent; both are still in the form.`;
      notice.focus();
    }, true);
  }

  // --- waiting

  const ORDINALS = ["", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];

  /* Show the place in the queue while the request waits. The form sends a random ticket; the
     script asks for the place of that ticket. */
  function showPlaces(form) {
    const notice = make("p", "", "message queue");
    notice.setAttribute("role", "status");
    let timer = 0;
    const stop = () => { clearInterval(timer); notice.remove(); };

    async function ask(address, waited) {
      let found = null;
      try { found = await (await fetch(address)).json(); } catch { /* ask again in a second */ }
      if (!found) {
        if (notice.textContent || waited > 30) stop();
        return;
      }
      const place = ORDINALS[found.place] ?? `number ${found.place}`;
      const soon = found.seconds < 90
        ? `about ${found.seconds} s` : `about ${Math.round(found.seconds / 60)} minutes`;
      notice.textContent = found.place
        ? `You are ${place} in the queue; your turn is in ${soon}.`
        : "It is your turn: the service is at work on your plan.";
    }

    let ticket = "";
    form.addEventListener("submit", (event) => {
      ticket = [...crypto.getRandomValues(new Uint8Array(16))]
        .map((byte) => byte.toString(16).padStart(2, "0")).join("");
      notice.textContent = "";
      (event.submitter?.closest(".do, p, ul") ?? form.lastElementChild).after(notice);
      const address = form.dataset.queue.replace("TICKET", ticket);
      let waited = 0;
      clearInterval(timer);
      timer = setInterval(() => { waited += 1; ask(address, waited); }, 1000);
    });
    // A browser may fire this event more than once for one request.
    form.addEventListener("formdata", (event) => event.formData.set("ticket", ticket));
    addEventListener("pageshow", stop);
  }

  // --- the diagram and the table

  const data = one("#plan-data");
  const editorOf = (line) => {
    const text = one(`[data-editor="${CSS.escape(line?.dataset.board ?? "")}"]`);
    return text?.value ? text.editor : null;
  };
  const { by = {}, conflicts = {} } = data ? JSON.parse(data.dataset.plan) : {};
  const conflictsOf = new Map(Object.entries(conflicts));
  const drawing = one("[data-drawing]");
  const diagram = all("[data-working]").find((each) => each.working) ?? null;
  let chosen = "";

  function drawn(kind, id) {
    if (!drawing) return [];
    const name = CSS.escape(id);
    const selectors = {
      arm: `[data-arm="${name}"]`, arms: `[data-arm="${name}"]`,
      signals: `[data-signal="${name}"].signal`, tracks: `[data-track="${name}"].track`,
      platforms: `[data-platform="${name}"]`, yards: `[data-yard="${name}"]`,
      points: `[data-kind="points"][data-id="${name}"]`,
      crossings: `[data-kind="crossing"][data-id="${name}"]`,
      turntables: `[data-kind="turntable"][data-id="${name}"]`,
    };
    return selectors[kind] ? all(selectors[kind], drawing) : [];
  }

  const inWords = (lies, join) => Object.entries(lies).map(([id, lie]) => `${id} ${lie}`).join(join);

  /* Mark the row of the arm whose road is shown, and the rows of the arms that must stay on. */
  function markRows(arm) {
    chosen = arm;
    if (arm) unmark();
    const remarks = new Map();
    (conflictsOf.get(arm) ?? []).forEach((conflict) => {
      const when = conflict.when ? ` while ${inWords(conflict.when, " and ") || "so set"}` : "";
      const remark = `${conflict.when ? "not" : "never"} off with ${arm}${when}: ${by[conflict.by]}`;
      remarks.set(conflict.arm, [...(remarks.get(conflict.arm) ?? []), remark]);
    });
    all("[data-row]").forEach((row) => {
      const remark = remarks.get(row.dataset.row);
      row.classList.toggle("excluded", Boolean(remark));
      row.classList.toggle("chosen-row", row.dataset.row === arm);
      one("[data-remark]", row).textContent = remark ? remark.join("; ") : "";
    });
    all(".arm-button").forEach((button) => {
      button.setAttribute("aria-pressed", String(button.dataset.arm === arm));
    });
  }

  function choose(arm) {
    if (diagram) diagram.working.showRoadOf(arm);
    else markRows(arm);
  }

  function makeArmsChoosable() {
    all("[data-arm-name]").forEach((name) => {
      const arm = name.dataset.armName;
      const button = make("button", arm, "arm-button");
      button.type = "button";
      button.dataset.arm = arm;
      button.setAttribute("aria-pressed", "false");
      button.setAttribute("aria-label", `Show the road of arm ${arm}`);
      button.addEventListener("click", () => choose(chosen === arm ? "" : arm));
      name.replaceWith(button);
    });
    diagram?.addEventListener("arm-shown", (event) => markRows(event.detail));
  }

  // --- findings

  function unmark() {
    all(".pointed").forEach((part) => part.classList.remove("pointed"));
  }

  function showFinding(finding, scroll) {
    if (chosen) choose("");
    unmark();
    finding.classList.add("pointed");
    const parts = partsOf(finding);
    parts.forEach((part) => part.classList.add("pointed"));
    if (scroll && parts.length) {
      one("#diagram").scrollIntoView();
      parts[0].scrollIntoView({ block: "center", inline: "center" });
      return;
    }
    const line = one("[data-line]", finding);
    const editor = line && editorOf(line);
    if (editor) editor.go(editor.lineOf(finding) ?? Number(line.dataset.line));
    else if (line) one(`#L${line.dataset.line}`)?.classList.add("pointed");
    if (parts.length) bringIntoFrame(parts[0]);
  }

  /* Scroll the frame of the diagram to a part, but not the page. */
  function bringIntoFrame(part) {
    const [frame, box] = [drawing, part].map((each) => each.getBoundingClientRect());
    if (box.left >= frame.left && box.right <= frame.right) return;
    drawing.scrollLeft += (box.left + box.right - frame.left - frame.right) / 2;
  }

  function partsOf(finding) {
    const [kind, id] = JSON.parse(finding.dataset.about);
    const parts = kind ? drawn(kind, id) : [];
    JSON.parse(finding.dataset.ids).forEach((name) => {
      const bare = name.replace(/\.\d+$/, "");
      ["tracks", "points", "crossings", "turntables", "yards", "platforms", "arm"].forEach((sort) => {
        parts.push(...drawn(sort, bare));
      });
    });
    return parts;
  }

  /* A press on a finding leads to its line and marks its things on the diagram. */
  function makeFindingsShowable() {
    all(".finding").forEach((finding) => {
      const line = one("[data-line]", finding);
      finding.classList.toggle("pressable", Boolean(line));
      finding.addEventListener("click", (event) => {
        const own = event.target.closest("a, button, summary");
        if ((own && own !== line) || String(getSelection())) return;
        if (line && editorOf(line)) event.preventDefault();
        showFinding(finding, false);
      });
      if (diagram && finding.dataset.play) {
        addButton(finding, "Play this movement", () => diagram.working.play(Number(finding.dataset.play)));
      }
      if (partsOf(finding).length) {
        addButton(finding, "Show on the diagram", () => showFinding(finding, true));
      }
    });
  }

  function addButton(finding, words, press) {
    const button = make("button", words, "show");
    button.type = "button";
    button.addEventListener("click", press);
    one(".where", finding).append(button);
  }

  /* The editor has the lines and their marks, so the list of lines is not needed. */
  function editInPlace() {
    const listing = one("#text");
    if (!editorOf() || !listing) return;
    listing.hidden = true;
    all('a[href="#text"]').forEach((link) => { link.hash = "#again"; });
  }

  // --- the scene

  /* The diagram takes the place of the form of a scene. The form stays, hidden: it sends what is set
     with every request, so that the next page has it too. */
  function keepScene(scene) {
    const levers = all("[data-lever]", scene);
    const boxes = all("input[name=off]", scene);
    const { work, show } = diagram.working;
    const points = levers.filter((select) => select.value !== "normal").flatMap((select) => (
      select.dataset.lever.split(" ").map((id) => [id, select.value])));
    const off = boxes.filter((box) => box.checked).map((box) => box.value);
    if (points.length || off.length) show({ points: Object.fromEntries(points), off });
    scene.hidden = true;
    one("#scene").removeAttribute("id");
    diagram.id = "scene";
    diagram.addEventListener("worked", () => {
      const wordOf = new Map(work.groups.flatMap((group, g) => group.switches.map((s) => (
        [work.switches[s].id, group.settings[work.settingOf(g)]?.word ?? "normal"]))));
      levers.forEach((select) => { select.value = wordOf.get(select.dataset.lever.split(" ")[0]); });
      const isOff = new Set([...work.off].map((a) => work.arms[a].id));
      boxes.forEach((box) => { box.checked = isOff.has(box.value); });
    });
  }

  const form = one("[data-drop]");
  if (form) {
    takeDrops(form);
    refuseTooLarge(form);
    showPlaces(form);
  }
  if (conflictsOf.size) makeArmsChoosable();
  makeFindingsShowable();
  editInPlace();
  const scene = one("[data-scene-form]");
  if (diagram && scene) keepScene(scene);
})();
