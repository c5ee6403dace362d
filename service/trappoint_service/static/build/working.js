/* The same plan, to be worked: points and arms are pressed, trains are run, movements are played. */
"use strict";

trappointBuild.makeWorking = (root, template) => {
  const { readDrawing } = trappointBuild;
  let ended = null; // ends the listeners of the diagram that works
  let shown = "";

  function hide() {
    ended?.abort();
    ended = null;
    shown = "";
    root.replaceChildren();
  }

  /* Returns false if the drawing is more than a picture. */
  function show(text, work) {
    const words = text + JSON.stringify(work);
    if (words === shown) return true;
    hide();
    const drawing = readDrawing(text);
    if (!drawing) return false;
    root.append(template.content.cloneNode(true));
    root.querySelector("[data-drawing]").append(drawing);
    ended = new AbortController();
    trappointPage(root.querySelector("[data-working]"), work, ended.signal);
    shown = words;
    return true;
  }

  /* Play the movement by which the plan fails: the last of the scenes and movements. */
  function play(work) {
    const select = root.querySelector("[data-play] select");
    if (!select || !work.plays.length) return;
    select.value = String(work.plays.length - 1);
    root.querySelector("[data-choose]").click();
    root.querySelector("[data-next]").focus();
  }

  function refuse() {
    hide();
    root.append(trappointBuild.make("p", "This plan cannot be worked: its errors leave no locking table.", { class: "message" }));
  }

  return { show, hide, play, refuse };
};
