/* Additions to the plain page: dropping files, lighting up roads, checking scenes at once. The
   script never parses any part of a plan as markup. */
"use strict";

(() => {
  const one = (selector, within = document) => within.querySelector(selector);
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const SVG = "http://www.w3.org/2000/svg";

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
      const kept = new DataTransfer();
      kept.items.add(event.dataTransfer.files[0]);
      input.files = kept.files;
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
  const table = data ? JSON.parse(data.dataset.plan).table : null;
  const arms = new Map((table?.arms ?? []).map((entry) => [entry.arm, entry]));
  const drawing = one("[data-drawing]");
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

  function clearRoad() {
    if (drawing) {
      all(".lit, .needed, .chosen, .excluded", drawing).forEach((part) => {
        part.classList.remove("lit", "needed", "chosen", "excluded");
      });
      all(".cross, .lie-needed", drawing).forEach((part) => part.remove());
    }
    all("[data-row]").forEach((row) => {
      row.classList.remove("excluded", "chosen-row");
      one("[data-remark]", row).textContent = "";
    });
    all(".arm-button").forEach((button) => button.setAttribute("aria-pressed", "false"));
  }

  /* Cross out an arm that must not be off together with the chosen one. */
  function crossOut(part, sometimes) {
    const shape = one("path, circle, rect, polygon", part);
    if (!shape) return;
    const box = shape.getBBox();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const cross = document.createElementNS(SVG, "path");
    cross.setAttribute("d", `M${x - 6} ${y - 6} L${x + 6} ${y + 6} M${x + 6} ${y - 6} L${x - 6} ${y + 6}`);
    cross.setAttribute("class", sometimes ? "cross sometimes" : "cross");
    part.append(cross);
    part.classList.add("excluded");
  }

  function showLie(part, lies) {
    all(".leg", part).forEach((leg) => {
      if (lies.includes(leg.dataset.leg) || leg.dataset.leg === "toe") leg.classList.add("needed");
    });
    const label = one("text", part);
    if (!label) return;
    // On a separate line, on the side of the label away from the rails.
    const rails = one(".leg", part)?.getBBox().y ?? 0;
    const y = Number(label.getAttribute("y"));
    const lie = document.createElementNS(SVG, "text");
    const place = {
      x: label.getAttribute("x"), y: y > rails ? y + 9 : y - 9, "font-size": 8.5,
      "text-anchor": label.getAttribute("text-anchor") ?? "start", class: "lie-needed",
    };
    Object.entries(place).forEach(([key, value]) => lie.setAttribute(key, value));
    lie.textContent = lies.join("/");
    part.append(lie);
  }

  function lightRoad(entry) {
    if (!drawing) return;
    drawn("arm", entry.arm).forEach((part) => part.classList.add("chosen"));
    all(`[data-road-of~="${CSS.escape(entry.arm)}"]`, drawing).forEach((part) => part.classList.add("lit"));
    const lies = new Map();
    entry.routes.forEach((route) => Object.entries(route.points).forEach(([id, lie]) => {
      lies.set(id, [...new Set([...(lies.get(id) ?? []), lie])]);
    }));
    lies.forEach((words, id) => {
      [...drawn("points", id), ...drawn("crossings", id)].forEach((part) => showLie(part, words));
    });
    const kinds = new Map();
    entry.conflicts.forEach((conflict) => {
      if (!conflict.when || !kinds.has(conflict.arm)) kinds.set(conflict.arm, Boolean(conflict.when));
    });
    kinds.forEach((sometimes, arm) => drawn("arm", arm).forEach((part) => crossOut(part, sometimes)));
  }

  /* If the diagram is wider than its frame, scroll to the road. */
  function bringIntoFrame() {
    const lit = all(".lit", drawing).map((part) => part.getBoundingClientRect());
    if (!lit.length || drawing.scrollWidth <= drawing.clientWidth) return;
    const frame = drawing.getBoundingClientRect();
    const left = Math.min(...lit.map((box) => box.left));
    const right = Math.max(...lit.map((box) => box.right));
    if (left >= frame.left && right <= frame.right) return;
    drawing.scrollLeft += Math.min(left - frame.left - 20, (left + right) / 2 - frame.left - frame.width / 2);
  }

  const BY = { points: "the points see to it", direct: table?.levers ? "the locking sees to it" : "you must see to it" };
  const inWords = (lies, join) => Object.entries(lies).map(([id, lie]) => `${id} ${lie}`).join(join);

  function showChoice(entry) {
    const box = one("[data-chosen]");
    if (!box) return;
    box.replaceChildren();
    if (!entry) return;
    const lead = make("p");
    lead.append(make("b", `${entry.arm}. `), entry.meaning);
    box.append(lead);
    entry.routes.forEach((route) => {
      const needs = inWords(route.points, ", ");
      box.append(make("p", `${entry.routes.length > 1 ? `To ${route.ends_at}: p` : "P"}oints: ${needs || "none"}.`));
    });
    const never = entry.conflicts.filter((conflict) => !conflict.when).map((conflict) => conflict.arm);
    const some = [...new Set(entry.conflicts.filter((conflict) => conflict.when).map((conflict) => conflict.arm))];
    box.append(make("p", `Never off with it: ${never.join(", ") || "none"}.`));
    if (some.length) box.append(make("p", `Sometimes not off with it, as the points lie: ${some.join(", ")}.`));
  }

  function markRows(entry) {
    const remarks = new Map();
    entry.conflicts.forEach((conflict) => {
      const when = conflict.when ? ` while ${inWords(conflict.when, " and ") || "so set"}` : "";
      const remark = `${conflict.when ? "not" : "never"} off with ${entry.arm}${when}: ${BY[conflict.by]}`;
      remarks.set(conflict.arm, [...(remarks.get(conflict.arm) ?? []), remark]);
    });
    all("[data-row]").forEach((row) => {
      const remark = remarks.get(row.dataset.row);
      row.classList.toggle("excluded", Boolean(remark));
      row.classList.toggle("chosen-row", row.dataset.row === entry.arm);
      one("[data-remark]", row).textContent = remark ? remark.join("; ") : "";
    });
  }

  function choose(arm) {
    chosen = arm;
    clearRoad();
    unmark();
    const entry = arms.get(arm);
    if (entry) {
      lightRoad(entry);
      if (drawing) bringIntoFrame();
      markRows(entry);
      all(".arm-button").forEach((button) => {
        button.setAttribute("aria-pressed", String(button.dataset.arm === arm));
      });
    }
    showChoice(entry);
    const select = one("#choose-arm");
    if (select) select.value = entry ? arm : "";
  }

  function makeArmsChoosable() {
    const chooser = one("[data-chooser]");
    const select = one("#choose-arm");
    if (chooser && select) {
      chooser.hidden = false;
      arms.forEach((entry, arm) => select.append(new Option(arm, arm)));
      one("[data-fit]", chooser).addEventListener("change", (event) => {
        drawing.classList.toggle("fitted", event.target.checked);
      });
      select.addEventListener("change", () => choose(select.value));
    }
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
    if (!drawing) return;
    all("[data-arm]", drawing).forEach((part) => {
      // Arms are small: put a wider target beneath them.
      const box = part.getBBox();
      const hit = document.createElementNS(SVG, "rect");
      Object.entries({ x: box.x - 7, y: box.y - 5, width: box.width + 14, height: box.height + 10, class: "hit" })
        .forEach(([key, value]) => hit.setAttribute(key, value));
      part.append(hit);
    });
    drawing.addEventListener("click", (event) => {
      const part = event.target.closest("[data-arm]");
      if (part && arms.has(part.dataset.arm)) choose(chosen === part.dataset.arm ? "" : part.dataset.arm);
    });
    addEventListener("keydown", (event) => { if (event.key === "Escape" && chosen) choose(""); });
  }

  // --- findings

  function unmark() {
    all(".pointed").forEach((part) => part.classList.remove("pointed"));
  }

  function showFinding(finding, scroll) {
    if (chosen) choose("");
    unmark();
    finding.classList.add("pointed");
    const line = one("[data-line]", finding);
    if (line) one(`#L${line.dataset.line}`)?.classList.add("pointed");
    const parts = partsOf(finding);
    parts.forEach((part) => part.classList.add("pointed"));
    if (scroll && parts.length) {
      one("#diagram").scrollIntoView();
      parts[0].scrollIntoView({ block: "center", inline: "center" });
    }
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

  function makeFindingsShowable() {
    all(".finding").forEach((finding) => {
      one("[data-line]", finding)?.addEventListener("click", () => showFinding(finding, false));
      if (!partsOf(finding).length) return;
      const button = make("button", "Show on the diagram", "show");
      button.type = "button";
      button.addEventListener("click", () => showFinding(finding, true));
      one(".where", finding).append(button);
    });
  }

  // --- the scene

  const STATES = { off: "is off", wrong: "is off, but must be on", may: "may be off too", "must-not": "must stay on" };

  function setUpScene(box) {
    const text = one("#plan-text");
    let plan;
    try { plan = JSON.parse(text.defaultValue); } catch { return; }
    let asked = 0;
    let timer = 0;

    function wish() {
      const points = {};
      all("[data-lever]", box).forEach((select) => {
        if (select.value === "normal") return;
        select.dataset.lever.split(" ").forEach((id) => { points[id] = select.value; });
      });
      const off = all("input[name=off]:checked", box).map((input) => input.value);
      return { plan, points, off };
    }

    async function workOut() {
      const number = asked += 1;
      const summary = one("[data-summary]", box);
      box.setAttribute("aria-busy", "true");
      let answer = null;
      let trouble = "";
      try {
        const response = await fetch(box.dataset.address, {
          method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(wish()),
        });
        answer = await response.json();
        if (!response.ok) trouble = answer.detail;
      } catch {
        trouble = "The service did not answer.";
      }
      if (number !== asked) return;
      box.removeAttribute("aria-busy");
      if (trouble) { summary.textContent = trouble; return; }
      show(answer, summary);
    }

    function show(answer, summary) {
      answer.arms.forEach((arm) => {
        const choice = one(`[data-choice="${CSS.escape(arm.arm)}"]`, box);
        choice.className = `arm-choice ${arm.state}`;
        one("[data-state]", choice).textContent =
          STATES[arm.state] + (arm.because.length ? `. ${arm.because.join(" ")}` : "");
      });
      const loose = one("[data-loose]", box);
      loose.replaceChildren(...answer.points.map((entry) => make("li", `${entry.message} ${entry.fix}`)));
      const count = (state) => answer.arms.filter((arm) => arm.state === state).length;
      const wrong = count("wrong") ? ` ${count("wrong")} of them must be on.` : "";
      summary.textContent = `${count("off")} off.${wrong} ${count("may")} others may be off too, one at a time.`;
      showHeld();
    }

    /* Show for each points which arms lock them. */
    function showHeld() {
      const off = all("input[name=off]:checked", box).map((input) => input.value);
      all("[data-held]", box).forEach((place) => {
        const ids = place.dataset.held.split(" ");
        const holding = off.filter((arm) => arms.get(arm)?.routes.some(
          (route) => ids.some((id) => id in route.points)));
        place.textContent = holding.length ? `held by ${holding.join(", ")}` : "";
      });
    }

    box.addEventListener("change", () => {
      clearTimeout(timer);
      timer = setTimeout(workOut, 120);
    });
    one("[data-work-out]", box).parentElement.hidden = true;
    showHeld();
    if (box.dataset.asked === "no") {
      const watch = new IntersectionObserver((entries) => {
        if (!entries.some((entry) => entry.isIntersecting)) return;
        watch.disconnect();
        workOut();
      });
      watch.observe(box);
    }
  }

  const form = one("[data-drop]");
  if (form) {
    takeDrops(form);
    refuseTooLarge(form);
    showPlaces(form);
  }
  if (arms.size) makeArmsChoosable();
  makeFindingsShowable();
  const scene = one("[data-scene]");
  if (scene) setUpScene(scene);
})();
