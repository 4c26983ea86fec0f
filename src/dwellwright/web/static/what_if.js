// Asks the model anew while knobs move; the button does the same without this.
const form = document.getElementById("knobs");
let asked = 0;

async function ask() {
  const mine = ++asked;
  const answer = await fetch(`/what-if/answer?${new URLSearchParams(new FormData(form))}`);
  const facts = await answer.json();
  if (mine !== asked || facts.fault) return;
  for (const [name, point] of Object.entries(facts.moved.points)) {
    const row = document.querySelector(`tr[data-point="${name}"]`);
    row.querySelector(".now").textContent = `${point.dwell_deg.toFixed(1)} deg${point.saturated ? ", at its limit" : ""}`;
    row.querySelector("meter").value = point.dwell_deg;
    row.querySelector(".reach").textContent = `${point.lambda_released.toFixed(2)} to ${point.lambda_energized.toFixed(2)}`;
  }
}

for (const slider of form.querySelectorAll("input[type=range]")) {
  const field = document.getElementById(slider.dataset.for);
  slider.addEventListener("input", () => { field.value = slider.value; ask(); });
  field.addEventListener("input", () => { slider.value = field.value; ask(); });
}
