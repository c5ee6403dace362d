/* Drafts of one kind, kept in this browser: each under a key of its own. */
"use strict";

function trappointKept(prefix) {
  let store = null;
  try {
    store = window.localStorage;
    store.getItem(prefix);
  } catch { store = null; /* this browser keeps nothing */ }

  const newId = () => [...crypto.getRandomValues(new Uint8Array(8))]
    .map((byte) => byte.toString(16).padStart(2, "0")).join("");

  /* A draft with its id; null if there is none that can be read. */
  function read(id) {
    try {
      const draft = JSON.parse(store.getItem(prefix + id));
      return draft && typeof draft.text === "string" ? { ...draft, id } : null;
    } catch { return null; }
  }

  /* All drafts, the newest first. */
  function all() {
    const keys = store ? Object.keys(store).filter((key) => key.startsWith(prefix)) : [];
    return keys.map((key) => read(key.slice(prefix.length))).filter(Boolean).sort((a, b) => b.when - a.when);
  }

  /* Keep the first of these that there is room for. Returns false if the browser keeps none. */
  function write(id, ...some) {
    return some.some((draft) => {
      try {
        store.setItem(prefix + id, JSON.stringify(draft));
        return true;
      } catch { return false; }
    });
  }

  function forget(id) {
    try { store.removeItem(prefix + id); } catch { /* nothing was kept */ }
  }

  /* Another window has written a draft, or has forgotten one (`draft` is null then). */
  function onForeign(tell) {
    addEventListener("storage", ({ key }) => {
      if (key === null) tell(null, null);
      else if (key.startsWith(prefix)) tell(key.slice(prefix.length), read(key.slice(prefix.length)));
    });
  }

  return { works: store !== null, newId, read, all, write, forget, onForeign };
}
