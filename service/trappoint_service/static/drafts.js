/* Keep what a member types in this browser: in its local storage, under a key of its own for each
   draft. The page says when it shows a draft, and one press leaves or forgets it. */
"use strict";

(() => {
  const kept = trappointKept("trappoint-text-");
  const OWN = "trappoint-text"; // in the storage of this window: the id of its draft
  const text = document.querySelector("#plan-text");
  const box = document.querySelector("[data-draft]");
  const list = document.querySelector("[data-drafts]");
  const name = document.querySelector("#plan-form input[name=name]");
  const storeText = () => document.querySelector("#store-text");

  const { newId, read, all } = kept;
  let ours = null;
  try { ours = sessionStorage; } catch { /* this browser keeps nothing */ }
  if (!kept.works || !ours) return;

  const lasting = document.querySelector("[data-kept-here]");
  if (lasting) lasting.hidden = !all().length;
  if (!text || !box) return;

  const served = text.defaultValue;
  const base = markOf(served);
  let id = ours.getItem(OWN) ?? "";
  let timer = 0;
  let restored = null; // the text that was put back, until it is edited
  let failed = false;
  let known = 0; // the time of the draft as this page wrote or read it last

  function markOf(value) {
    let mark = 7;
    for (let n = 0; n < value.length; n += 1) mark = (Math.imul(mark, 31) + value.charCodeAt(n)) | 0;
    return `${value.length}.${mark}`;
  }

  function make(tag, words, press = null) {
    const made = document.createElement(tag);
    made.textContent = words;
    if (press) {
      made.type = "button";
      made.addEventListener("click", press);
    }
    return made;
  }

  function say(words, ...buttons) {
    box.replaceChildren(make("p", words), ...buttons);
    box.firstChild.setAttribute("role", "status");
    box.hidden = false;
  }

  const when = (draft) => new Date(draft.when).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });

  function take(own) {
    id = own;
    ours.setItem(OWN, id);
  }

  // --- keep

  const isNew = () => {
    const store = storeText();
    return text.value !== served || Boolean(store && store.value !== store.defaultValue);
  };

  function keep() {
    clearTimeout(timer);
    timer = 0;
    const store = storeText()?.value ?? "";
    if (!text.value.trim() && !store.trim()) return;
    if (!isNew() && !read(id)) return;
    // Another page or window went on with this draft: this text gets one of its own.
    const there = read(id);
    if (!id || (there && there.when !== known && there.text !== text.value)) take(newId());
    const draft = { text: text.value, store, name: name?.value ?? "", when: Date.now(), base };
    if (kept.write(id, draft)) {
      known = draft.when;
      if (failed || box.hidden) tellKept();
      failed = false;
    } else {
      failed = true;
      say("This text is too long to be kept in this browser, or its room is full. Download the plan before you leave this page.");
    }
  }

  function tellKept() {
    say("What you type is kept in this browser, after you close it too. The service does not keep it.",
      make("button", "Forget it", forget));
  }

  function edited() {
    if (restored !== null) {
      restored = null;
      tellKept();
    }
    clearTimeout(timer);
    timer = setTimeout(keep, 400);
  }

  function forget() {
    kept.forget(id);
    take("");
    say("This text is no longer kept in this browser. It is kept again as soon as you type.");
    showList();
  }

  // --- put back

  function put(draft) {
    take(draft.id);
    known = draft.when;
    text.value = draft.text;
    const store = storeText();
    if (store && draft.store && !store.value) store.value = draft.store;
    if (name && draft.name) name.value = draft.name;
    restored = draft.text;
    text.dispatchEvent(new Event("filled"));
    say(`This is what you typed here, as of ${when(draft)}. It is kept in this browser only.`,
      make("button", served ? "Show the text of this page instead" : "Begin with an empty form", () => leave(draft)),
      make("button", "Forget it", () => { leave(draft); id = draft.id; forget(); }));
    showList();
  }

  function leave(draft) {
    keep();
    const there = read(draft.id);
    if (there) kept.write(draft.id, { ...there, left: true });
    take("");
    restored = null;
    text.value = served;
    text.dispatchEvent(new Event("filled"));
    say(`Your text is still kept in this browser: ${list ? "it is in the list below" : "the page Check a plan lists it"}.`);
    showList();
    text.focus();
  }

  /* Other windows with a draft answer for it, so that no two windows write the same one. */
  const channel = typeof BroadcastChannel === "function" ? new BroadcastChannel(OWN) : null;
  const live = new Set();
  if (channel) {
    channel.addEventListener("message", ({ data }) => {
      if (data === "who" && id) channel.postMessage(id);
      else live.add(data);
    });
  }

  function begin() {
    const own = read(id);
    if (text.value !== served) { // the browser has put it back
      const same = all().find((draft) => draft.text === text.value);
      if (same) take(same.id);
      else if (!own || own.base !== base) id = "";
      known = read(id)?.when ?? 0;
      edited();
      return;
    }
    if (own && own.text === served) {
      known = own.when;
      return;
    }
    if (own && (!served || own.base === base)) {
      put(own);
      return;
    }
    // Another text is on this page: what is typed here is a draft of its own.
    if (own || id) id = "";
    if (served || ours.getItem(OWN) !== null) return;
    channel?.postMessage("who");
    setTimeout(() => {
      const newest = all().find((draft) => !draft.left && !live.has(draft.id));
      if (newest && !text.value && !id) put(newest);
    }, channel ? 120 : 0);
  }

  // --- the list on the page of the form

  function called(draft) {
    const title = /"title"\s*:\s*"((?:[^"\\]|\\.){1,80})"/.exec(draft.text);
    return title?.[1] || draft.name || draft.text.trim().slice(0, 40) || "A store";
  }

  function showList() {
    if (!list) return;
    const drafts = all().filter((draft) => draft.id !== id || draft.text !== text.value);
    list.hidden = !drafts.length;
    list.querySelector("ul").replaceChildren(...drafts.map((draft) => {
      const row = make("li", "");
      const lines = draft.text.split("\n").length;
      row.append(make("b", called(draft)), make("span", ` ${when(draft)}, ${lines} line${lines === 1 ? "" : "s"} `),
        make("button", "Open", () => { keep(); put(draft); text.focus(); }),
        make("button", "Forget", () => {
          kept.forget(draft.id);
          if (draft.id === id) take("");
          showList();
        }));
      row.querySelectorAll("button").forEach((button) => {
        button.setAttribute("aria-label", `${button.textContent} ${called(draft)}`);
      });
      return row;
    }));
  }

  document.addEventListener("input", (event) => {
    if (event.target === text || event.target === storeText()) edited();
  });
  // A draft that was put back and not edited does not stand against a file: it stays kept here.
  text.form.addEventListener("formdata", (event) => {
    const file = text.form.querySelector("#plan-file");
    if (restored !== null && restored === text.value && file?.files.length) event.formData.set("text", "");
  });
  text.form.addEventListener("submit", keep);
  addEventListener("pagehide", () => { if (timer) keep(); });
  document.addEventListener("visibilitychange", () => { if (timer && document.hidden) keep(); });
  addEventListener("storage", showList);
  addEventListener("pageshow", (event) => { if (!event.persisted) { begin(); showList(); } });
})();
