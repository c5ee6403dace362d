/* The text of the plan, with line numbers and marks. Typing goes before everything else: a text from
   elsewhere changes only the lines that differ, and leaves caret and scrolling. */
"use strict";

trappointBuild.makeTextPane = (root, { onType, onUndo, onRedo, onCaret }) => {
  const { make } = trappointBuild;
  const area = root.querySelector("textarea");
  const gutter = root.querySelector("[data-line-numbers]");
  let marks = new Map();
  let drawn = 0;

  /* The stretches in which two lists of lines differ, by the shortest edit script (E. W. Myers,
     "An O(ND) Difference Algorithm and Its Variations", Algorithmica 1, 1986). */
  const MOST_EDITS = 300;

  function editedStretches(before, after) {
    const [n, m] = [before.length, after.length];
    const trace = [];
    let far = new Map([[1, 0]]);
    for (let edits = 0; edits <= Math.min(n + m, MOST_EDITS); edits += 1) {
      trace.push(new Map(far));
      for (let k = -edits; k <= edits; k += 2) {
        const down = k === -edits || (k !== edits && (far.get(k - 1) ?? -1) < (far.get(k + 1) ?? -1));
        let x = down ? far.get(k + 1) : far.get(k - 1) + 1;
        while (x < n && x - k < m && before[x] === after[x - k]) x += 1;
        far.set(k, x);
        if (x >= n && x - k >= m) return backtrack(trace, n, m);
      }
    }
    return [{ from: 0, to: n, with: [0, m] }];
  }

  function backtrack(trace, n, m) {
    const stretches = [];
    let [x, y] = [n, m];
    for (let edits = trace.length - 1; edits > 0; edits -= 1) {
      const far = trace[edits];
      const k = x - y;
      const down = k === -edits || (k !== edits && (far.get(k - 1) ?? -1) < (far.get(k + 1) ?? -1));
      const before = down ? k + 1 : k - 1;
      const [u, v] = [far.get(before), far.get(before) - before];
      // The edit goes from (u, v) to (u, v + 1) or (u + 1, v); equal lines follow.
      const last = stretches.at(-1);
      const [to, end] = [down ? u : u + 1, down ? v + 1 : v];
      if (last && last.from === to && last.with[0] === end) {
        last.from = u;
        last.with[0] = v;
      } else stretches.push({ from: u, to, with: [v, end] });
      [x, y] = [u, v];
    }
    return stretches; // the last in the text comes first
  }

  /* Show another plan, from its first line. */
  function begin(text) {
    area.value = text;
    area.setSelectionRange(0, 0);
    area.scrollTop = 0;
    draw();
  }

  function setText(text) {
    const old = area.value;
    if (old === text) return;
    const { scrollTop, scrollLeft } = area;
    const [before, after] = [old.split("\n"), text.split("\n")];
    const starts = [0];
    before.forEach((line) => starts.push(starts.at(-1) + line.length + 1));
    const height = area.scrollHeight / Math.max(1, before.length);
    const top = Math.floor(scrollTop / height);
    let moved = 0;
    editedStretches(before, after).forEach(({ from, to, with: [first, end] }) => {
      // A last line has no line break at its end, so take the one before it.
      const atEnd = to >= before.length;
      const inner = after.slice(first, end).map((line) => (atEnd ? `\n${line}` : `${line}\n`)).join("");
      const start = atEnd ? Math.max(0, starts[from] - 1) : starts[from];
      const stop = atEnd ? old.length : starts[to];
      area.setRangeText(atEnd && from === 0 ? inner.slice(1) : inner, start, stop, "preserve");
      if (to <= top) moved += end - first - (to - from);
    });
    if (area.value !== text) area.value = text;
    area.scrollTop = scrollTop + moved * height;
    area.scrollLeft = scrollLeft;
    draw();
  }

  /* --- line numbers and marks */

  function draw() {
    const count = area.value.split("\n").length;
    while (drawn < count) {
      drawn += 1;
      gutter.append(make("span", String(drawn)));
    }
    while (drawn > count) {
      drawn -= 1;
      gutter.lastElementChild.remove();
    }
    gutter.scrollTop = area.scrollTop;
  }

  /* `found`: for each line number, the level and the message of its finding. */
  function mark(found) {
    marks.forEach((_, line) => {
      const own = gutter.children[line - 1];
      own?.removeAttribute("class");
      own?.removeAttribute("title");
    });
    marks = found;
    marks.forEach(({ level, message }, line) => {
      const own = gutter.children[line - 1];
      if (!own) return;
      own.className = `marked ${level}`;
      own.title = message;
    });
  }

  function pointAt(lines) {
    [...gutter.querySelectorAll(".at")].forEach((own) => own.classList.remove("at"));
    lines.forEach((line) => gutter.children[line - 1]?.classList.add("at"));
  }

  const lineAt = (offset) => area.value.slice(0, offset).split("\n").length;

  function scrollTo(line) {
    const height = area.scrollHeight / Math.max(1, area.value.split("\n").length);
    const y = (line - 1) * height;
    if (y < area.scrollTop || y > area.scrollTop + area.clientHeight - 2 * height) {
      area.scrollTop = Math.max(0, y - area.clientHeight / 3);
    }
  }

  /* Select a whole line and show it. */
  function showLine(line, column = 0) {
    const lines = area.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
    area.focus({ preventScroll: false });
    area.setSelectionRange(start + Math.max(0, column - 1), start + (lines[line - 1]?.length ?? 0));
    scrollTo(line);
    pointAt([line]);
  }

  let composing = false;
  area.addEventListener("compositionstart", () => { composing = true; });
  area.addEventListener("compositionend", () => { composing = false; });
  area.addEventListener("input", () => { draw(); onType(area.value); });
  area.addEventListener("scroll", () => { gutter.scrollTop = area.scrollTop; });
  area.addEventListener("beforeinput", (event) => {
    if (event.inputType !== "historyUndo" && event.inputType !== "historyRedo") return;
    event.preventDefault();
    (event.inputType === "historyUndo" ? onUndo : onRedo)();
  });
  ["keyup", "click"].forEach((type) => area.addEventListener(type, () => onCaret(area.selectionStart)));

  return {
    area, begin, setText, mark, pointAt, lineAt, scrollTo, showLine,
    get composing() { return composing; },
    get text() { return area.value; },
  };
};
