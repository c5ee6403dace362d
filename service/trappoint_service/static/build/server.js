/* The service: what it is asked, and what goes wrong with an answer. */
"use strict";

trappointBuild.makeServer = (addresses) => {
  const TRIES = 4;
  const pause = (milliseconds, signal) => new Promise((done, fail) => {
    const timer = setTimeout(done, milliseconds);
    signal?.addEventListener("abort", () => { clearTimeout(timer); fail(signal.reason); });
  });

  /* An answer that is no success. `refused`: the request cannot succeed, as `message` says. */
  class Trouble extends Error {
    constructor(message, { refused = false, fix = "", problem = null } = {}) {
      super(message);
      Object.assign(this, { refused, fix, problem });
    }
  }

  async function ask(address, options, signal, tries = TRIES) {
    let answer = null;
    try {
      answer = await fetch(address, { ...options, signal, cache: "no-store" });
    } catch (error) {
      if (signal?.aborted) throw error;
      throw new Trouble("The service does not answer. Your text stays here.");
    }
    if (answer.status === 503 && tries > 1) {
      const seconds = Math.min(5, Number(answer.headers.get("Retry-After")) || 1);
      await pause(seconds * 1000, signal);
      return ask(address, options, signal, tries - 1);
    }
    return answer;
  }

  async function read(answer) {
    if (answer.ok) {
      try { return await answer.json(); } catch { /* an error is thrown below */ }
      throw new Trouble("The answer of the service cannot be read. Your text stays here.");
    }
    let problem = null;
    try { problem = await answer.json(); } catch { /* no problem document */ }
    if (answer.status === 413) throw new Trouble("The plan is too large for the service: it may have 8 MiB.");
    throw new Trouble(problem?.detail ?? `The service answers with error ${answer.status}. Your text stays here.`, {
      refused: answer.status >= 400 && answer.status < 500, fix: problem?.fix ?? "", problem,
    });
  }

  const sent = (value, method = "POST") => ({
    method, headers: { "Content-Type": "application/json" }, body: JSON.stringify(value),
  });

  return {
    Trouble,
    lay: async (wish, signal) => read(await ask(addresses.lay, sent(wish), signal)),
    propose: async (text, level, repair, signal) => read(await ask(
      `${addresses.propose}?level=${level}&repair=${repair ? "yes" : "no"}`,
      { method: "POST", headers: { "Content-Type": "application/json" }, body: text }, signal)),
    text: async (address, signal) => {
      const answer = await ask(address, {}, signal);
      if (!answer.ok) throw new Trouble("This beginning does not exist.", { refused: true });
      return answer.text();
    },
    get: async (address, signal) => read(await ask(address, {}, signal)),
    /* A conflict is an answer too: it comes back with its status. */
    put: async (address, value) => {
      const answer = await ask(address, sent(value, "PUT"));
      if (answer.status !== 409) return { status: answer.status, ...await read(answer) };
      try { return { status: 409, ...await answer.json() }; } catch { return { status: 409 }; }
    },
  };
};
