/* Where the things of a plan are in its text, and the thing at a caret.

   Reads JSON as far as it goes: a text that is being typed is often not JSON. */
"use strict";

trappointBuild.findTextPlaces = (() => {
  const KINDS = new Set(["tracks", "points", "crossings", "turntables", "platforms", "yards", "signals",
    "levers", "scenes", "trains", "sessions", "boards"]);
  const TOKEN = /"(?:[^"\\\n]|\\.)*"|[{}[\],:]|[^\s"{}[\],:]+/g;

  const unquoted = (token) => {
    try { return JSON.parse(token); } catch { return token.replace(/^"|"$/g, ""); }
  };
  const step = ({ list, key, count }) => (list ? count : key);

  /* Return each thing with the stretch of text that it takes: `{place, start, end}`. */
  return function findTextPlaces(text) {
    const found = [];
    const frames = [];

    /* A value begins: a thing of the plan has two steps to it, `tracks` and `main`. */
    function placeHere() {
      const [kind, name] = frames.map(step);
      return frames.length === 2 && KINDS.has(kind) && kind !== "levers" ? `${kind}/${name}` : "";
    }

    /* Arms and levers are in lists: a key inside has their name. */
    function nameFrame(value) {
      const [kind, , more] = frames.map(step);
      const own = frames.at(-1);
      if (kind === "signals" && more === "arms" && frames.length === 5 && own.key === "id") own.place = `arms/${value}`;
      if (kind === "levers" && frames.length === 3 && own.key === "number") own.place = `levers/${value}`;
    }

    for (const { 0: token, index } of text.matchAll(TOKEN)) {
      const own = frames.at(-1);
      if (token === "{" || token === "[") {
        const start = own && !own.list ? own.keyAt : index;
        frames.push({ list: token === "[", key: null, keyAt: index, count: 0, start, place: placeHere() });
      } else if (token === "}" || token === "]") {
        const closed = frames.pop();
        if (closed?.place) found.push({ place: closed.place, start: closed.start, end: index + 1 });
      } else if (!own) continue;
      else if (token === ",") {
        own.count += 1;
        own.key = null;
      } else if (token !== ":") {
        if (!own.list && own.key === null) {
          own.key = unquoted(token);
          own.keyAt = index;
        } else nameFrame(unquoted(token));
      }
    }
    frames.forEach(({ place, start }) => { if (place) found.push({ place, start, end: text.length }); });
    return found;
  };
})();
