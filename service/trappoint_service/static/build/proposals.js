/* Signals for the whole plan: proposals to choose among, each with a line. */
"use strict";

trappointBuild.makeProposals = (root, { server, text, boards, onAsk, onBoard, onTake, onTrouble }) => {
  const { make, button } = trappointBuild;
  const list = root.querySelector("[data-proposals]");
  const ask = root.querySelector("[data-propose]");
  const mend = root.querySelector("[data-mend]");
  const stop = root.querySelector("[data-stop-proposing]");
  const status = root.querySelector("[data-proposing]");
  const LEVELS = [...root.querySelectorAll("[data-level]")].map((part) => [part.dataset.level, part.textContent]);
  let running = null;
  let made = ""; // the text that the proposals are for

  function count(number, word) { return `${number} ${word}${number === 1 ? "" : "s"}`; }

  function inWords(level, { signals, arms, least, reasons, cost }, repair) {
    const changed = reasons.filter(({ state, done }) => state !== "kept" || done.length);
    const size = repair ? `${count(changed.length, "signal")} to change` : `${count(signals, "signal")} with ${count(arms, "arm")}`;
    const sure = least ? "; fewer are not enough" : level === "at-points" && !repair ? "" : "; the search ended early";
    return `${level}: ${size}${sure}${cost ? `, ${cost}` : ""}.`;
  }

  function add(level, about, proposal, repair) {
    const item = make("li", "");
    item.append(make("p", inWords(level, proposal, repair)), make("p", proposal.use), make("p", `${about}.`, { class: "hint" }));
    const why = make("details", "");
    why.append(make("summary", "Each signal and its reason"));
    proposal.reasons.filter(({ state, done }) => !repair || state !== "kept" || done.length).forEach((reason) => {
      const words = [reason.state === "gone" ? "removed" : `on ${reason.track}, for ${reason.for} trains`,
        ...reason.done, ...reason.duties, ...(reason.without ? [`without it: ${reason.without}`] : [])];
      why.append(make("p", `${reason.signal}: ${words.join("; ")}`));
    });
    item.append(button(`Take this proposal (${level})`, () => {
      if (text() !== made) {
        onTrouble("The plan has changed since. Ask for proposals again.");
        return;
      }
      clear();
      onTake(proposal.plan, `${inWords(level, proposal, repair)} The proposal is taken.`);
    }, "act"), why);
    list.append(item);
    return item;
  }

  async function propose(repair) {
    clear();
    onAsk();
    made = text();
    if (boards().length) {
      status.textContent = "This plan is put together from boards. Each board gets its signals in its own plan:";
      list.replaceChildren(...boards().map((name) => {
        const item = make("li", "");
        item.append(button(`Open ${name}`, () => onBoard(name)));
        return item;
      }));
      return;
    }
    running = new AbortController();
    const { signal } = running;
    stop.hidden = false;
    const taken = new Map(); // from each plan to its entry in the list
    try {
      for (const [level, about] of LEVELS) {
        status.textContent = `Looking for signals: ${level}. This can take some seconds.`;
        const { proposals } = await server.propose(made, level, repair, signal);
        proposals.forEach((proposal) => {
          const same = taken.get(proposal.plan);
          if (same) same.append(make("p", `${level}: the same signals (${about}).`, { class: "hint" }));
          else taken.set(proposal.plan, add(level, about, proposal, repair));
        });
        if (list.childElementCount === 1) list.scrollIntoView({ block: "nearest" });
      }
      status.textContent = taken.size ? `Proposals: ${taken.size}.` : "There is nothing to propose.";
    } catch (error) {
      if (!signal.aborted) status.textContent = error.message;
    }
    stop.hidden = true;
  }

  function clear() {
    running?.abort();
    list.replaceChildren();
    status.textContent = "";
    stop.hidden = true;
  }

  ask.addEventListener("click", () => propose(false));
  mend.addEventListener("click", () => propose(true));
  stop.addEventListener("click", () => { clear(); ask.focus(); });
  return {
    clear,
    /* Signals that are there can be mended. */
    canMend: (is) => { mend.hidden = !is; },
    /* Proposals for another text are of no use. */
    changed: () => { if (made && text() !== made && (list.childElementCount || !stop.hidden)) clear(); },
  };
};
