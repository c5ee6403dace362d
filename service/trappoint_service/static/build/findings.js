/* The verdict, and the findings with their places and what mends them. */
"use strict";

trappointBuild.makeFindings = (root, { onPoint, onFix, onPlay }) => {
  const { make, button } = trappointBuild;
  const stamp = root.querySelector("[data-verdict]");
  const word = root.querySelector("[data-stamp]");
  const sentence = root.querySelector("[data-sentence]");
  const list = root.querySelector("[data-findings]");
  const granted = root.querySelector("[data-granted]");
  const ruleAddress = root.dataset.rules;
  const ORDER = ["error", "warning", "note"];
  const MOST = 20;
  let all = false;
  let shown = null;

  const unescaped = (part) => part.replaceAll("~1", "/").replaceAll("~0", "~");

  /* The thing of the plan that a finding points at, as a place; "" for none. */
  function placeOf({ pointer }) {
    const [, kind, id, more] = (pointer ?? "").split("/").map(unescaped);
    if (!id) return "";
    if (kind === "tracks" && (more === "up" || more === "down")) return `tracks/${id}/${more}`;
    return kind === "levers" ? "" : `${kind}/${id}`;
  }

  function counted(findings) {
    return ORDER.map((level) => [findings.filter((each) => each.level === level).length, level])
      .filter(([count]) => count)
      .map(([count, level]) => `${count} ${level}${count === 1 ? "" : "s"}`).join(", ");
  }

  function judge({ holds, findings }) {
    const errors = findings.some(({ level }) => level === "error");
    const [words, kind] = holds === null || holds === undefined
      ? ["Not judged", "unjudged"]
      : holds ? (errors ? ["Holds, with errors", "unjudged"] : ["Holds", "holds"]) : ["Does not hold", "fails"];
    word.textContent = words;
    stamp.className = `verdict ${kind}`;
    sentence.textContent = findings.length ? `Findings: ${counted(findings)}.` : "No findings.";
  }

  function one(finding, number, fixes, plays) {
    const item = make("li", "", { class: `finding ${finding.level}` });
    const where = make("p", "", { class: "where" });
    where.append(make("span", finding.level, { class: `level ${finding.level}` }));
    const show = button(`line ${finding.line}`, () => point(item, finding), "line");
    show.setAttribute("aria-label", `Line ${finding.line}: show it in the text and in the diagram`);
    const rule = make("a", finding.rule, { href: `${ruleAddress}/${encodeURIComponent(finding.rule)}`, class: "rule", target: "_blank", rel: "noopener" });
    where.append(show, rule);
    item.append(where, make("p", finding.message, { class: "text" }));
    if (finding.fix) item.append(make("p", finding.fix, { class: "fix" }));
    const mend = make("p", "", { class: "mend" });
    fixes.forEach((fix) => mend.append(button(fix.label, () => onFix(fix), "act"), " "));
    if (plays) mend.append(button("Show how they meet", () => onPlay(finding)));
    if (mend.childNodes.length) item.append(mend);
    if (finding.why) {
      const why = make("details", "");
      why.append(make("summary", "Why"), make("p", finding.why));
      item.append(why);
    }
    item.addEventListener("click", (event) => {
      if (!event.target.closest("button, a, summary")) point(item, finding);
    });
    return item;
  }

  function point(item, finding) {
    root.querySelectorAll(".finding.pointed").forEach((own) => own.classList.remove("pointed"));
    item.classList.add("pointed");
    onPoint(finding, placeOf(finding));
  }

  /* `plays`: whether the working diagram can play a movement by which the plan fails. */
  function show(report, fixes = [], plays = false) {
    shown = [report, fixes, plays];
    judge(report);
    const order = report.findings.map((finding, number) => ({ finding, number }))
      .sort((a, b) => ORDER.indexOf(a.finding.level) - ORDER.indexOf(b.finding.level));
    const some = all ? order : order.slice(0, MOST);
    const first = order.findIndex(({ finding }) => finding.rule === "unheld-exit");
    const focused = list.contains(document.activeElement);
    list.replaceChildren(...some.map(({ finding, number }, at) => (
      one(finding, number, fixes.filter((fix) => fix.finding === number), plays && at === first))));
    if (order.length > some.length) {
      const more = make("li", "");
      more.append(button(`Show ${order.length - some.length} more`, () => { all = true; show(...shown); }));
      list.append(more);
    }
    const taken = report.takes_for_granted ?? [];
    granted.hidden = !taken.length;
    granted.querySelector("ul").replaceChildren(...taken.map((text) => make("li", text)));
    if (focused) word.focus();
  }

  /* The marks of the lines of the text: the gravest finding of each. */
  function marks(report) {
    const found = new Map();
    [...report.findings].sort((a, b) => ORDER.indexOf(b.level) - ORDER.indexOf(a.level))
      .forEach(({ line, level, message }) => found.set(line, { level, message: `${level}: ${message}` }));
    return found;
  }

  return {
    show, marks, placeOf,
    wait: (words) => { sentence.textContent = words; },
    clear: () => {
      stamp.className = "verdict unjudged";
      word.textContent = "No plan yet";
      sentence.textContent = "";
      list.replaceChildren();
      granted.hidden = true;
    },
  };
};
