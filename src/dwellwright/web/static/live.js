// Shows what an instrument says while it is recorded; without this the page is asked for anew by hand.
import { say } from "/static/words.js";
const box = document.getElementById("live");
const by = (id) => document.getElementById(id);

function shown(one) {
  const row = document.createElement("div");
  const name = document.createElement("dt"), value = document.createElement("dd");
  name.textContent = one.label;
  value.textContent = `${one.value} ${one.unit}`;
  value.className = "huge";
  row.append(name, value);
  return row;
}

async function ask() {
  try {
    const answer = await fetch(box.dataset.address);
    const facts = await answer.json();
    if (facts.values) {
      by("live-values").replaceChildren(...facts.values.map(shown));
      by("live-count").textContent = say`${facts.rows} lines in ${facts.seconds.toFixed(0)} s, ${facts.odd} odd`;
      by("live-line").textContent = facts.line;
    }
    const words = facts.fault || (facts.running ? say`Recording` : say`Ended`);
    if (by("live-state").textContent !== words) by("live-state").textContent = words;
    by("live-state").classList.toggle("refused", Boolean(facts.fault));
    if (!facts.running) return;
  } catch {
    by("live-state").textContent = say`The workbench does not answer; the recording goes on there.`;
  }
  setTimeout(ask, 200);
}
ask();
