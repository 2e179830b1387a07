/* The reading copy: which layers are seen, which mark is chosen, what is searched for. Without this
   script the page shows the music and every remark. Read with reading_copy_own.js, which keeps the
   player's choices and own marks. */
const data = JSON.parse(document.getElementById("data").textContent);
const SVG = "http://www.w3.org/2000/svg";
const byId = (id) => document.getElementById(id);
const all = (selector, within = document) => Array.from(within.querySelectorAll(selector));
const body = document.body;
const lines = all(".line > svg");
const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
let language = document.documentElement.lang;
let writing = false;
let chosen = null; /* id of the record whose decision is shown */
let opener = null; /* the mark it was opened from: where Escape leads back to */

function say(key, values = {}) {
  return data.say[language][key].replace(/\{(\w+)\}/g, (whole, name) => name in values ? values[name] : whole);
}

function remember(key, value) {
  try { window.localStorage.setItem(data.key + key, value); return true; } catch (refused) { return false; }
}

function remembered(key) {
  try { return window.localStorage.getItem(data.key + key); } catch (refused) { return null; }
}

function make(name, properties = {}, children = []) {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...children);
  return element;
}

function drawn(name, attributes, within) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) { element.setAttribute(key, value); }
  within.append(element);
  return element;
}

/* --- the music: what can be chosen in it ---------------------------------------------------- */

const marks = all(".mark", byId("music"));
const xmlId = (element) => element.id.slice(2);
const forms = (id) => [byId("x-" + id), byId("y-" + id)].filter(Boolean);
const notes = Object.keys(data.notes).flatMap(forms);
let order = []; /* what the arrow keys go through, in reading order */

const lineOf = (element) => element.closest(".line > svg");
const recordsOf = (element) => (element.dataset.records || "").split(" ").filter(Boolean);
const isSeen = (element) => element.getClientRects().length > 0 && !element.closest(".off, .not-taken");

/* The element of that xml:id in the line as it is shown now. */
function inMusic(id) {
  const found = forms(id);
  return found.find((one) => !lineOf(one).classList.contains("off")) || found[0] || null;
}

/* The box of an element in the coordinates of its line. */
function boxIn(svg, element) {
  const box = element.getBBox();
  const to = svg.getScreenCTM().inverse().multiply(element.getScreenCTM());
  const corners = [[0, 0], [1, 0], [0, 1], [1, 1]].map(([x, y]) =>
    new DOMPoint(box.x + x * box.width, box.y + y * box.height).matrixTransform(to));
  const xs = corners.map((one) => one.x), ys = corners.map((one) => one.y);
  return { x: Math.min(...xs), y: Math.min(...ys), width: Math.max(...xs) - Math.min(...xs), height: Math.max(...ys) - Math.min(...ys) };
}

/* Close each line up to what is seen in it: an ossia that is hidden leaves no gap. */
function fit(svg) {
  if (svg.classList.contains("off")) { return; }
  const width = svg.viewBox.baseVal.width, left = svg.viewBox.baseVal.x;
  const box = boxOfAll(svg);
  if (box.height > 0) { svg.setAttribute("viewBox", `${left} ${box.y - 60} ${width} ${box.height + 120}`); }
}

function boxOfAll(svg) {
  let top = Infinity, bottom = -Infinity;
  for (const part of svg.children) {
    if (part.classList.contains("under") || part.classList.contains("over")) { continue; }
    if (typeof part.getBBox !== "function") { continue; }
    const box = boxIn(svg, part);
    if (box.height > 0) { top = Math.min(top, box.y); bottom = Math.max(bottom, box.y + box.height); }
  }
  return { y: top, height: bottom - top };
}

function over(svg) { return svg.querySelector(":scope > .over") || drawn("g", { class: "over" }, svg); }

function under(svg) {
  const found = svg.querySelector(":scope > .under");
  if (found) { return found; }
  const group = drawn("g", { class: "under" }, svg);
  svg.prepend(group);
  return group;
}

function nameOf(element) {
  const own = element.dataset.own;
  if (own) { return ownName(own); }
  return writing ? noteName(xmlId(element)) : (data.marks[element.id] || {})[language] || "";
}

