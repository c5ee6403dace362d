/* Drafts, kept in this browser: each under a key of its own, with its history. */
"use strict";

trappointBuild.makeDrafts = () => {
  const PREFIX = "trappoint-draft-";
  const WINDOW = String(Math.random()).slice(2); // this window, for this visit
  let store = null;
  try { store = window.localStorage; } catch { /* forbidden */ }

  const newId = () => [...crypto.getRandomValues(new Uint8Array(8))]
    .map((byte) => byte.toString(16).padStart(2, "0")).join("");

  function read(id) {
    try {
      const draft = JSON.parse(store.getItem(PREFIX + id));
      return draft && typeof draft.text === "string" ? draft : null;
    } catch { return null; }
  }

  /* Keep a draft. Returns "kept", "full" if the browser does not, or "other" if another window has
     written under this key since `revision`. */
  function keep(id, draft, revision) {
    if (!store) return "full";
    const before = read(id);
    if (before && before.window !== WINDOW && before.revision !== revision) return "other";
    const whole = { ...draft, id, revision: revision + 1, window: WINDOW, when: Date.now() };
    // If there is no room for the whole history, keep the text.
    for (const some of [whole, { ...whole, past: whole.past.slice(-50), future: [] }, { ...whole, past: [], future: [] }]) {
      try {
        store.setItem(PREFIX + id, JSON.stringify(some));
        return "kept";
      } catch { /* try with less */ }
    }
    return "full";
  }

  function list() {
    const found = [];
    try {
      for (let n = 0; n < store.length; n += 1) {
        const key = store.key(n);
        if (!key.startsWith(PREFIX)) continue;
        const draft = read(key.slice(PREFIX.length));
        if (draft) found.push({ id: key.slice(PREFIX.length), title: draft.title, name: draft.name, when: draft.when, file: draft.file ?? "" });
      }
    } catch { /* no storage: no drafts */ }
    return found.sort((a, b) => b.when - a.when);
  }

  function forget(id) {
    try { store.removeItem(PREFIX + id); } catch { /* nothing was kept */ }
  }

  /* Another window has written a draft, or has forgotten one (`draft` is null then). */
  function onForeign(tell) {
    addEventListener("storage", (event) => {
      if (event.key === null) tell(null, null);
      else if (event.key.startsWith(PREFIX)) tell(event.key.slice(PREFIX.length), read(event.key.slice(PREFIX.length)));
    });
  }

  return { newId, read, keep, list, forget, onForeign, window: WINDOW, get works() { return store !== null; } };
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
