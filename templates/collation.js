/* Filters the departures and opens their music. Without it everything is shown. */
(function () {
  "use strict";
  const form = document.getElementById("filter");
  const shown = document.getElementById("shown");
  const button = document.getElementById("music");
  const rows = Array.from(document.querySelectorAll("tr.departure"));
  const groups = Array.from(document.querySelectorAll(".departures tbody"));
  const music = Array.from(document.querySelectorAll(".departures details"));

  function wanted(row) {
    const witness = form.elements.witness.value;
    const kind = form.elements.kind.value;
    const state = form.elements.state.value;
    return (!witness || row.dataset.witnesses.split(" ").includes(witness)) &&
      (!kind || row.dataset.kind === kind) &&
      (!state || row.dataset.state === state);
  }

  function filter() {
    let count = 0;
    for (const row of rows) {
      row.hidden = !wanted(row);
      count += row.hidden ? 0 : 1;
    }
    for (const group of groups) {
      group.hidden = !group.querySelector("tr.departure:not([hidden])");
    }
    shown.textContent = shown.dataset.text.replace("{n}", count).replace("{all}", rows.length);
  }

  form.addEventListener("change", filter);
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  button.addEventListener("click", function () {
    const open = button.textContent === button.dataset.open;
    for (const one of music) { one.open = open; }
    button.textContent = open ? button.dataset.close : button.dataset.open;
  });
  form.hidden = false;
  button.hidden = music.length === 0;
  filter();
}());
