// Draws the page anew while knobs move; the button does the same without this.
import { say } from "/static/words.js";
const form = document.getElementById("knobs");
const shown = document.getElementById("shown");
const fault = document.getElementById("knob-fault");
let asked = 0, busy = false, again = false;

async function ask() {
  if (busy) { again = true; return; }
  busy = true;
  const mine = ++asked;
  try {
    const answer = await fetch(`/what-if/shown?${new URLSearchParams(new FormData(form))}`);
    if (answer.ok) { shown.innerHTML = await answer.text(); fault.textContent = ""; shown.dataset.drawn = String(mine); }
    else fault.textContent = (await answer.json()).fault;
  } catch { fault.textContent = say`The workbench does not answer.`; }
  busy = false;
  if (again) { again = false; ask(); }
}

for (const slider of form.querySelectorAll("input[type=range]")) {
  const field = document.getElementById(slider.dataset.for);
  slider.hidden = false;
  slider.addEventListener("input", () => { field.value = slider.value; ask(); });
  field.addEventListener("input", () => { slider.value = field.value; ask(); });
}
for (const choice of form.querySelectorAll("select")) choice.addEventListener("change", ask);
