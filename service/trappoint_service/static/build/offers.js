/* What can be done at the thing that is pointed at: a button for each act, with its questions as
   fields. The acts that people do first are in sight, the others folded under headings. A hovered or
   focused act is shown in the diagram before it is done. */
"use strict";

trappointBuild.asked = 0; // questions on the whole page: each field has an id of its own

trappointBuild.makeOffers = (root, { onDo, onPreview, onLeave, onGo, onClose, folded = true }) => {
  const { make, button } = trappointBuild;
  const heading = root.querySelector("[data-called]");
  const can = root.querySelector("[data-can]");
  const beside = root.querySelector("[data-beside]");
  const toggle = root.querySelector("[data-sheet]"); // on a phone, opens the sheet and closes it
  const HOVER = 160; // milliseconds
  const FEW = 3; // acts whose questions are all shown
  let shown = "";
  let timer = 0;
  let mouse = null;
  let under = null; // the form under the mouse
  let still = null; // where the mouse was when an act was done; no preview until it moves

  function field(ask, into) {
    trappointBuild.asked += 1;
    const id = `build-ask-${trappointBuild.asked}`;
    const label = make("label", ask.unit ? `${ask.label} (${ask.unit})` : ask.label, { for: id });
    let input = null;
    if (ask.kind === "choice") {
      input = make("select", "", { id });
      if (ask.optional) input.append(new Option("as it is", ""));
      ask.choices.forEach((choice) => {
        const [value, words] = Array.isArray(choice) ? choice : [choice.value, choice.label];
        input.append(new Option(words, JSON.stringify(value)));
      });
      input.value = ask.value === null || ask.value === undefined ? "" : JSON.stringify(ask.value);
    } else if (ask.kind === "yes") {
      input = make("input", "", { id, type: "checkbox" });
      input.checked = Boolean(ask.value);
    } else {
      input = make("input", "", ask.kind === "number"
        ? { id, type: "number", inputmode: "decimal", step: "any" }
        : { id, type: "text", autocomplete: "off", autocapitalize: "off", spellcheck: "false" });
      input.value = ask.value ?? "";
      input.required = !ask.optional;
    }
    const box = make("p", "", { class: `ask ${ask.kind}`, "data-key": ask.key });
    box.append(...(ask.kind === "yes" ? [input, label] : [label, input]));
    into.append(box);
    return () => {
      if (ask.kind === "yes") return input.checked;
      if (input.value === "") return undefined;
      if (ask.kind === "choice") return JSON.parse(input.value);
      return ask.kind === "number" ? Number(input.value) : input.value;
    };
  }

  /* The answers in words: "In the middle; left". A place in mm goes before one in words. */
  function inWords(boxes) {
    const measured = boxes.some((box) => box.dataset.key === "at_mm" && box.querySelector("input").value);
    return boxes.filter((box) => !(measured && box.dataset.key === "at")).map((box) => {
      const [label, input] = [box.querySelector("label").textContent, box.querySelector("input, select")];
      if (input.type === "checkbox") return input.checked ? label : "";
      return input.value && (input.selectedOptions?.[0]?.textContent ?? `${label}: ${input.value}`);
    }).filter(Boolean).join("; ");
  }

  function offered(offer, short) {
    const form = make("form", "", { class: "offer" });
    const act = make("button", offer.label, { class: "act" });
    form.append(act);
    const asks = offer.asks ?? [];
    const answers = new Map();
    // In a long list the questions are folded; their answers are read there.
    const asked = (ask) => !ask.optional || ask.value !== null;
    const needed = asks.filter(asked);
    const box = (words) => {
      const made = make(words === null ? "div" : "details", "", { class: "asks" });
      if (words !== null) made.append(make("summary", words));
      form.append(made);
      return made;
    };
    const put = (some, into) => some.forEach((ask) => answers.set(ask.key, field(ask, into)));
    const more = asks.filter((ask) => !asked(ask));
    const named = (more.length ? more : asks).map((ask) => ask.label).join(", ");
    if (short && asks.length) {
      const all = box("");
      put(needed, all);
      put(more, all);
      const tell = () => {
        all.querySelector("summary").textContent = inWords([...all.querySelectorAll(".ask")]) || named;
      };
      tell();
      all.addEventListener("input", tell);
    } else {
      if (needed.length) put(needed, box(null));
      if (more.length) put(more, box(named));
    }
    const step = () => {
      const made = { ...offer.step };
      answers.forEach((answer, key) => {
        const value = answer();
        if (value === undefined) delete made[key];
        else made[key] = value;
      });
      return made;
    };
    const soon = () => {
      clearTimeout(timer);
      timer = setTimeout(() => { if (form.checkValidity()) onPreview(step()); }, HOVER);
    };
    const leave = () => { clearTimeout(timer); onLeave(); };
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      leave();
      still = mouse;
      onDo(step(), offer.label);
    });
    form.addEventListener("pointermove", (event) => {
      if (event.pointerType !== "mouse") return;
      const here = `${event.clientX} ${event.clientY}`;
      if (here === mouse && form.contains(under)) return;
      [mouse, under] = [here, form];
      if (here !== still) soon();
    });
    form.addEventListener("pointerleave", (event) => { if (event.pointerType === "mouse") leave(); });
    form.addEventListener("focusin", (event) => { if (event.target.matches(":focus-visible")) soon(); });
    form.addEventListener("focusout", (event) => { if (!form.contains(event.relatedTarget)) leave(); });
    form.addEventListener("input", soon);
    return form;
  }

  /* The first acts in sight, the others under their headings; a heading for one act is left out. */
  function inGroups(acts) {
    const groups = new Map();
    acts.forEach((offer) => groups.set(offer.group, [...groups.get(offer.group) ?? [], offer]));
    const [few, many] = [[], []];
    groups.forEach((some, group) => (group && some.length > 1 ? many.push([group, some]) : few.push(...some)));
    return [...few.map((offer) => offered(offer, few.length > FEW)), ...many.map(([group, some]) => part(group, some))];
  }

  function part(words, acts) {
    const box = make("details", "", { class: "part" });
    box.append(make("summary", words), ...acts.map((offer) => offered(offer, true)));
    return box;
  }

  /* `list`: the thing itself first, then its parts; `near`: what else the press may have meant. */
  function show(list, near, names) {
    const [own, ...parts] = list;
    const words = JSON.stringify([list, near]);
    if (words === shown) return;
    shown = words;
    const focused = root.contains(document.activeElement) ? document.activeElement : null;
    const label = focused?.closest("form")?.querySelector(".act")?.textContent ?? null;
    const unfolded = new Set([...can.querySelectorAll(".part[open] > summary")].map((each) => each.textContent));
    heading.textContent = own ? own.called : "Nothing is chosen";
    const acts = own?.can ?? [];
    can.replaceChildren(...folded ? inGroups(acts) : acts.map((offer) => offered(offer, true)));
    if (own && !own.can.length) can.append(make("p", own.why || "Nothing can be done here.", { class: "hint" }));
    can.append(...parts.filter((each) => each.can.length).map((each) => part(each.called, each.can)));
    can.querySelectorAll(".part").forEach((box) => { box.open = unfolded.has(box.querySelector("summary").textContent); });
    beside.replaceChildren();
    if (near.length) {
      beside.append("Close to it: ");
      near.slice(0, 8).forEach((place) => beside.append(button(names(place), () => onGo(place), "near-by"), " "));
    }
    if (focused) {
      const again = [...can.querySelectorAll(".act")].find((act) => act.textContent === label);
      (again ?? heading).focus();
    }
  }

  function open(is) {
    root.classList.toggle("open", is);
    toggle?.setAttribute("aria-expanded", String(is));
    if (toggle) toggle.textContent = is ? "Close" : "What can be done";
  }
  toggle?.addEventListener("click", () => open(!root.classList.contains("open")));

  root.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    event.preventDefault();
    clearTimeout(timer);
    onLeave();
    onClose();
  });

  return {
    show,
    open,
    enter: () => (can.querySelector(".act") ?? heading).focus(),
    forget: () => { shown = ""; },
  };
};
