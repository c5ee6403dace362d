/* Signals for the whole plan: proposals to choose among, each with a line. */
"use strict";

trappointBuild.makeProposals = (root, { server, text, onTake, onTrouble }) => {
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
    const sure = least ? "; fewer are not enough" : "; the search ended early";
    return `${level}: ${size}${sure}${cost ? `, ${cost}` : ""}.`;
  }

  function add(level, about, proposal, repair) {
    const item = make("li", "");
    item.append(make("p", inWords(level, proposal, repair)), make("p", about, { class: "hint" }));
    const why = make("details", "");
    why.append(make("summary", "Each signal and its reason"));
    proposal.reasons.filter(({ state, done }) => !repair || state !== "kept" || done.length).forEach((reason) => {
      const words = [reason.state === "gone" ? "removed" : `on ${reason.track}, for ${reason.for} trains`,
        ...reason.done, ...reason.duties, ...(reason.without ? [`without it: ${reason.without}`] : [])];
      why.append(make("p", `${reason.signal}: ${words.join("; ")}`));
    });
    item.append(why, button(`Take this proposal (${level})`, () => {
      if (text() !== made) {
        onTrouble("The plan has changed since. Ask for proposals again.");
        return;
      }
      clear();
      onTake(proposal.plan, `${inWords(level, proposal, repair)} The proposal is taken.`);
    }, "act"));
    list.append(item);
    return item;
  }

  async function propose(repair) {
    clear();
    made = text();
    running = new AbortController();
    const { signal } = running;
    stop.hidden = false;
    const taken = new Map(); // from each plan to its entry in the list
    try {
      for (const [level, about] of LEVELS) {
        status.textContent = `Looking for the fewest signals: ${level}. This can take some seconds.`;
        const { proposals } = await server.propose(made, level, repair, signal);
        proposals.forEach((proposal) => {
          const same = taken.get(proposal.plan);
          if (same) same.append(make("p", `${level}: the same signals (${about}).`, { class: "hint" }));
          else taken.set(proposal.plan, add(level, about, proposal, repair));
        });
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
  stop.addEventListener("click", clear);
  return {
    clear,
    /* Proposals for another text are of no use. */
    changed: () => { if (made && text() !== made && (list.childElementCount || !stop.hidden)) clear(); },
  };
};
