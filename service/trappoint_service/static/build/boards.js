/* The plans that this one is put together from: brought as files or from the folder, opened, saved. */
"use strict";

trappointBuild.makeBoards = (root, { state, onStep, onOpen, onTrouble }) => {
  const { button, make, boardsIn } = trappointBuild;
  const list = root.querySelector("[data-board-list]");
  const input = root.querySelector("input[type=file]");
  let shown = "";

  const used = () => [...new Set(boardsIn(state.history.text))];

  function show() {
    const names = used();
    const words = JSON.stringify([names, names.map((name) => name in state.boards)]);
    if (words === shown) return;
    shown = words;
    list.replaceChildren(...names.map((name) => {
      const item = make("li", "");
      const there = name in state.boards;
      item.append(there ? button(`Open ${name}`, () => onOpen(name), "draft") : make("span", `${name}: its file is not here`));
      return item;
    }));
  }

  /* Make a plan a board of this one. `more`: the files of its own boards. */
  function add(name, text, more = {}) {
    Object.assign(state.boards, more, { [name]: text });
    onStep({ do: "add-board", plan: name }, "Add another plan as a board");
  }

  input.addEventListener("change", async () => {
    const files = await Promise.all([...input.files].map(async (file) => ({ name: file.name, text: await file.text() })));
    input.value = "";
    // A file that another one of them names as its board comes along with it.
    const inner = new Set(files.flatMap(({ text }) => boardsIn(text).map((name) => name.split("/").at(-1))));
    const more = Object.fromEntries(files.map(({ name, text }) => [name, text]));
    const own = files.filter(({ name }) => !inner.has(name));
    if (files.length && !own.length) onTrouble("These plans are boards of each other.");
    own.forEach(({ name, text }) => add(name, text, more));
  });

  return { show, add, used };
};
