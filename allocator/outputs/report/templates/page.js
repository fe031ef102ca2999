"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const data = JSON.parse(byId("data").textContent);
  const itemOf = new Map(data.keys.map((key, number) => [key, data.items[number]]));
  const elementsOf = new Map();
  for (const element of document.querySelectorAll("[data-key]")) {
    const key = element.dataset.key;
    if (!elementsOf.has(key)) elementsOf.set(key, []);
    elementsOf.get(key).push(element);
  }
  const keyOf = (target) => {
    const element = target instanceof Element ? target.closest("[data-key]") : null;
    return element && itemOf.has(element.dataset.key) ? element.dataset.key : null;
  };

  // What belongs together.
  const about = byId("about"), title = byId("about-title"), body = byId("about-body");
  const idle = { title: title.textContent, body: [...body.childNodes] };
  let held = null, shown = null;

  const made = (tag, text) => {
    const element = document.createElement(tag);
    element.textContent = text;
    return element;
  };
  const described = (item) => {
    const list = document.createElement("dl");
    for (const [word, lines] of item.facts) {
      list.append(made("dt", word));
      for (const line of lines) list.append(made("dd", line));
    }
    list.append(made("dt", "lit up"), made("dd", counted(item)));
    return list;
  };
  const WORDS = {
    need: ["row of the circuits", "rows of the circuits"], way: ["way", "ways"], socket: ["socket", "sockets"],
    piece: ["feed entry", "feed entries"], feed: ["feed", "feeds"], wire: ["wire", "wires"],
  };
  const counted = (item) => {
    const count = {};
    for (const number of item.lights) {
      const kind = data.keys[number].split(":", 1)[0];
      count[kind] = (count[kind] || 0) + 1;
    }
    const words = Object.entries(count).map(([kind, many]) => `${many} ${WORDS[kind][many === 1 ? 0 : 1]}`);
    return words.join(", ") || "nothing";
  };
  const show = (key) => {
    if (key === shown) return;
    shown = key;
    for (const element of document.querySelectorAll(".lit, .now")) element.classList.remove("lit", "now");
    about.classList.toggle("idle", key === null);
    byId("let-go").hidden = held === null;
    if (key === null) {
      title.textContent = idle.title;
      body.replaceChildren(...idle.body);
      return;
    }
    const item = itemOf.get(key);
    for (const number of item.lights) {
      for (const element of elementsOf.get(data.keys[number]) || []) element.classList.add("lit");
    }
    for (const element of elementsOf.get(key) || []) element.classList.add("now");
    title.textContent = item.title;
    body.replaceChildren(described(item));
    about.scrollTop = 0;
  };
  const hold = (key) => {
    held = key;
    shown = undefined;
    for (const element of document.querySelectorAll('[aria-pressed="true"]')) element.setAttribute("aria-pressed", "false");
    show(key);
    if (key === null) {
      byId("said").textContent = "let go";
      return;
    }
    for (const element of elementsOf.get(key) || []) {
      const button = element.matches("tr") ? element.querySelector(".go") : element;
      button.setAttribute("aria-pressed", "true");
    }
    byId("said").textContent = `held, lit up: ${counted(itemOf.get(key))}; details follow the plan, under "what belongs to it"`;
  };
  const uncover = (element) => {
    // on a narrow screen the details lie over the lower part of the page
    const hidden = element.getBoundingClientRect().bottom - about.getBoundingClientRect().top;
    if (getComputedStyle(about).position === "fixed" && hidden > 0) scrollBy(0, hidden + 8);
  };
  document.addEventListener("pointerover", (event) => {
    if (event.pointerType !== "mouse") return;
    const key = keyOf(event.target);
    if (key !== null) show(key);
    else if (!about.contains(event.target)) show(held);
  });
  document.addEventListener("focusin", (event) => {
    const key = keyOf(event.target);
    if (key !== null && event.target.matches(":focus-visible")) show(key);
  });
  document.addEventListener("focusout", () => show(held));
  document.addEventListener("click", (event) => {
    if (event.target.closest("a, summary, thead, #tools, #about")) return;
    const key = keyOf(event.target);
    if (key === null) return;
    hold(key === held ? null : key);
    if (held !== null) uncover(event.target.closest("[data-key]"));
  });
  byId("let-go").addEventListener("click", () => hold(null));

  // By keyboard: one stop for each drawing, arrows within it.
  const faces = [...document.querySelectorAll(".face")];
  const partsOf = (face) => [...face.querySelectorAll(".part")];
  for (const face of faces) {
    const [first] = partsOf(face);
    if (first) first.setAttribute("tabindex", "0");
  }
  const middle = (element) => {
    const box = element.querySelector(".reach").getBoundingClientRect();
    return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  };
  const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const neighbour = (part, [across, down]) => {
    const from = middle(part);
    let best = null, least = Infinity;
    for (const other of partsOf(part.closest(".face"))) {
      const to = middle(other);
      const ahead = (to.x - from.x) * across + (to.y - from.y) * down;
      const aside = Math.abs((to.x - from.x) * down) + Math.abs((to.y - from.y) * across);
      if (other !== part && ahead > 1 && ahead + 3 * aside < least) [best, least] = [other, ahead + 3 * aside];
    }
    return best;
  };
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") hold(null);
    const part = event.target instanceof Element ? event.target.closest(".part") : null;
    if (!part) return;
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      hold(part.dataset.key === held ? null : part.dataset.key);
      uncover(part);
    }
    const all = partsOf(part.closest(".face"));
    const next = event.key === "Home" ? all[0] : event.key === "End" ? all[all.length - 1]
      : event.key in STEPS ? neighbour(part, STEPS[event.key]) : null;
    if (!next) return;
    event.preventDefault();
    part.setAttribute("tabindex", "-1");
    next.setAttribute("tabindex", "0");
    next.focus();
  });

  // Search and filters.
  const QUIET = new Set(["why", "cautions", "dark with"]);
  const plain = (text) => text.toLocaleLowerCase().normalize("NFKC").replace(/\s+/g, " ");
  const textOf = new Map();
  for (const [key, item] of itemOf) {
    const lines = item.facts.filter(([word]) => !QUIET.has(word)).flatMap(([, found]) => found);
    textOf.set(key, plain([item.name, ...lines].join(" ")));
  }
  const filter = () => {
    const words = plain(byId("search").value).split(" ").filter(Boolean);
    const feed = byId("feed").value, now = byId("case").value;
    let seen = 0, all = 0;
    for (const [key, item] of itemOf) {
      const fits = words.every((word) => textOf.get(key).includes(word))
        && (!feed || item.feeds.includes(feed)) && (!now || item.cases.includes(now));
      if (key.startsWith("need:")) { all += 1; seen += fits ? 1 : 0; }
      for (const element of elementsOf.get(key) || []) {
        if (element.matches("tr")) element.hidden = !fits;
        else if (element.matches(".part")) element.classList.toggle("dim", !fits);
      }
    }
    const number = data.cases.indexOf(now);
    for (const cell of document.querySelectorAll("[data-by-case]")) {
      cell.textContent = number < 0 ? cell.dataset.largest : JSON.parse(cell.dataset.byCase)[number];
      cell.closest("table").querySelectorAll("thead th span")[cell.cellIndex].textContent =
        number < 0 ? "largest load" : `load in ${now}`;
    }
    byId("found").textContent = seen === all && !words.length && !feed && !now ? ""
      : `${seen} of ${all} circuits, spare ways and branches shown; the others are pale in the drawings`;
  };
  for (const cell of document.querySelectorAll("[data-by-case]")) cell.dataset.largest = cell.textContent;
  byId("tools").addEventListener("input", filter);
  byId("tools").addEventListener("submit", (event) => event.preventDefault());
  byId("tools").addEventListener("reset", () => setTimeout(filter));

  // Sorting: up, down, as it was.
  const inOrder = new Intl.Collator("en", { numeric: true });
  const compared = (left, right) => {
    const numbers = [left.dataset.order, right.dataset.order];
    if (numbers.every((order) => order !== undefined)) return numbers[0] - numbers[1];
    return inOrder.compare(left.textContent.trim(), right.textContent.trim());
  };
  for (const table of document.querySelectorAll("table")) {
    const rows = [...table.tBodies[0].rows];
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const next = { ascending: "descending", descending: "none" }[head.getAttribute("aria-sort")] || "ascending";
        for (const other of heads) other.removeAttribute("aria-sort");
        if (next !== "none") head.setAttribute("aria-sort", next);
        const turn = next === "descending" ? -1 : 1;
        const sorted = next === "none" ? rows
          : [...rows].sort((a, b) => turn * compared(a.cells[column], b.cells[column]));
        table.tBodies[0].append(...sorted);
      });
    });
  }

  // Light and dark.
  const theme = byId("theme"), root = document.documentElement;
  const isDark = () => root.dataset.theme ? root.dataset.theme === "dark"
    : matchMedia("(prefers-color-scheme: dark)").matches;
  const offer = () => { theme.textContent = isDark() ? "Light" : "Dark"; };
  theme.addEventListener("click", () => { root.dataset.theme = isDark() ? "light" : "dark"; offer(); });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", offer);
  offer();

  // Paper shows what the screen has folded.
  let folded = [];
  addEventListener("beforeprint", () => {
    folded = [...document.querySelectorAll("details:not([open])")];
    for (const one of folded) one.open = true;
  });
  addEventListener("afterprint", () => { for (const one of folded) one.open = false; });

  for (const id of ["tools", "about", "theme"]) byId(id).hidden = false;
  about.classList.add("idle");
})();
