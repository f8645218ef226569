// Behaviour of the record page: choose a zone anywhere and see it everywhere, sort and filter the list, read temperatures.
"use strict";
(() => {
  const all = (selector, from = document) => [...from.querySelectorAll(selector)];
  const one = (selector) => document.querySelector(selector);

  // Zones: every element that shows one, by its name.
  const shown = new Map();
  for (const element of all("[data-zone]")) {
    const name = element.dataset.zone;
    if (!shown.has(name)) shown.set(name, []);
    shown.get(name).push(element);
  }
  let chosen = null;
  const mark = (name, on) => {
    for (const element of shown.get(name) || []) {
      element.classList.toggle("on", on);
      if (element.matches(".zone")) element.setAttribute("aria-pressed", String(on));
      const button = element.querySelector(".pick");
      if (button) button.setAttribute("aria-pressed", String(on));
    }
  };
  const choose = (name) => {
    if (chosen !== null) mark(chosen, false);
    chosen = name === chosen ? null : name;
    if (chosen !== null) mark(chosen, true);
    say();
  };
  const say = () => {
    const status = one("#status");
    status.textContent = "";
    if (chosen === null) {
      status.textContent = "No zone chosen. Choose one in a table or figure; Esc lets go.";
      return;
    }
    const figures = (shown.get(chosen) || []).filter((element) => element.matches(".zone"));
    status.append(`Chosen: ${chosen}. `);
    figures.forEach((figure, index) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = `see figure ${index + 1} of ${figures.length}`;
      button.addEventListener("click", () => {
        figure.closest("figure").scrollIntoView({ block: "center" });
        figure.focus({ preventScroll: true });
      });
      status.append(button, " ");
    });
    status.append("Esc lets go.");
  };
  const nameOf = (target) => {
    const zone = target.closest(".zone, .pick");
    return zone ? zone.closest("[data-zone]").dataset.zone : null;
  };
  document.addEventListener("click", (event) => {
    const name = nameOf(event.target);
    if (name !== null) choose(name);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && chosen !== null) choose(chosen);
    const onZone = event.target.matches && event.target.matches(".zone");
    if (onZone && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      choose(event.target.dataset.zone);
    }
  });

  // The list: sort by a heading, filter by asset, action and cause.
  const body = one("#zones tbody");
  const rows = all("tr", body);
  const texts = new Intl.Collator("en", { numeric: true });
  const TEXT = new Set(["zone", "asset", "cause", "action"]);
  // Where one looks for the most of something, the largest come first.
  const LARGEST_FIRST = new Set(["area", "ratio", "moisture", "priority"]);
  const compare = (key, way) => (a, b) => {
    const order = TEXT.has(key)
      ? texts.compare(a.dataset[key], b.dataset[key])
      : Number(a.dataset[key]) - Number(b.dataset[key]);
    return way * order || Number(a.dataset.rank) - Number(b.dataset.rank);
  };
  for (const button of all("#zones thead button")) {
    button.addEventListener("click", () => {
      const heading = button.closest("th");
      const key = button.dataset.sort;
      const now = heading.getAttribute("aria-sort");
      const first = LARGEST_FIRST.has(key) ? "descending" : "ascending";
      const next = now === null ? first : now === "ascending" ? "descending" : "ascending";
      for (const other of all("#zones thead th")) other.removeAttribute("aria-sort");
      heading.setAttribute("aria-sort", next);
      rows.sort(compare(key, next === "ascending" ? 1 : -1));
      body.append(...rows);
    });
  }
  const filters = all("[data-filter]");
  const filter = () => {
    let count = 0;
    for (const row of rows) {
      row.hidden = filters.some((field) => field.value !== "" && row.dataset[field.dataset.filter] !== field.value);
      if (!row.hidden) count += 1;
    }
    one("#count").textContent = `${count} of ${rows.length} zones shown`;
  };
  for (const field of filters) field.addEventListener("change", filter);
  one("#filters").addEventListener("reset", () => setTimeout(filter));
  one("#filters").addEventListener("submit", (event) => event.preventDefault());
  filter();

  // Temperatures: n bytes a block, 0 = no reading, t = low + step * (n - 1).
  const decoded = new WeakMap();
  const numbers = (figure) => {
    if (!decoded.has(figure)) {
      const text = atob(figure.dataset.values);
      const bytes = Number(figure.dataset.bytes);
      const list = new Uint16Array(text.length / bytes);
      for (let i = 0; i < list.length; i += 1) {
        list[i] = text.charCodeAt(i * bytes) + (bytes === 2 ? 256 * text.charCodeAt(i * bytes + 1) : 0);
      }
      decoded.set(figure, list);
    }
    return decoded.get(figure);
  };
  const read = (figure, column, row) => {
    const width = Number(figure.dataset.width);
    const height = Number(figure.dataset.height);
    const reading = figure.querySelector(".reading");
    if (column < 0 || row < 0 || column >= width || row >= height) {
      reading.textContent = "–";
      return;
    }
    const number = numbers(figure)[row * width + column];
    const celsius = Number(figure.dataset.low) + Number(figure.dataset.step) * (number - 1);
    const us = figure.dataset.units === "us";
    const value = (us ? celsius * 1.8 + 32 : celsius).toFixed(1);
    reading.textContent = number === 0 ? "no reading here" : `${value} ${us ? "°F" : "°C"} apparent`;
  };
  const SVG = "http://www.w3.org/2000/svg";
  for (const figure of all(".thermal")) {
    const svg = figure.querySelector("svg");
    const image = figure.querySelector(".readings image");
    const box = ["x", "y", "width", "height"].map((name) => Number(image.getAttribute(name)));
    const width = Number(figure.dataset.width);
    const height = Number(figure.dataset.height);
    svg.addEventListener("pointermove", (event) => {
      const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      const column = Math.floor(((place.x - box[0]) / box[2]) * width);
      read(figure, column, Math.floor(((place.y - box[1]) / box[3]) * height));
    });
    svg.addEventListener("pointerleave", () => read(figure, -1, -1));
    let at = null;
    let cursor = null;
    figure.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!way || event.target !== figure) return;
      event.preventDefault();
      const stride = event.shiftKey ? 10 : 1;
      at = at || [Math.floor(width / 2), Math.floor(height / 2)];
      at = [
        Math.min(Math.max(at[0] + way[0] * stride, 0), width - 1),
        Math.min(Math.max(at[1] + way[1] * stride, 0), height - 1),
      ];
      if (cursor === null) {
        cursor = document.createElementNS(SVG, "circle");
        cursor.setAttribute("class", "cursor");
        cursor.setAttribute("r", "6");
        svg.append(cursor);
      }
      cursor.setAttribute("cx", String(box[0] + ((at[0] + 0.5) / width) * box[2]));
      cursor.setAttribute("cy", String(box[1] + ((at[1] + 0.5) / height) * box[3]));
      read(figure, at[0], at[1]);
    });
  }

  // Light and dark: as the system says, until the reader says otherwise.
  const THEMES = ["", "light", "dark"];
  const WORDS = { "": "as the system", light: "light", dark: "dark" };
  const button = one("#theme");
  button.addEventListener("click", () => {
    const root = document.documentElement;
    const next = THEMES[(THEMES.indexOf(root.dataset.theme || "") + 1) % THEMES.length];
    if (next === "") delete root.dataset.theme;
    else root.dataset.theme = next;
    button.textContent = `Light or dark: ${WORDS[next]}`;
  });
  one("#print").addEventListener("click", () => window.print());
  // What is folded on the screen is printed.
  window.addEventListener("beforeprint", () => {
    for (const details of all("details")) details.open = true;
  });
})();
