/* The texts of a plan and its boards with numbers of their lines beside them, and marks at the lines
   with findings. `editor` of a text field is what the rest of the page may call. */
"use strict";

(() => {
  const LEVELS = ["note", "warning", "error"];

  document.querySelectorAll("[data-editor]").forEach(edit);

  /* Give a text field its numbers and marks. The editor of a board has the name of its file. */
  function edit(text) {
    const frame = document.createElement("div");
    frame.className = "editor";
    const gutter = document.createElement("div");
    gutter.className = "gutter";
    gutter.setAttribute("aria-hidden", "true");
    const says = document.createElement("p");
    says.className = "line-says";
    says.setAttribute("role", "status");
    text.before(frame);
    frame.append(gutter, text);
    frame.after(says);

    /* The findings of each line, from the list of findings on the page. */
    const links = [...document.querySelectorAll(".finding:not(.accepted *) [data-line]")];
    const marks = links.filter((link) => (link.dataset.board ?? "") === text.dataset.editor).map((link) => {
      const finding = link.closest(".finding");
      const level = LEVELS.find((one) => finding.classList.contains(one)) ?? "note";
      const message = finding.querySelector(".text").textContent;
      return { line: Number(link.dataset.line), level, message, finding };
    });

    let before = text.value;
    let lines = count(before, before.length);
    let high = 0;
    let drawn = "";

    /* The number of line ends before a place. */
    function count(value, end) {
      let found = 0;
      for (let at = value.indexOf("\n"); at >= 0 && at < end; at = value.indexOf("\n", at + 1)) found += 1;
      return found;
    }

    /* Let the marks go with their lines. */
    function follow() {
      const now = text.value;
      const most = Math.min(before.length, now.length);
      let same = 0;
      while (same < most && before.charCodeAt(same) === now.charCodeAt(same)) same += 1;
      const changed = count(now, same) + 1;
      const total = count(now, now.length);
      marks.forEach((mark) => {
        if (mark.line > changed) mark.line = Math.max(changed, mark.line + total - lines);
      });
      [before, lines] = [now, total];
      draw();
    }

    /* Draw the numbers of the lines in view only: a long text stays quick. */
    function draw() {
      if (!high) high = parseFloat(getComputedStyle(text).lineHeight);
      if (!high || !text.clientHeight) return;
      const pad = parseFloat(getComputedStyle(text).paddingTop);
      const first = Math.max(0, Math.floor((text.scrollTop - pad) / high));
      const last = Math.min(lines, first + Math.ceil(text.clientHeight / high) + 1);
      const here = marks.filter((mark) => mark.line > first && mark.line <= last + 1);
      const key = [first, last, high, ...here.map((mark) => `${mark.line}${mark.level}`)].join();
      if (key !== drawn) {
        drawn = key;
        gutter.replaceChildren();
        for (let n = first; n <= last; n += 1) gutter.append(number(n + 1, here));
      }
      gutter.style.setProperty("--top", `${pad + first * high - text.scrollTop}px`);
      gutter.style.setProperty("--digits", String(lines + 1).length);
    }

    function number(line, here) {
      const made = document.createElement("span");
      made.textContent = line;
      const own = here.filter((mark) => mark.line === line)
        .sort((a, b) => LEVELS.indexOf(b.level) - LEVELS.indexOf(a.level));
      if (own.length) {
        made.className = `marked ${own[0].level}`;
        made.title = own.map((mark) => mark.message).join("\n");
        made.addEventListener("click", () => { go(line); own[0].finding.scrollIntoView({ block: "center" }); });
      }
      return made;
    }

    const lineOfCaret = () => count(text.value, text.selectionStart) + 1;

    function tellLine() {
      if (document.activeElement !== text || !marks.length) return;
      const line = lineOfCaret();
      const own = marks.filter((mark) => mark.line === line);
      const words = own.length ? `Line ${line}: ${own.map((mark) => mark.message).join(" ")}` : "";
      if (says.textContent !== words) says.textContent = words;
    }

    /* Select a line as it was when the page came, wherever it is now. */
    function go(line) {
      let start = 0;
      for (let n = 1; n < line; n += 1) {
        const end = text.value.indexOf("\n", start);
        if (end < 0) break;
        start = end + 1;
      }
      const end = text.value.indexOf("\n", start);
      text.closest("details")?.setAttribute("open", "");
      high ||= parseFloat(getComputedStyle(text).lineHeight);
      text.focus({ preventScroll: true });
      text.setSelectionRange(start, end < 0 ? text.value.length : end);
      text.scrollTop = Math.max(0, (line - 1) * high - text.clientHeight / 3);
      text.scrollLeft = 0;
      text.scrollIntoView({ block: "center" });
      draw();
      tellLine();
    }

    text.addEventListener("input", follow);
    text.addEventListener("filled", follow);
    text.addEventListener("scroll", draw);
    document.addEventListener("selectionchange", tellLine);
    new ResizeObserver(() => { high = 0; draw(); }).observe(text);
    text.editor = {
      go,
      lineOf: (finding) => marks.find((mark) => mark.finding === finding)?.line,
    };
    draw();
  }
})();
