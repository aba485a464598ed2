// Filters, search, keys and the player of a roll's page. The page reads without it.
"use strict";
(() => {
  const $ = (query) => document.querySelector(query);
  const controls = $(".controls");
  if (!controls) return;
  const frames = [...document.querySelectorAll(".frame")];
  const buttons = [...controls.querySelectorAll("[data-filter]")];
  const search = $("#words");
  const plain = (text) => text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "").replace(/\s+/g, " ");
  const words = new Map(frames.map((f) => [f, plain(f.textContent)]));
  let filter = "all";

  const passes = (frame) =>
    filter === "all" ||
    (filter === "check" && "check" in frame.dataset) ||
    frame.dataset.status === filter ||
    frame.dataset.kinds.split(" ").includes(filter);

  function show() {
    const terms = plain(search.value).split(" ").filter(Boolean);
    for (const frame of frames) {
      frame.hidden = !(passes(frame) && terms.every((t) => words.get(frame).includes(t)));
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
  const audio = player.querySelector("audio");
  const trouble = player.querySelector(".trouble");

  function play(link) {
    player.hidden = false;
    trouble.hidden = true;
    trouble.querySelector("a").href = link.href;
    player.querySelector(".words").textContent = link.closest("blockquote").querySelector("p").textContent;
    audio.src = link.href;
    // Refused where a browser wants a tap first; the controls are there for it.
    audio.play().catch(() => {});
  }

  function close() {
    audio.pause();
    player.hidden = true;
  }

  audio.addEventListener("error", () => { trouble.hidden = false; });
  player.querySelector("button").addEventListener("click", close);
  controls.addEventListener("click", (e) => {
    const button = e.target.closest("[data-filter]");
    if (button) choose(button.dataset.filter === filter ? "all" : button.dataset.filter);
  });
  search.addEventListener("input", show);
  document.addEventListener("click", (e) => {
    const link = e.target.closest("a.play");
    if (!link || e.ctrlKey || e.metaKey || e.shiftKey) return;
    e.preventDefault();
    play(link);
  });
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
      p: () => here && here.querySelector("a.play") && play(here.querySelector("a.play")),
    };
    if (keys[e.key]) {
      e.preventDefault();
      keys[e.key]();
    }
  });

  controls.hidden = false;
  $(".keys").hidden = false;
  show();
  // A hidden target cannot be reached: following a link shows all frames.
  window.addEventListener("hashchange", () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (target && target.hidden) { search.value = ""; choose("all"); target.scrollIntoView(); }
  });
})();