function noteName(id) {
  const note = data.notes[id];
  return say("note", { note: note.note, pitch: note[language], bar: note.bar });
}

/* Make the marks, or in writing the notes, what the keys and the reader of the screen find. */
function setTargets() {
  for (const one of [...marks, ...notes]) {
    for (const name of ["role", "tabindex", "aria-label", "aria-current"]) { one.removeAttribute(name); }
    one.classList.toggle("note-target", writing && notes.includes(one));
  }
  const wanted = (writing ? notes : marks).filter(isSeen);
  const places = new Map(wanted.map((one) => [one, [lines.indexOf(lineOf(one)), one.getBoundingClientRect().left]]));
  order = wanted.sort((one, other) => places.get(one)[0] - places.get(other)[0] || places.get(one)[1] - places.get(other)[1]);
  order.forEach((one, index) => {
    one.setAttribute("role", "button");
    one.setAttribute("tabindex", index === 0 ? "0" : "-1");
    one.setAttribute("aria-label", nameOf(one));
    if (!writing && recordsOf(one).includes(chosen)) { one.setAttribute("aria-current", "true"); }
  });
}

function rove(to) {
  for (const one of order) { one.setAttribute("tabindex", one === to ? "0" : "-1"); }
  to.focus({ preventScroll: true });
  to.scrollIntoView({ block: "nearest", behavior: "instant" });
}

function ring(element) {
  for (const old of all(".ring")) { old.remove(); }
  if (!element || !order.includes(element)) { return; }
  const svg = lineOf(element), box = boxIn(svg, element), air = 70;
  drawn("rect", { class: "ring", x: box.x - air, y: box.y - air, width: box.width + 2 * air, height: box.height + 2 * air, rx: 40 }, over(svg));
}

function light() {
  for (const old of all(".lit")) { old.remove(); }
  for (const one of marks) {
    const ours = chosen !== null && recordsOf(one).includes(chosen);
    one.classList.toggle("of-chosen", ours);
    if (!writing) { ours ? one.setAttribute("aria-current", "true") : one.removeAttribute("aria-current"); }
    if (!ours || !isSeen(one)) { continue; }
    const svg = lineOf(one), box = boxIn(svg, one), air = 50;
    drawn("rect", { class: "lit", x: box.x - air, y: box.y - air, width: box.width + 2 * air, height: box.height + 2 * air, rx: 30 }, under(svg));
  }
}

function step(from, key) {
  const at = order.indexOf(from);
  if (key === "ArrowRight") { return order[at + 1]; }
  if (key === "ArrowLeft") { return order[at - 1]; }
  if (key === "Home") { return order[0]; }
  if (key === "End") { return order[order.length - 1]; }
  const down = key === "ArrowDown", here = lineOf(from), x = from.getBoundingClientRect().left;
  const others = order.filter((one) => (lines.indexOf(lineOf(one)) - lines.indexOf(here)) * (down ? 1 : -1) > 0);
  if (!others.length) { return undefined; }
  const line = lineOf(down ? others[0] : others[others.length - 1]);
  const away = (one) => Math.abs(one.getBoundingClientRect().left - x);
  return others.filter((one) => lineOf(one) === line).sort((one, other) => away(one) - away(other))[0];
}

function onMusicKey(event) {
  const target = event.target.closest("[role=button]");
  if (!target || !order.includes(target) || event.altKey || event.ctrlKey || event.metaKey) { return; }
  if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    activate(target, true);
  } else if (["ArrowRight", "ArrowLeft", "ArrowUp", "ArrowDown", "Home", "End"].includes(event.key)) {
    event.preventDefault();
    const to = step(target, event.key);
    if (to) { rove(to); }
  }
}

/* A finger or a pointer need not hit the ink: what is nearest within 14 pixels is meant. */
function nearest(svg, x, y) {
  let best = null, least = 14;
  for (const one of order) {
    if (lineOf(one) !== svg) { continue; }
    const box = one.getBoundingClientRect();
    const away = Math.hypot(Math.max(box.left - x, 0, x - box.right), Math.max(box.top - y, 0, y - box.bottom));
    const wide = away === 0 && box.width > 60 ? 13 : away; /* a slur's box is mostly air: what is small goes first */
    if (wide < least) { best = one; least = wide; }
  }
  return best;
}

