/* A player's own copy: what was chosen and written, kept in this browser, saved as YAML. */
const BOW = { down: "\ue610", up: "\ue612" };
let own = { player: "", performance: "", choices: {}, marks: {} };
const before = []; /* earlier states, as text, for Undo */

const today = () => {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
};

function keep(change) {
  before.push(JSON.stringify(own));
  change();
  settle();
}

function settle() {
  const kept = remember("own", JSON.stringify(own));
  byId("own-said").textContent = kept ? "" : say("own.not_kept");
  byId("undo").disabled = before.length === 0;
  byId("player").value = own.player;
  byId("performance").value = own.performance;
  const days = own.performance ? (new Date(own.performance) - new Date(today())) / 86400000 : Infinity;
  byId("soon").textContent = days >= 0 && days <= data.settled_days ? say("own.soon") : "";
  take();
  redraw();
  listOwn();
  showTaken();
}

/* --- choices among what the edition offers --------------------------------------------------- */

function taken(record) {
  const known = data.records[record], choice = own.choices[record];
  if (!choice || choice.takes === true) { return known.printed; }
  return choice.takes === false ? [] : [].concat(choice.takes);
}

/* Hide in the music what is not taken. A line with something that the edition does not print is
   shown in its second form, in which there is room for it. */
function take() {
  for (const line of all(".line")) {
    const [printed, every] = line.children;
    if (!every) { continue; }
    const more = all("[data-offered]", every).some((one) => {
      const [record, number] = JSON.parse(one.dataset.offered), known = data.records[record];
      return !known.whole && number > known.printed.length && taken(record).includes(known.options[number - 1].name);
    });
    printed.classList.toggle("off", more);
    every.classList.toggle("off", !more);
  }
  for (const one of all("[data-offered]", byId("music"))) {
    const [record, number] = JSON.parse(one.dataset.offered);
    const names = taken(record), known = data.records[record];
    const wanted = known.whole ? names.length > 0 : names.includes(known.options[number - 1].name);
    one.classList.toggle("not-taken", !wanted);
  }
}

/* Whether an alternative that stands below the notes here is printed alone, and so above them. */
function isPrintedAbove(record) {
  const choice = own.choices[record];
  const names = choice && typeof choice.takes !== "boolean" ? [].concat(choice.takes) : [];
  return names.length === 1 && data.records[record].options.findIndex((one) => one.name === names[0]) > 0;
}

/* Say in the panel what is taken of the chosen decision, wherever it was chosen or removed. */
function showTaken() {
  const choice = chosen && own.choices[chosen];
  const current = choice ? JSON.stringify(choice.takes) : "null";
  for (const input of all("input", byId("offered"))) { input.checked = input.value === current; }
  byId("stands").textContent = chosen && isPrintedAbove(chosen) ? say("stands_above") : "";
}

function offer(record) {
  const known = data.records[record];
  const offered = known && (known.whole || known.options.length > 0);
  byId("options").hidden = !offered;
  byId("offered").replaceChildren();
  if (!offered) { return; }
  const options = [[null, say("as_printed")]];
  if (known.whole) { options.push([true, say("shown")]); } else {
    for (const one of known.options) { options.push([one.name, one[language]]); }
  }
  options.push([false, say("left_out")]);
  for (const [value, text] of options) {
    const input = make("input", { type: "radio", name: "offered", value: JSON.stringify(value) });
    input.addEventListener("change", () => keep(() => {
      if (value === null) { delete own.choices[record]; } else { own.choices[record] = { takes: value, date: today() }; }
    }));
    byId("offered").append(make("label", {}, [input, make("span", { textContent: text })]));
  }
  showTaken();
}

/* --- own fingerings and bow signs ------------------------------------------------------------ */

let entered = null; /* xml:id of the note in the dialog */

function digitField(index, of) {
  const now = (own.marks[entered] || { digits: [] }).digits[index] || {};
  const title = of > 1 ? say("own.finger_of", { n: index + 1 }) : say("own.finger");
  const group = make("fieldset", {}, [make("legend", { textContent: title })]);
  const digits = make("div", { className: "choices" });
  for (const value of ["", "0", "1", "2", "3", "4"]) {
    const input = make("input", { type: "radio", name: "digit-" + index, value, checked: (now.digit || "") === value });
    digits.append(make("label", {}, [input, make("span", { textContent: value || say("own.no_digit") })]));
  }
  const strings = make("select", { name: "string-" + index, id: "string-" + index });
  for (const value of ["", ...data.strings]) {
    strings.append(make("option", { value, textContent: value || say("own.any_string"), selected: (now.string || "") === value }));
  }
  const label = make("label", { htmlFor: strings.id }, [make("span", { textContent: say("own.string") })]);
  group.append(digits, make("div", { className: "choices" }, [label, strings]));
  return group;
}

