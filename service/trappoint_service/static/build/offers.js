/* What can be done at the thing that is pointed at: a button for each act, with its questions as
   fields. A hovered or focused act is shown in the diagram before it is done. */
"use strict";

trappointBuild.makeOffers = (root, { onDo, onPreview, onLeave, onGo, onClose, folded = true }) => {
  const { make, button } = trappointBuild;
  const heading = root.querySelector("[data-called]");
  const can = root.querySelector("[data-can]");
  const beside = root.querySelector("[data-beside]");
  const toggle = root.querySelector("[data-sheet]"); // on a phone, opens the sheet and closes it
  const HOVER = 160; // milliseconds
  const FEW = 3; // acts whose questions are all shown
  let shown = "";
  let number = 0;
  let timer = 0;
  let mouse = null;
  let under = null; // the form under the mouse
  let still = null; // where the mouse was when an act was done; no preview until it moves

  function field(ask, into) {
    number += 1;
    const id = `build-ask-${number}`;
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
    const box = make("p", "", { class: `ask ${ask.kind}` });
    box.append(...(ask.kind === "yes" ? [input, label] : [label, input]));
    into.append(box);
    return () => {
      if (ask.kind === "yes") return input.checked;
      if (input.value === "") return undefined;
      if (ask.kind === "choice") return JSON.parse(input.value);
      return ask.kind === "number" ? Number(input.value) : input.value;
    };
  }

  /* An answer in words: "Where: in the middle". */
  function inWords(box) {
    const [label, input] = [box.querySelector("label").textContent, box.querySelector("input, select")];
    const answer = input.type === "checkbox" ? (input.checked ? "yes" : "no") : (input.selectedOptions?.[0]?.textContent ?? input.value);
    return `${label}: ${answer}`;
  }

  function offered(offer, short) {
    const form = make("form", "", { class: "offer" });
    const act = make("button", offer.label, { class: "act" });
    form.append(act);
    const asks = offer.asks ?? [];
    const answers = new Map();
    // In a long list the questions are folded; their answers are read there.
    const needed = asks.filter((ask) => !ask.optional);
    const box = (words) => {
      const made = make(words === null ? "div" : "details", "", { class: "asks" });
      if (words !== null) made.append(make("summary", words));
      form.append(made);
      return made;
    };
    const put = (some, into) => some.forEach((ask) => answers.set(ask.key, field(ask, into)));
    const more = asks.filter((ask) => ask.optional);
    const named = more.map((ask) => ask.label).join(", ");
    if (short && asks.length) {
      const all = box("");
      put(needed, all);
      const tell = () => {
        const words = [...all.querySelectorAll(".ask.needed")].map(inWords).join("; ");
        all.querySelector("summary").textContent = words || named;
      };
      all.querySelectorAll(".ask").forEach((own) => own.classList.add("needed"));
      put(more, all);
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

  /* The many shapes are one entry, which opens. */
  function foldedShapes(acts) {
    const isShape = ({ step }) => step.do === "lay-shape";
    const [shapes, others] = [acts.filter(isShape), acts.filter((offer) => !isShape(offer))];
    const shown = others.map((offer) => offered(offer, others.length > FEW));
    if (!shapes.length) return shown;
    const box = make("details", "", { class: "part" });
    box.append(make("summary", "Lay a common shape"), ...shapes.map((offer) => offered(offer, true)));
    return [...shown, box];
  }

  /* `list`: the thing itself first, then its parts; `near`: what else the press may have meant. */
  function show(list, near, names) {
    const [own, ...parts] = list;
    const words = JSON.stringify([list, near]);
    if (words === shown) return;
    shown = words;
    const focused = root.contains(document.activeElement) ? document.activeElement : null;
    const label = focused?.closest("form")?.querySelector(".act")?.textContent ?? null;
    heading.textContent = own ? own.called : "Nothing is chosen";
    const acts = own?.can ?? [];
    can.replaceChildren(...folded ? foldedShapes(acts) : acts.map((offer) => offered(offer, true)));
    if (own && !own.can.length) can.append(make("p", "Nothing can be done here.", { class: "hint" }));
    parts.filter(({ can: acts }) => acts.length).forEach((part) => {
      const box = make("details", "", { class: "part" });
      box.append(make("summary", part.called), ...part.can.map((offer) => offered(offer, true)));
      can.append(box);
    });
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
