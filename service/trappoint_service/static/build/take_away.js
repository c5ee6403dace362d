/* What can be taken away: the plan, the picture that is shown, and the files that the service makes. */
"use strict";

trappointBuild.makeTakeAway = (root, { plan, drawing, onTrouble, onSaid }) => {
  function save(content, name, kind) {
    const address = URL.createObjectURL(content instanceof Blob ? content : new Blob([content], { type: kind }));
    const link = trappointBuild.make("a", "", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
    onSaid(`${name} is handed to the browser.`);
  }

  const stem = () => plan().name.replace(/\.layout\.json$|\.json$/, "") || "plan";

  async function make(button) {
    const form = new FormData();
    form.set("text", plan().text);
    form.set("name", plan().name);
    Object.entries(plan().boards).forEach(([name, text]) => {
      form.append("board-name", name);
      form.append("board-text", text);
    });
    button.disabled = true;
    try {
      const answer = await fetch(button.dataset.make, { method: "POST", body: form });
      if (!answer.ok) throw new Error();
      const named = /filename="([^"]+)"/.exec(answer.headers.get("Content-Disposition") ?? "")?.[1] ?? "file";
      save(await answer.blob(), `${stem()}.${named}`);
    } catch {
      onTrouble(`The plan as it is gives no file: ${button.textContent}. See the findings, or try again soon.`);
    }
    button.disabled = false;
  }

  root.querySelector("[data-take-plan]").addEventListener("click", () => (
    save(plan().text, `${stem()}.layout.json`, "application/json")));
  root.querySelector("[data-take-drawing]").addEventListener("click", () => {
    const svg = drawing();
    if (svg) save(svg, `${stem()}.svg`, "image/svg+xml");
    else onTrouble("There is no diagram of this text.");
  });
  root.querySelectorAll("[data-make]").forEach((button) => button.addEventListener("click", () => make(button)));
  root.querySelector("[data-copy-link]").addEventListener("click", async () => {
    const address = `${location.href.split("#")[0].split("?")[0]}#plan=${await trappointBuild.links.pack(plan().text)}`;
    const shown = root.querySelector("[data-link]");
    shown.hidden = false;
    shown.querySelector("input").value = address;
    try {
      await navigator.clipboard.writeText(address);
      onSaid("The link is copied. The whole plan is in it; nothing is stored.");
    } catch {
      shown.querySelector("input").select();
      onSaid("Copy the link from the field. The whole plan is in it; nothing is stored.");
    }
  });
};