/* Say before it is kept what would be lost, or keep the part from being printed. */
function warn() {
  const form = byId("entry").querySelector("form").elements;
  const amiss = form.bow.value === "none" ? "" : data.notes[entered].bow;
  byId("bow-amiss").textContent = amiss ? say("own.bow_amiss." + amiss) : "";
  const alone = Array.from({ length: data.notes[entered].heads }, (_, index) => index)
    .some((index) => form["string-" + index].value && !form["digit-" + index].value);
  byId("string-alone").textContent = alone ? say("own.string_alone") : "";
}

function write(id) {
  entered = id;
  const mark = own.marks[id];
  byId("entry-title").textContent = noteName(id);
  const heads = data.notes[id].heads;
  byId("digits").replaceChildren(...Array.from({ length: heads }, (_, index) => digitField(index, heads)));
  for (const one of all("[name=bow]")) { one.checked = one.value === ((mark && mark.bow) || "none"); }
  warn();
  byId("remove").hidden = !mark;
  byId("entry").returnValue = "cancel";
  byId("entry").showModal();
}

function onEntryClosed() {
  const answer = byId("entry").returnValue, id = entered;
  if (answer === "remove") { keep(() => { delete own.marks[id]; }); }
  if (answer === "keep") {
    const form = byId("entry").querySelector("form").elements;
    const digits = Array.from({ length: data.notes[id].heads }, (_, index) => ({
      digit: form["digit-" + index].value, string: form["string-" + index].value,
    }));
    const bow = form.bow.value === "none" ? "" : form.bow.value;
    const empty = !bow && digits.every((one) => !one.digit);
    keep(() => { if (empty) { delete own.marks[id]; } else { own.marks[id] = { digits, bow, date: today() }; } });
  }
  const note = inMusic(id);
  if (order.includes(note)) { rove(note); }
}

const inWords = (digits) => digits.filter((one) => one.digit).map((one) => one.digit + (one.string ? " " + one.string : "")).join(" / ");

function ownName(id) {
  const mark = own.marks[id], note = data.notes[id];
  const what = [inWords(mark.digits), mark.bow && say("own.bows." + mark.bow)].filter(Boolean).join(", ");
  return say("own.mark", { what, bar: note.bar, note: note.note });
}

/* Set the player's marks above their notes, over whatever else stands there. */
function drawOwn() {
  for (const old of all(".own-mark")) { old.remove(); }
  const off = boxes.some((one) => one.value === "player" && !one.checked);
  if (off) { return; }
  for (const [id, mark] of Object.entries(own.marks)) {
    const note = inMusic(id);
    if (!note) { continue; }
    const svg = lineOf(note), box = boxIn(svg, note), staff = note.closest(".staff");
    const lines = staff ? all(":scope > path", staff).map((one) => boxIn(svg, one).y) : [];
    const x = box.x + box.width / 2, size = data.digit_size;
    const taken = all(".fing, .artic, .dir, .own-mark, .slur, .dynam, .tempo, .remark-key, .mNum, .oStaff", svg).filter((one) => isSeen(one)).map((one) => boxIn(svg, one))
      .filter((one) => one.width > 0 && one.x < x + 150 && one.x + one.width > x - 150);
    let y = Math.min(box.y, ...lines) - 90;
    const rows = [...mark.digits].reverse().filter((one) => one.digit).map((one) => one.digit + (one.string ? " " + one.string : ""));
    const tall = rows.length * size + (mark.bow ? 360 : 0);
    for (const one of taken.sort((a, b) => b.y - a.y)) {
      if (one.y < y + 0.25 * size && one.y + one.height > y - tall) { y = one.y - 0.25 * size - 20; }
    }
    const group = drawn("g", { class: "own-mark layer-player", "data-layer": "player", "data-own": id }, svg);
    for (const row of [...rows].reverse()) {
      drawn("text", { class: "own-text", x, y, "text-anchor": "middle", "font-size": size }, group).textContent = row;
      y -= size * 0.95;
    }
    if (mark.bow) {
      drawn("text", { class: "own-bow", x, y: y - 20, "text-anchor": "middle", "font-size": 640 }, group).textContent = BOW[mark.bow];
    }
    group.setAttribute("aria-label", ownName(id));
    group.setAttribute("role", "img");
  }
}