function onMusicClick(event) {
  const own = event.target.closest("[data-own]");
  if (own) { write(own.dataset.own); return; }
  const svg = event.target.closest(".line > svg");
  if (!svg) { return; }
  const hit = event.target.closest(".mark, .note-target");
  const spoken = event.detail === 0; /* pressed by an assistive tool */
  const target = spoken && order.includes(hit) ? hit : nearest(svg, event.clientX, event.clientY) || (order.includes(hit) ? hit : null);
  if (target) { rove(target); activate(target, spoken); }
}

function activate(target, byKey) {
  if (writing) { write(xmlId(target)); return; }
  opener = target;
  const ids = recordsOf(target);
  const next = ids.includes(chosen) ? ids[(ids.indexOf(chosen) + 1) % ids.length] : ids[0];
  go("remark-" + next);
  if (byKey) { byId("told").querySelector("h3").focus(); }
}

/* --- the panel ------------------------------------------------------------------------------- */

const tabs = all("[role=tab]");

function show(name) {
  for (const tab of tabs) {
    const on = tab.id === "tab-" + name;
    tab.setAttribute("aria-selected", String(on));
    tab.tabIndex = on ? 0 : -1;
    byId(tab.getAttribute("aria-controls")).hidden = !on;
  }
  body.classList.add("opened");
}

function close() {
  body.classList.remove("opened");
  if (opener && order.includes(opener)) { rove(opener); }
}

function onTabKey(event) {
  const at = tabs.indexOf(event.target);
  if (at < 0 || !["ArrowLeft", "ArrowRight"].includes(event.key)) { return; }
  event.preventDefault();
  const to = tabs[(at + (event.key === "ArrowRight" ? 1 : tabs.length - 1)) % tabs.length];
  show(to.id.slice(4));
  to.focus();
}

const articles = () => all(`.remarks[lang="${language}"] .remark`, byId("remarks"));

/* Show a decision: its remark as it stands in the list, under a heading of the panel. */
function tell(record) {
  const article = articles().find((one) => one.dataset.record === record);
  chosen = article ? record : null;
  byId("nothing").hidden = Boolean(article);
  byId("chosen").hidden = !article;
  byId("told").replaceChildren();
  if (article) {
    const copy = article.cloneNode(true);
    copy.removeAttribute("id");
    const link = copy.querySelector("h4 a");
    const heading = make("h3", { tabIndex: -1 }, [...link.childNodes]);
    copy.querySelector("h4").replaceWith(heading);
    for (const one of all("h5", copy)) { one.replaceWith(make("h4", {}, [...one.childNodes])); }
    byId("told").append(...copy.children);
    offer(record);
  }
  light();
}

function neighbour(by) {
  const found = articles().filter((one) => !one.hidden);
  const at = found.findIndex((one) => one.dataset.record === chosen);
  const to = found[at + by];
  if (to) { go("remark-" + to.dataset.record, true); byId("told").querySelector("h3").focus(); }
}

function barOf(record) {
  const first = (data.records[record] || { measures: [] }).measures[0];
  return first ? inMusic(first) : null;
}

/* What is far away is gone to at once: a long glide tells nothing. */
function bring(measure) {
  const line = measure.closest(".line");
  const far = Math.abs(line.getBoundingClientRect().top) > 2 * window.innerHeight;
  line.scrollIntoView({ block: "center", behavior: calm.matches || far ? "instant" : "smooth" });
}

function toMusic(measure) {
  if (!measure) { return; }
  bring(measure);
  const first = order.find((one) => measure.contains(one) || (lineOf(one) === lineOf(measure) && one.getBoundingClientRect().left >= measure.getBoundingClientRect().left - 4));
  const ours = order.find((one) => recordsOf(one).includes(chosen) && lineOf(one) === lineOf(measure));
  const to = ours || first;
  if (to) {
    for (const one of order) { one.setAttribute("tabindex", one === to ? "0" : "-1"); }
    to.focus({ preventScroll: true });
  }
}

