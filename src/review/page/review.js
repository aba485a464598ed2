// The page of a review: shows one question at a time, plays the words, takes the answer.
"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  /** An element with text and children; nothing that was said or named becomes markup. */
  const make = (tag, attributes = {}, ...children) => {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
      if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
      else if (value === true) element.setAttribute(name, "");
      else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
    }
    element.append(...children.filter((c) => c !== null && c !== undefined));
    return element;
  };
  const path = (name) => name.split("/").map(encodeURIComponent).join("/");
  let state = null;
  let view = "questions";
  let asked = [];

  // --- the server

  async function ask(what, body) {
    const request = body === undefined ? {} : { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) };
    let response;
    try {
      response = await fetch(what, { ...request, credentials: "omit" });
    } catch {
      end("The review has ended", "Every answer is kept. Run spooltalk review on the trip to go on.");
      return null;
    }
    if (response.ok) return response.json();
    tell(await response.text());
    return null;
  }

  function tell(text) { $("told").textContent = text; }

  function end(title, text) {
    stop();
    $("question").hidden = $("frames").hidden = true;
    document.querySelector("nav").hidden = true;
    $("end").hidden = false;
    $("end-title").textContent = title;
    $("end-text").textContent = text;
    $("end-title").focus();
  }

  // --- questions

  async function show(what) {
    const got = await ask(what);
    if (got) take(got);
  }

  function take(got) {
    state = got;
    document.title = `${got.total} left · ${got.trip}`;
    $("trip").textContent = got.trip;
    const left = got.left.map((l) => make("li", {}, make("strong", {}, String(l.n)), ` ${l.label}`));
    $("left").replaceChildren(...(got.total ? left : [make("li", {}, "nothing left in doubt")]));
    $("undo").disabled = !got.undo;
    tell(got.told.join("\n"));
    if (view === "questions") question();
  }

  function question() {
    const q = state.question;
    stop();
    $("frames").hidden = true;
    $("question").hidden = !q;
    $("end").hidden = Boolean(q);
    if (!q) {
      $("end-title").textContent = "Nothing is left in doubt";
      $("end-text").textContent = "Write and close puts every answer into the tables, pages, sidecars and the archive.";
      $("end-title").focus();
      return;
    }
    const f = q.shown;
    $("where").textContent = `Roll ${q.roll}, frame ${q.frame} · ${state.at + 1} of ${state.total}`;
    $("title").textContent = q.title;
    $("why").replaceChildren(...q.why.map((w) => make("li", {}, w)));
    picture(f);
    $("edge").replaceChildren(...f.edge.flatMap((line) => [
      line.image ? make("img", { src: `edge/${path(`${q.roll}/${line.image}`)}`, alt: "The film edge" }) : null,
      make("p", {}, line.raw),
    ].filter(Boolean)));
    $("beside").replaceChildren(...f.beside.map((b) => make("li", { "aria-current": b.number === f.number ? "true" : null },
      b.scan ? make("img", { src: `small/${path(b.scan)}`, alt: `Scan of frame ${b.number}`, loading: "lazy" }) : make("span", { class: "none" }),
      `${b.number} ${b.settings}`)));
    $("choices").replaceChildren(...q.choices.map((c, i) => make("li", {},
      make("button", { type: "button", class: c.stands ? "stands" : "", onclick: () => choose(i) },
        make("kbd", {}, String(i + 1)),
        make("span", { class: "label" }, c.label),
        make("span", { class: "share" }, [c.stands ? "stands now" : "", c.source ?? "", c.share === null ? "" : `${c.share} %`].filter(Boolean).join(" · ")),
        c.means ? make("span", { class: "means" }, c.means) : null,
        c.scan ? make("img", { src: `small/${path(c.scan)}`, alt: "" }) : null))));
    $("onward-box").hidden = q.onward.length === 0;
    $("onward").checked = true;
    $("onward-text").textContent = `and frame${q.onward.length === 1 ? "" : "s"} ${ranges(q.onward)}, which go on from it`;
    $("type").hidden = !q.column;
    $("typed").value = "";
    $("type-label").textContent = { support: "Held how", remark: "As a remark" }[q.column] ?? "Something else";
    sound(f.said);
    $("title").focus();
  }

  function ranges(numbers) {
    return numbers.length < 4 ? numbers.join(", ") : `${numbers[0]} to ${numbers[numbers.length - 1]}`;
  }

  function picture(f) {
    const scans = f.scans.map((s) => make("img", { src: `scan/${path(s)}`, alt: `Scan of frame ${f.number}` }));
    for (const image of scans) image.addEventListener("error", () => image.replaceWith(make("p", {}, "This scan cannot be shown.")));
    $("scans").replaceChildren(...(scans.length ? scans : [make("p", {}, "no scan")]));
  }

  /** The answer, going on to the frames that hang on it or not. */
  async function answer(given) {
    if (!state.question) return;
    const onward = !$("onward").checked && "onward" in given ? [] : given.onward;
    asked.push(state.question.id);
    const got = await ask("answer", { answer: onward === undefined ? given : { ...given, onward }, at: state.at });
    if (got) take(got);
    else asked.pop();
  }

  const choose = (i) => { const c = state.question?.choices[i]; if (c) answer(c.answer); };
  const later = () => state.question && show(`state?after=${encodeURIComponent(state.question.id)}`);
  const before = () => state.question && show(`state?before=${encodeURIComponent(state.question.id)}`);

  async function undo() {
    if ($("undo").disabled) return;
    const got = await ask("undo", { id: asked.pop() ?? null, at: state.at });
    if (!got) return;
    take(got);
    if (view === "frames") openRoll(roll?.name, chosen);
  }

  async function done() {
    tell("Writing …");
    if (await ask("done", {})) end("Written", "Tables, pages, sidecars and the archive hold every answer. This page can be closed.");
  }

  // --- what was said

  const audio = $("audio");
  const wave = $("wave");
  let stretch = null;
  let heard = [];
  let span = [0, 0];
  let peaks = [];
  let dragging = false;

  function sound(said) {
    heard = said;
    $("quotes").replaceChildren(...said.map((s, i) => quote(s, i)));
    const first = said.findIndex((s) => s.sound);
    $("wave-box").hidden = first < 0;
    $("sound").hidden = said.length === 0;
    stretch = null;
    if (first >= 0) choosesound(first);
  }

  function quote(s, i) {
    const inside = (w) => w[0] >= s.at - 0.05 && w[1] <= s.end + 0.05;
    const words = s.words.length
      ? s.words.flatMap((w) => [make("span", { class: inside(w) ? "word" : "word around", "data-from": w[0], "data-to": w[1] }, w[2]), " "])
      : s.parts.map(([text, used]) => (used ? text : make("span", { class: "unread" }, text)));
    const several = heard.length > 1 && s.sound;
    return make("div", { class: "quote" }, make("p", { dir: "auto" }, ...words),
      make("p", { class: "clip" }, s.clip),
      several ? make("button", { type: "button", onclick: () => { choosesound(i); play(); } }, `Play this one`) : null);
  }

  async function choosesound(i) {
    stretch = heard[i];
    const quotes = [...document.querySelectorAll(".quote")];
    quotes.forEach((q, j) => (j === i ? q.setAttribute("aria-current", "true") : q.removeAttribute("aria-current")));
    span = [stretch.from, stretch.to];
    audio.pause();
    audio.removeAttribute("src");
    audio.dataset.offset = "0";
    peaks = [];
    draw();
    const mine = stretch;
    const response = await fetch(`peaks/${path(mine.clip)}?from=${mine.from}&to=${mine.to}`).catch(() => null);
    if (mine !== stretch || !response?.ok) return;
    peaks = await response.json();
    // The clip may end before the stretch does.
    span[1] = Math.min(span[1], mine.from + Math.max(peaks.length / 100, 0.1));
    draw();
  }

  const offset = () => Number(audio.dataset.offset || 0);
  const now = () => audio.currentTime + offset();

  function play() {
    if (!stretch) return;
    if (!audio.getAttribute("src")) audio.src = `clip/${path(stretch.clip)}`;
    audio.playbackRate = $("half").getAttribute("aria-pressed") === "true" ? 0.5 : 1;
    audio.preservesPitch = true;
    const begin = () => {
      if (now() < span[0] || now() >= span[1] - 0.05) audio.currentTime = Math.max(0, span[0] - offset());
      audio.play().catch(() => {});
      pressed("play", true);
      requestAnimationFrame(follow);
    };
    if (audio.readyState > 0) begin();
    else { audio.addEventListener("loadedmetadata", begin, { once: true }); audio.load(); }
  }

  function stop() { audio.pause(); pressed("play", false); }

  // A clip of a kind that the browser does not play comes as plain sound, the stretch alone.
  audio.addEventListener("error", () => {
    if (!stretch || offset() || !audio.getAttribute("src")) return;
    audio.dataset.offset = String(stretch.from);
    audio.src = `sound/${path(stretch.clip)}?from=${stretch.from}&to=${stretch.to}`;
    play();
  });

  function follow() {
    const at = now();
    for (const w of document.querySelectorAll(".quote[aria-current] .word")) {
      w.classList.toggle("on", !audio.paused && at >= Number(w.dataset.from) && at < Number(w.dataset.to) + 0.05);
    }
    draw();
    if (audio.paused) return;
    if (at >= span[1] || audio.ended) {
      if ($("loop").getAttribute("aria-pressed") === "true") audio.currentTime = Math.max(0, span[0] - offset());
      else { stop(); draw(); return; }
    }
    requestAnimationFrame(follow);
  }
  audio.addEventListener("ended", () => {
    if ($("loop").getAttribute("aria-pressed") === "true" && stretch) { audio.currentTime = Math.max(0, span[0] - offset()); audio.play().catch(() => {}); }
    else stop();
  });

  const pressed = (id, on) => $(id).setAttribute("aria-pressed", String(on));
  const toggle = (id) => pressed(id, $(id).getAttribute("aria-pressed") !== "true");

  function draw() {
    const style = getComputedStyle(document.documentElement);
    const { width, height } = wave;
    const pen = wave.getContext("2d");
    pen.clearRect(0, 0, width, height);
    if (!stretch) return;
    const x = (s) => ((s - stretch.from) / (stretch.to - stretch.from)) * width;
    pen.fillStyle = style.getPropertyValue("--mark");
    pen.fillRect(x(span[0]), 0, x(span[1]) - x(span[0]), height);
    const most = Math.max(32, ...peaks);
    peaks.forEach((p, i) => {
      const s = stretch.from + i / 100;
      const tall = Math.max(1, (p / most) * (height - 8));
      pen.fillStyle = style.getPropertyValue(s >= stretch.at && s <= stretch.end ? "--wave-on" : "--wave");
      pen.fillRect(x(s), (height - tall) / 2, Math.max(1, width / (100 * (stretch.to - stretch.from)) - 0.5), tall);
    });
    pen.fillStyle = style.getPropertyValue("--ink");
    if (audio.getAttribute("src")) pen.fillRect(x(now()), 0, 2, height);
  }

  const seconds = (e) => {
    const box = wave.getBoundingClientRect();
    const share = Math.min(1, Math.max(0, (e.clientX - box.left) / box.width));
    return stretch.from + share * (stretch.to - stretch.from);
  };
  wave.addEventListener("pointerdown", (e) => {
    if (!stretch) return;
    wave.setPointerCapture(e.pointerId);
    dragging = seconds(e);
  });
  wave.addEventListener("pointermove", (e) => {
    if (dragging === false) return;
    const here = seconds(e);
    if (Math.abs(here - dragging) > 0.05) span = [Math.min(here, dragging), Math.max(here, dragging)];
    draw();
  });
  wave.addEventListener("pointerup", (e) => {
    if (dragging === false) return;
    // A touch without dragging plays from there.
    if (Math.abs(seconds(e) - dragging) <= 0.05) span = [dragging, stretch.to];
    dragging = false;
    if (audio.getAttribute("src")) audio.currentTime = Math.max(0, span[0] - offset());
    play();
  });

  // --- frames

  let roll = null;
  let chosen = null;
  let opening = 0;

  async function openFrames() {
    stop();
    view = "frames";
    $("question").hidden = $("end").hidden = true;
    $("frames").hidden = false;
    pressed("to-questions", false);
    pressed("to-frames", true);
    await openRoll(state.question?.roll ?? roll?.name ?? state.rolls[0], state.question?.frame);
    $("frames-title").focus();
  }

  async function openQuestions() {
    view = "questions";
    pressed("to-questions", true);
    pressed("to-frames", false);
    await show(state.question ? `state?id=${encodeURIComponent(state.question.id)}` : "state");
  }

  async function openRoll(name, frame) {
    if (!name) return;
    const mine = ++opening;
    const got = await ask(`roll?name=${encodeURIComponent(name)}`);
    if (!got || mine !== opening) return;
    roll = got;
    $("rolls").replaceChildren(...state.rolls.map((r) => make("button", { type: "button", "aria-pressed": String(r === roll.name), onclick: () => openRoll(r) }, `Roll ${r}`)));
    const facts = [["roll", "name", roll.name], ["camera", "camera", roll.camera], ["film", "film", roll.film], ["ei", "exposure index", roll.ei], ["process", "process", roll.process]];
    $("facts").replaceChildren(...facts.map(([column, label, value]) => field(`fact-${column}`, label, value ?? "", (text) =>
      change({ do: "fact", roll: roll.name, column, text }, column === "roll" ? text : roll.name))));
    $("sheet").replaceChildren(...roll.frames.map(tile));
    const next = String(1 + Math.max(0, ...roll.frames.map((f) => parseInt(f.number, 10) || 0)));
    $("add").onclick = () => change({ do: "insert", roll: roll.name, frame: next }, roll.name, next);
    $("loose-box").hidden = roll.other_scans.length === 0;
    $("loose").replaceChildren(...roll.other_scans.map(loose));
    if (frame && roll.frames.some((f) => f.number === frame)) await openFrame(frame);
    else { chosen = null; $("editor").replaceChildren(make("p", {}, "Choose a frame to change anything about it. A scan can be dragged to another frame.")); }
  }

  function tile(f) {
    const item = make("li", { class: f.doubt ? "doubt" : "", draggable: f.scan ? "true" : null },
      make("button", { type: "button", "aria-pressed": "false", "data-frame": f.number, onclick: () => openFrame(f.number) },
        f.scan ? make("img", { src: `small/${path(f.scan)}`, alt: "", loading: "lazy", draggable: "false" }) : make("span", { class: "none" }, "no scan"),
        make("span", { class: "number" }, `Frame ${f.number}${f.doubt ? " · in doubt" : ""}`),
        make("span", { class: "more" }, [f.status === "ok" ? "" : f.status, f.settings, f.subject ?? ""].filter(Boolean).join(" · "))));
    item.addEventListener("dragstart", (e) => e.dataTransfer.setData("text/plain", JSON.stringify([f.number, f.scan])));
    item.addEventListener("dragover", (e) => { e.preventDefault(); item.classList.add("over"); });
    item.addEventListener("dragleave", () => item.classList.remove("over"));
    item.addEventListener("drop", (e) => {
      e.preventDefault();
      item.classList.remove("over");
      let from, scan;
      try { [from, scan] = JSON.parse(e.dataTransfer.getData("text/plain")); } catch { return; }
      if (scan && from !== f.number) change({ do: "move_scan", roll: roll.name, scan, from, to: f.number });
    });
    return item;
  }

  /** A scan that shows no frame yet. */
  function loose(scan, i) {
    const place = (number) => change({ do: "move_scan", roll: roll.name, scan, from: null, to: number }, roll.name, number);
    const select = make("select", { id: `loose-${i}` }, make("option", { value: "" }, "…"), ...roll.frames.map((f) => make("option", { value: f.number }, `frame ${f.number}`)));
    select.addEventListener("change", () => select.value && place(select.value));
    const item = make("li", { draggable: "true" },
      make("img", { src: `small/${path(scan)}`, alt: "", draggable: "false" }),
      make("label", { for: select.id }, `${scan} shows`), select);
    item.addEventListener("dragstart", (e) => e.dataTransfer.setData("text/plain", JSON.stringify([null, scan])));
    return item;
  }

  /** An input that hands its text over when it was changed. */
  function field(id, label, value, changed) {
    const input = make("input", { id, type: "text", autocomplete: "off", spellcheck: "false", value });
    input.addEventListener("change", () => changed(input.value));
    return make("div", { class: "field" }, make("label", { for: id }, label), input);
  }

  async function openFrame(number) {
    chosen = number;
    const f = await ask(`frame?roll=${encodeURIComponent(roll.name)}&frame=${encodeURIComponent(number)}`);
    // An answer that comes late does not take the place of what was chosen since.
    if (!f || chosen !== number) return;
    for (const b of document.querySelectorAll("#sheet button")) b.setAttribute("aria-pressed", String(b.dataset.frame === number));
    const goOn = make("input", { type: "checkbox", id: "go-on", checked: true });
    const set = (column) => (text) => change({ do: "set", roll: roll.name, frame: number, column, text, onward: (goOn.checked && f.onward[column]) || [] });
    const carried = Object.keys(f.onward);
    const named = { focal_mm: "focal length", box_iso: "box speed", ei: "exposure index", filter_stops: "filter's loss", comp_stops: "compensation", taken: "time taken", lat: "latitude", lon: "longitude" };
    const fields = f.cells.map(([column, value]) => field(`cell-${column}`, named[column] ?? column, value, set(column)));
    const at = roll.frames.findIndex((x) => x.number === number);
    const others = roll.frames.filter((x) => x.number !== number);
    const act = (label, answer, then) => make("button", { type: "button", onclick: () => change(answer, roll.name, then) }, label);
    const base = { roll: roll.name, frame: number };
    const choice = (id, label, go) => {
      const select = make("select", { id }, make("option", { value: "" }, "…"), ...others.map((o) => make("option", { value: o.number }, `frame ${o.number}`)));
      select.addEventListener("change", () => select.value && go(select.value));
      return make("div", { class: "field" }, make("label", { for: id }, label), select);
    };
    $("editor").replaceChildren(...[
      make("h2", {}, `Frame ${number} · ${f.status}`),
      f.scans.length ? make("div", { class: "scans" }, make("img", { src: `scan/${path(f.scans[0])}`, alt: `Scan of frame ${number}` })) : null,
      f.flags.length ? make("ul", {}, ...f.flags.map((x) => make("li", {}, f.looked_at.includes(x) ? `${x} (looked at)` : x))) : null,
      ...f.said.map((s) => make("p", { class: "quote", dir: "auto" }, s.text)),
      make("div", { class: "moves", role: "group", "aria-label": "The frame" },
        field("renumber", "its number", number, (text) => change({ do: "number", ...base, fate: { number: text } }, roll.name, text)),
        act("Shift on by 1 from here", { do: "shift", ...base, by: 1 }),
        act("Shift back by 1 from here", { do: "shift", ...base, by: -1 }),
        act("Insert a frame here", { do: "insert", ...base }, number),
        at > 0 ? act(`One with ${roll.frames[at - 1].number}`, { do: "number", ...base, fate: { with: roll.frames[at - 1].number }, close: false }, roll.frames[at - 1].number) : null,
        act("Take out", { do: "number", ...base, fate: "out", close: false }, null),
        act("Wasted", { do: "set", ...base, column: "status", text: "wasted", onward: [] }, number),
        f.scans.length ? choice("give", "give its scan to", (to) => change({ do: "move_scan", roll: roll.name, scan: f.scans[0], from: number, to }, roll.name, number)) : null),
      carried.length ? make("label", { class: "onward", for: "go-on" }, goOn, `Frames after it go on with its ${carried.map((c) => named[c] ?? c).join(", ")}: change them too`) : null,
      make("div", { class: "grid" }, ...fields),
    ].filter(Boolean));
  }

  async function change(answer, name = roll.name, frame = chosen) {
    const focus = document.activeElement?.id;
    const got = await ask("answer", { answer, at: state.at });
    if (got) { asked.push(null); take(got); }
    const told = $("told").textContent;
    await openRoll(name, frame);
    tell(told);
    if (focus && $(focus)) $(focus).focus();
  }

  // --- keys and buttons

  $("play").addEventListener("click", () => (audio.paused ? play() : stop()));
  $("half").addEventListener("click", () => { toggle("half"); audio.playbackRate = $("half").getAttribute("aria-pressed") === "true" ? 0.5 : 1; });
  $("loop").addEventListener("click", () => toggle("loop"));
  $("from").addEventListener("click", () => { if (stretch) { span = [Math.min(now(), span[1] - 0.1), span[1]]; draw(); } });
  $("to").addEventListener("click", () => { if (stretch) { span = [span[0], Math.max(now(), span[0] + 0.1)]; draw(); } });
  $("right").addEventListener("click", () => answer(state.question.right));
  $("open").addEventListener("click", () => answer(state.question.open));
  $("later").addEventListener("click", later);
  $("before").addEventListener("click", before);
  $("undo").addEventListener("click", undo);
  $("done").addEventListener("click", done);
  $("to-frames").addEventListener("click", openFrames);
  $("to-questions").addEventListener("click", openQuestions);
  $("facts").addEventListener("submit", (e) => e.preventDefault());
  $("type").addEventListener("submit", (e) => {
    e.preventDefault();
    const q = state.question;
    if (q?.right.do === "read") answer({ ...q.right, remark: $("typed").value });
    else if (q?.column) answer({ do: "set", roll: q.roll, frame: q.frame, column: q.column, text: $("typed").value, onward: q.onward });
  });
  const click = (id) => () => $(id).click();
  const inQuestions = { r: click("right"), o: click("open"), t: () => $("typed").focus(), j: later, k: before, h: click("half"), l: click("loop"), " ": click("play"), "[": click("from"), "]": click("to"), g: () => { if (!$("onward-box").hidden) $("onward").checked = !$("onward").checked; } };
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const typing = e.target.closest("input[type=text], select");
    if (typing) {
      if (e.key === "Escape") typing.blur();
      return;
    }
    if (e.key === " " && e.target.closest("button, summary, input, a")) return;
    if (!state) return;
    const everywhere = { u: undo, w: done, f: () => (view === "frames" ? openQuestions() : openFrames()) };
    const open = !$("question").hidden && state?.question;
    const digit = /^[1-9]$/.test(e.key) ? () => choose(Number(e.key) - 1) : undefined;
    const act = everywhere[e.key] ?? (open ? inQuestions[e.key] ?? digit : undefined);
    if (act) { e.preventDefault(); act(); }
  });

  show("state");
})();