function listOwn() {
  const entries = [];
  for (const [record, choice] of Object.entries(own.choices)) {
    const known = data.records[record];
    if (!known) { continue; }
    const takes = choice.takes === false ? say("left_out") : choice.takes === true ? say("shown")
      : [].concat(choice.takes).map((name) => (known.options.find((one) => one.name === name) || { [language]: name })[language]).join(", ");
    entries.push([`${known.heading[language]}: ${takes}`, choice.date, () => { delete own.choices[record]; }]);
  }
  for (const [id, mark] of Object.entries(own.marks)) {
    if (data.notes[id]) { entries.push([ownName(id), mark.date, () => { delete own.marks[id]; }]); }
  }
  byId("own-none").hidden = entries.length > 0;
  byId("own-list").replaceChildren(...entries.map(([text, date, drop]) => {
    const button = make("button", { type: "button", textContent: say("own.remove") });
    button.setAttribute("aria-label", say("own.remove_named", { what: text }));
    button.addEventListener("click", () => { keep(drop); byId("own-said").textContent = say("own.removed", { what: text }); byId("undo").focus(); });
    return make("li", {}, [make("span", { textContent: `${text} (${date})` }), button]);
  }));
}

/* --- the file: ordinary records, every text in quotation marks as JSON has them --------------- */

function playerId() {
  const slug = plain(own.player).replace(/[^a-z0-9]+/g, "-").replace(/^[^a-z]+|-+$/g, "") || "player";
  return data.agents.includes(slug) ? slug + "-player" : slug;
}

function fingersOf(digits) {
  const written = digits.filter((one) => one.digit).map((one) => (one.digit === "0" ? "open" : one.digit) + (one.string ? " on " + one.string : ""));
  return written.length > 1 ? `[${written.join(", ")}]` : written[0];
}

function recordsOfPlayer() {
  const inOrder = Object.keys(data.notes).filter((id) => own.marks[id]);
  inOrder.sort((one, other) => data.notes[one].order - data.notes[other].order);
  return inOrder.flatMap((id) => {
    const mark = own.marks[id], note = data.notes[id];
    const place = `{movement: ${note.movement}, bar: ${JSON.stringify(note.bar)}, note: ${note.note}}`;
    const head = (kind) => [`  - id: "own-${note.movement}-${note.bar}-${note.note}-${kind}"`, `    kind: ${kind}`, `    place: ${place}`, `    date: ${mark.date}`, "    alternatives:", "      - name: own"];
    const found = [];
    if (fingersOf(mark.digits)) { found.push(...head("fingering"), `        fingers: ${JSON.stringify(fingersOf(mark.digits))}`); }
    if (mark.bow) { found.push(...head("bowing"), `        signs: {1: ${mark.bow}}`); }
    return found;
  });
}

function asYaml() {
  const written = ["player:", `  id: ${JSON.stringify(playerId())}`, `  name: ${JSON.stringify(own.player.trim())}`];
  if (own.performance) { written.push(`performance: ${own.performance}`); }
  const choices = Object.entries(own.choices).filter(([record]) => data.records[record]);
  if (choices.length) { written.push("choices:"); }
  for (const [record, choice] of choices) {
    const takes = typeof choice.takes === "boolean" ? (choice.takes ? "yes" : "no") : JSON.stringify([].concat(choice.takes));
    written.push(`  - of: ${JSON.stringify(record)}`, `    takes: ${takes}`, `    date: ${choice.date}`);
  }
  const records = recordsOfPlayer();
  return [...written, ...(records.length ? ["records:", ...records] : []), ""].join("\n");
}

function save() {
  if (!own.player.trim()) {
    byId("own-said").textContent = say("own.name_needed");
    byId("player").focus();
    return;
  }
  const address = URL.createObjectURL(new Blob([asYaml()], { type: "text/yaml" }));
  const link = make("a", { href: address, download: data.file });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 1000);
  byId("own-said").textContent = say("own.saved", { file: data.file });
}