/* The address says what is chosen, so that it can be kept, sent and gone back to. */
function go(hash, scrolls = false) {
  if (location.hash !== "#" + hash) { history.pushState(null, "", "#" + hash); }
  follow(scrolls);
}

function follow(scrolls) {
  const hash = decodeURIComponent(location.hash.slice(1));
  if (hash.startsWith("remark-")) {
    tell(hash.slice(7));
    if (chosen) {
      show("decision");
      const measure = barOf(chosen);
      if (scrolls && measure) { bring(measure); }
    }
  } else if (hash.startsWith("bar-")) {
    toMusic(inMusic(data.bars[hash]));
  } else if (!hash) {
    tell(null);
  }
}

function onLink(event) {
  const link = event.target.closest('a[href^="#"]');
  if (!link || link.classList.contains("skip")) { return; }
  event.preventDefault();
  const hash = decodeURIComponent(link.getAttribute("href").slice(1));
  const inList = Boolean(link.closest("#remarks"));
  go(hash, inList);
  if (hash.startsWith("remark-") && inList) { byId("told").querySelector("h3").focus(); }
}

/* --- layers, languages, search --------------------------------------------------------------- */

const boxes = all("#layers input");

function setLayers() {
  const off = new Set(boxes.filter((one) => !one.checked).map((one) => one.value));
  for (const one of all("[data-layer]", byId("music"))) { one.classList.toggle("off", off.has(one.dataset.layer)); }
  remember("layers", [...off].join(" "));
  redraw();
}

/* After anything was shown or hidden. */
function redraw() {
  drawOwn();
  lines.forEach(fit);
  setTargets();
  light();
}

function setLanguage(to) {
  language = to;
  document.documentElement.lang = to;
  document.title = data.say[to].document;
  for (const one of all("[data-language]")) { one.setAttribute("aria-pressed", String(one.dataset.language === to)); }
  for (const svg of lines) { svg.setAttribute("aria-label", svg.dataset[to]); }
  for (const one of all("[data-label]", byId("music"))) { relabel(one); }
  remember("language", to);
  tell(chosen);
  find();
  listOwn();
  setTargets();
}

/* The label of an ossia is engraved in the first language. */
function relabel(element) {
  const label = (data.records[element.dataset.label] || {}).label;
  const text = all("text, tspan", element).find((one) => one.children.length === 0);
  if (label && label[language] && text) { text.textContent = label[language]; }
}

const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();

const sigla = new Set(all("#remarks .siglum").map((one) => one.textContent));

/* A figure of up to three digits is a bar, what is written as a siglum that one, all else words. */
function matches(article, word) {
  if (/^\d{1,3}[a-z]?$/i.test(word)) { return article.dataset.bars.split(" ").includes(word); }
  if (sigla.has(word)) { return all(".siglum", article).some((one) => one.textContent === word); }
  return plain(article.textContent).includes(plain(word));
}

function find() {
  const barWords = data.say[language].bar_words.split(" ");
  const words = byId("sought").value.split(/\s+/).filter((word) => word && !barWords.includes(plain(word)));
  const every = articles();
  for (const one of every) { one.hidden = !words.every((word) => matches(one, word)); }
  for (const section of all(`.remarks[lang="${language}"] .movement`)) { section.hidden = !section.querySelector(".remark:not([hidden])"); }
  const count = every.filter((one) => !one.hidden).length;
  byId("found").textContent = words.length ? say("found", { n: count, all: every.length }) : "";
  const bars = words.filter((word) => /^\d/.test(word)).flatMap((word) =>
    Object.keys(data.bars).filter((anchor) => anchor.endsWith("-" + word)));
  byId("bars").replaceChildren(...bars.map((anchor) =>
    make("a", { href: "#" + anchor, textContent: say("to_bar", { bar: anchor.split("-").slice(2).join("-"), movement: data.numerals[anchor.split("-")[1]] }) })));
}
