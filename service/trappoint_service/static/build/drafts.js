/* Drafts of the page to build on: each with its history and its boards. */
"use strict";

trappointBuild.makeDrafts = () => {
  const WINDOW = String(Math.random()).slice(2); // this window, for this visit
  const { works, newId, read, all, write, forget, onForeign } = trappointKept("trappoint-draft-");

  /* Keep a draft. Returns "kept", "full" if the browser does not, or "other" if another window has
     written under this key since `revision`. */
  function keep(id, draft, revision) {
    if (!works) return "full";
    const before = read(id);
    if (before && before.window !== WINDOW && before.revision !== revision) return "other";
    const whole = { ...draft, id, revision: revision + 1, window: WINDOW, when: Date.now() };
    // If there is no room for the whole history, keep the text.
    const less = [whole, { ...whole, past: whole.past.slice(-50), future: [] }, { ...whole, past: [], future: [] }];
    return write(id, ...less) ? "kept" : "full";
  }

  const list = () => all().map(({ id, title, name, when, file = "" }) => ({ id, title, name, when, file }));

  return { newId, read, keep, list, forget, onForeign, window: WINDOW };
};

/* A plan in the fragment of an address: packed, and never sent to a server. */
trappointBuild.links = (() => {
  const MOST = 8 * 1024 * 1024;
  const piped = (bytes, through) => new Response(new Blob([bytes]).stream().pipeThrough(through));

  async function pack(text) {
    const bytes = new Uint8Array(await piped(text, new CompressionStream("deflate-raw")).arrayBuffer());
    let binary = "";
    bytes.forEach((byte) => { binary += String.fromCharCode(byte); });
    return btoa(binary).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
  }

  /* The text of a packed plan. Raises an error if it is damaged, or unpacks to more than a plan. */
  async function unpack(packed) {
    const binary = atob(packed.replaceAll("-", "+").replaceAll("_", "/"));
    const bytes = Uint8Array.from(binary, (char) => char.charCodeAt(0));
    const reader = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
    const parts = [];
    let size = 0;
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      size += value.length;
      if (size > MOST) throw new Error("too large");
      parts.push(value);
    }
    return new TextDecoder("utf-8", { fatal: true }).decode(await new Blob(parts).arrayBuffer());
  }

  return { pack, unpack };
})();