/* Read what `asYaml` wrote, and nothing else. */
function fromYaml(text) {
  const read = { player: "", performance: "", choices: {}, marks: {} };
  const value = (written) => { try { return JSON.parse(written); } catch (no) { return written; } };
  let part = "", one = {};
  const entries = { choices: [], records: [] };
  for (const line of text.split(/\r?\n/)) {
    const found = /^( *)(- )?([a-z]+): ?(.*)$/.exec(line);
    if (!found) { continue; }
    const [, indent, dash, key, written] = found;
    if (!indent) { part = key; if (key === "performance") { read.performance = written; } continue; }
    if (part === "player" && key === "name") { read.player = value(written); }
    if (!(part in entries)) { continue; }
    if (dash && indent.length === 2) { one = {}; entries[part].push(one); }
    one[key] = value(written);
  }
  for (const { of, takes, date } of entries.choices) {
    const plainly = takes === "yes" ? true : takes === "no" ? false : [].concat(takes);
    if (data.records[of]) { read.choices[of] = { takes: plainly.length === 1 ? plainly[0] : plainly, date }; }
  }
  for (const { place, fingers, signs, date } of entries.records) {
    const where = /movement: (\d+), bar: ("[^"]*"), note: (\d+)/.exec(place || "");
    const id = where && Object.keys(data.notes).find((each) => {
      const note = data.notes[each];
      return note.movement === Number(where[1]) && note.bar === JSON.parse(where[2]) && note.note === Number(where[3]);
    });
    if (!id) { continue; }
    const mark = read.marks[id] || { digits: [], bow: "", date };
    if (fingers) {
      mark.digits = String(fingers).replace(/^\[|\]$/g, "").split(", ").map((each) => {
        const [digit, string] = each.split(" on ");
        return { digit: digit === "open" ? "0" : digit, string: string || "" };
      });
    }
    if (signs) { mark.bow = signs.includes("down") ? "down" : "up"; }
    read.marks[id] = mark;
  }
  return read.player ? read : null;
}

function load(event) {
  const file = event.target.files[0];
  if (!file) { return; }
  file.text().then((text) => {
    const read = fromYaml(text);
    if (read) { keep(() => { own = read; }); }
    byId("own-said").textContent = say(read ? "own.loaded" : "own.not_read");
    event.target.value = "";
  });
}

/* --- beginning --------------------------------------------------------------------------------- */

function begin() {
  for (const one of all(".live")) { one.hidden = one.getAttribute("role") === "tabpanel" && one.id !== "remarks"; }
  body.classList.add("ready");
  byId("layers").open = window.matchMedia("(min-width: 62rem)").matches;
  for (const svg of lines) { svg.setAttribute("role", "group"); }
  try {
    const kept = JSON.parse(remembered("own"));
    if (kept && kept.choices && kept.marks) { own = kept; }
  } catch (unreadable) { /* what was kept by another version is left alone */ }
  const off = (remembered("layers") || "").split(" ");
  for (const one of boxes) { one.checked = one.disabled || !off.includes(one.value); }
  const music = byId("music");
  music.addEventListener("keydown", onMusicKey);
  music.addEventListener("click", onMusicClick);
  music.addEventListener("focusin", (event) => ring(event.target));
  music.addEventListener("focusout", () => ring(null));
  byId("layers").addEventListener("change", setLayers);
  byId("write").addEventListener("click", () => {
    writing = !writing;
    body.classList.toggle("writing", writing);
    byId("write").setAttribute("aria-pressed", String(writing));
    setTargets();
    light();
  });
  document.addEventListener("click", onLink);
  document.addEventListener("keydown", (event) => { if (event.key === "Escape" && !byId("entry").open) { close(); } });
  window.addEventListener("popstate", () => follow(true));
  for (const tab of tabs) { tab.addEventListener("click", () => show(tab.id.slice(4))); }
  document.querySelector(".tabs").addEventListener("keydown", onTabKey);
  byId("close").addEventListener("click", close);
  byId("previous").addEventListener("click", () => neighbour(-1));
  byId("next").addEventListener("click", () => neighbour(1));
  byId("search").addEventListener("submit", (event) => event.preventDefault());
  byId("sought").addEventListener("input", find);
  byId("player").addEventListener("change", () => keep(() => { own.player = byId("player").value; }));
  byId("performance").addEventListener("change", () => keep(() => { own.performance = byId("performance").value; }));
  byId("save").addEventListener("click", save);
  byId("load").addEventListener("change", load);
  byId("undo").addEventListener("click", () => { own = JSON.parse(before.pop()); settle(); });
  byId("entry").addEventListener("close", onEntryClosed);
  byId("entry").addEventListener("change", warn);
  for (const one of all("[data-language]")) { one.addEventListener("click", () => setLanguage(one.dataset.language)); }
  document.fonts.ready.then(() => {
    settle();
    setLayers();
    setLanguage(remembered("language") in data.say ? remembered("language") : language);
    follow(true);
    body.classList.add("settled");
  });
}

begin();
