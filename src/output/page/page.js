// The player, filters, search and keys of the pages. They read without it.
"use strict";
(() => {
  const $ = (query) => document.querySelector(query);
  const controls = $(".controls");
  const frames = [...document.querySelectorAll(".frame")];
  const lines = new Map([...document.querySelectorAll(".log tr[data-frame]")].map((line) => [line.dataset.frame, line]));
  const buttons = controls ? [...controls.querySelectorAll("[data-filter]")] : [];
  const search = $("#words");
  const plain = (text) => text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "").replace(/\s+/g, " ");
  const words = new Map(frames.map((f) => [f, plain(f.textContent)]));
  const cells = new Map(frames.map((f) => [f, JSON.parse(f.dataset.cells ?? "{}")]));
  let filter = "all";

  // The same terms as on the command line: words, "phrases", name:value, name<=value, spans lo..hi, -term.
  const COLUMNS = { f: "aperture", shutter: "shutter_s", ev: "ev100", focal: "focal_mm", iso: "box_iso", comp: "comp_stops", rule: "rule_stops", date: "taken", flag: "flags" };
  const NUMBERS = new Set(["aperture", "shutter_s", "ev100", "focal_mm", "ei", "box_iso", "comp_stops", "filter_stops", "confidence", "rule_stops", "rating", "extra_stops", "focus_m"]);
  const NAMES = new Set(["said", "subject", "place", "remark", "film", "lens", "camera", "filter", "light", "support", "process", "taken", "status", "flags", "frame", "roll", "trip", "extras", "has", ...NUMBERS]);

  function number(text, column) {
    const t = text.trim().replace(/s$/, "");
    if (column === "shutter_s" && /^1\/\d/.test(t)) return 1 / Number(t.slice(2));
    return t === "" ? NaN : Number(t);
  }

  /** Half of the last digit: a number matches what rounds to it. */
  function near(text, column) {
    if (column === "shutter_s") return Math.abs(number(text, column)) * 0.01;
    const decimals = (text.split(".")[1] ?? "").length;
    return 0.5 * 10 ** -decimals;
  }

  function compares(value, op, text, column) {
    const [low, high] = text.includes("..") ? text.split("..") : [text, text];
    const bottom = low === "" ? -Infinity : number(low, column);
    const top = high === "" ? Infinity : number(high, column);
    if (Number.isNaN(bottom) || Number.isNaN(top)) return false;
    const [under, over] = [low === "" ? 0 : near(low, column), high === "" ? 0 : near(high, column)];
    switch (op) {
      case "<": return value < bottom - under;
      case "<=": return value < bottom + under;
      case ">": return value >= bottom + under;
      case ">=": return value >= bottom - under;
      default: return value >= bottom - under && value < top + over;
    }
  }

  function condition(frame, name, op, text) {
    const column = COLUMNS[name] ?? name;
    const all = cells.get(frame);
    if (column === "has") return (COLUMNS[text] ?? text) in all;
    const cell = all[column];
    if (op === "!=") return !condition(frame, name, "=", text);
    if (cell === undefined) return false;
    if (NUMBERS.has(column)) return compares(Number(cell), op, text, column);
    if (column === "flags") return cell.split("|").some((f) => f === text || f.startsWith(`${text}:`));
    if (column === "frame" || column === "status") return plain(cell) === plain(text);
    if (column === "taken") {
      const [low, high] = text.includes("..") ? text.split("..") : [text, text];
      const cut = (t) => cell.slice(0, t.length);
      if (op === "<") return cut(low) < low;
      if (op === "<=") return cut(low) <= low;
      if (op === ">") return cut(low) > low;
      if (op === ">=") return cut(low) >= low;
      return (low === "" || cut(low) >= low) && (high === "" || cut(high) <= high);
    }
    return op === "=" && column !== "said" ? plain(cell) === plain(text) : plain(cell).includes(plain(text));
  }

  function terms(query) {
    const found = query.matchAll(/(-?)(?:([a-z_0-9]+)(!=|<=|>=|[:=<>]))?(?:"([^"]*)"?|(\S+))/giu);
    return [...found].map(([whole, not, name, op, phrase, bare]) => {
      const text = phrase ?? bare;
      const known = name && NAMES.has(COLUMNS[name.toLowerCase()] ?? name.toLowerCase());
      const word = plain(phrase ?? (name && !known ? whole.slice(not.length) : bare)).replace(/\*$/, "");
      const test = known ? (f) => condition(f, name.toLowerCase(), op, text) : (f) => words.get(f).includes(word);
      return not ? (f) => !test(f) : test;
    });
  }

  const passes = (frame) =>
    filter === "all" ||
    (filter === "check" && "check" in frame.dataset) ||
    frame.dataset.status === filter ||
    frame.dataset.kinds.split(" ").includes(filter);

  function show() {
    const all = terms(search.value);
    for (const frame of frames) {
      frame.hidden = !(passes(frame) && all.every((test) => test(frame)));
      const line = lines.get(frame.id);
      if (line) line.hidden = frame.hidden;
    }
    for (const b of buttons) b.setAttribute("aria-pressed", String(b.dataset.filter === filter));
    const n = frames.filter((f) => !f.hidden).length;
    $(".shown").textContent = n === frames.length ? `${n} frames` : `${n} of ${frames.length} frames`;
  }

  function choose(name) {
    filter = buttons.some((b) => b.dataset.filter === name) ? name : "all";
    show();
  }

  function step(by) {
    const seen = frames.filter((f) => !f.hidden);
    if (!seen.length) return;
    const here = seen.findIndex((f) => f.contains(document.activeElement));
    const next = here < 0 ? (by > 0 ? 0 : seen.length - 1) : Math.min(Math.max(here + by, 0), seen.length - 1);
    seen[next].focus();
    seen[next].scrollIntoView({ block: "nearest" });
  }

  const player = $(".player");
  const audio = player?.querySelector("audio");
  const trouble = player?.querySelector(".trouble");

  function play(link) {
    player.hidden = false;
    trouble.hidden = true;
    trouble.querySelector("a").href = link.href;
    player.querySelector(".words").textContent = link.dataset.words ?? link.closest("blockquote").querySelector("p").textContent;
    audio.src = link.href;
    // Refused where a browser wants a tap first; the controls are there for it.
    audio.play().catch(() => {});
  }

  function close() {
    if (!player) return;
    audio.pause();
    player.hidden = true;
  }

  audio?.addEventListener("error", () => { trouble.hidden = false; });
  player?.querySelector("button").addEventListener("click", close);
  document.addEventListener("click", (e) => {
    if (!player) return;
    const link = e.target.closest("a.play");
    if (!link || e.ctrlKey || e.metaKey || e.shiftKey) return;
    e.preventDefault();
    play(link);
  });
  if (!controls) return;
  controls.addEventListener("click", (e) => {
    const button = e.target.closest("[data-filter]");
    if (button) choose(button.dataset.filter === filter ? "all" : button.dataset.filter);
  });
  search.addEventListener("input", show);
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    if (e.key === "Escape") {
      search.value = "";
      choose("all");
      close();
      search.blur();
      return;
    }
    if (e.target.closest("input, audio")) return;
    const here = document.activeElement.closest(".frame");
    const keys = {
      "/": () => search.focus(),
      j: () => step(1),
      k: () => step(-1),
      c: () => choose(filter === "check" ? "all" : "check"),
      p: () => player && here && here.querySelector("a.play") && play(here.querySelector("a.play")),
    };
    if (keys[e.key]) {
      e.preventDefault();
      keys[e.key]();
    }
  });

  controls.hidden = false;
  const keys = $(".keys");
  if (keys) keys.hidden = false;
  show();
  // A hidden target cannot be reached: following a link shows all frames.
  window.addEventListener("hashchange", () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (target && target.hidden) { search.value = ""; choose("all"); target.scrollIntoView(); }
  });
})();
