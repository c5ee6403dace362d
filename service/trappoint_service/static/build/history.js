/* The text of a plan and everything that was done to it, back to the beginning.

   `trappointBuild` is the one name that all scripts of this page share. Each entry keeps the part
   of the text that it took out and the part that it put in. */
"use strict";

const trappointBuild = {};

trappointBuild.makeHistory = (() => {
  const MOST = 2000; // entries
  const MOST_CHARACTERS = 1000000; // in the entries together
  const PAUSE = 4000; // milliseconds after which typing begins another entry

  /* The one stretch in which two texts differ: its start, the old part and the new part. */
  function difference(before, after) {
    const least = Math.min(before.length, after.length);
    let start = 0;
    while (start < least && before[start] === after[start]) start += 1;
    let end = 0;
    while (end < least - start && before.at(-1 - end) === after.at(-1 - end)) end += 1;
    return {
      at: start,
      gone: before.slice(start, before.length - end),
      come: after.slice(start, after.length - end),
    };
  }

  const forward = (text, { at, gone, come }) => text.slice(0, at) + come + text.slice(at + gone.length);
  const backward = (text, { at, gone, come }) => text.slice(0, at) + gone + text.slice(at + come.length);
  const size = ({ gone, come }) => gone.length + come.length + 40;

  function usable(entries) {
    return Array.isArray(entries) && entries.every((entry) => (
      entry && Number.isInteger(entry.at) && typeof entry.gone === "string"
      && typeof entry.come === "string" && typeof entry.said === "string"));
  }

  return function makeHistory(kept = {}) {
    let text = typeof kept.text === "string" ? kept.text : "";
    let past = usable(kept.past) ? kept.past : [];
    let future = usable(kept.future) ? kept.future : [];
    let typing = false;
    let last = 0;

    function bound() {
      let sum = past.reduce((total, entry) => total + size(entry), 0);
      while (past.length > 1 && (past.length > MOST || sum > MOST_CHARACTERS)) {
        sum -= size(past.shift());
      }
    }

    /* Take over a new text. `said` is a sentence about it; typing goes on in one entry for a while. */
    function change(next, said, typed = false) {
      if (next === text) return false;
      const now = Date.now();
      const goesOn = typed && typing && past.length && !future.length && now - last < PAUSE;
      const before = goesOn ? backward(text, past.pop()) : text;
      if (next !== before) past.push({ ...difference(before, next), said });
      text = next;
      future = [];
      typing = typed;
      last = now;
      bound();
      return true;
    }

    function undo() {
      const entry = past.pop();
      if (!entry) return null;
      text = backward(text, entry);
      future.push(entry);
      typing = false;
      return entry.said;
    }

    function redo() {
      const entry = future.pop();
      if (!entry) return null;
      text = forward(text, entry);
      past.push(entry);
      typing = false;
      return entry.said;
    }

    return {
      get text() { return text; },
      get toUndo() { return past.at(-1)?.said ?? null; },
      get toRedo() { return future.at(-1)?.said ?? null; },
      get count() { return past.length; },
      change,
      undo,
      redo,
      endTyping: () => { typing = false; },
      keep: () => ({ text, past, future }),
    };
  };
})();

/* Small helpers of all parts of the page. */
trappointBuild.make = (tag, words = "", attributes = {}) => {
  const made = document.createElement(tag);
  made.textContent = words;
  Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
  return made;
};
trappointBuild.button = (words, press, kind = "") => {
  const made = trappointBuild.make("button", words, { type: "button", ...(kind ? { class: kind } : {}) });
  made.addEventListener("click", press);
  return made;
};
trappointBuild.clock = (time) => {
  const date = new Date(time);
  const two = (number) => String(number).padStart(2, "0");
  const hour = `${two(date.getHours())}:${two(date.getMinutes())}`;
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  return date.toDateString() === new Date().toDateString() ? hour : `${day} ${hour}`;
};
