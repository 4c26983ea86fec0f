// On every page: keep what is being typed until it is sent, mark what is not saved, and let the shell be kept.
import { say } from "/static/words.js";
const PREFIX = "typed:";
const keyOf = (form) => `${PREFIX}${location.pathname}#${form.dataset.keep}`;

function fields(form) {
  return [...form.elements].filter((one) => one.name && !["file", "hidden", "submit", "button", "password"].includes(one.type));
}

function keep(form) {
  const typed = Object.fromEntries(fields(form).map((one) => [one.name, one.type === "checkbox" ? String(one.checked) : one.value]));
  localStorage.setItem(keyOf(form), JSON.stringify(typed));
}

function restore(form) {
  const kept = localStorage.getItem(keyOf(form));
  if (!kept || document.querySelector("[data-refused]")) return;
  const typed = JSON.parse(kept);
  let changed = false;
  for (const one of fields(form)) {
    if (!(one.name in typed)) continue;
    if (one.type === "checkbox") { changed ||= one.checked !== (typed[one.name] === "true"); one.checked = typed[one.name] === "true"; }
    else if (one.value !== typed[one.name]) { one.value = typed[one.name]; changed = true; }
  }
  if (!changed) return;
  form.closest("details")?.setAttribute("open", "");
  const said = document.createElement("p");
  said.className = "note";
  said.setAttribute("role", "status");
  said.textContent = `${say`Not sent yet: what you typed here before is back.`} `;
  const away = document.createElement("button");
  away.type = "button";
  away.textContent = say`Throw it away`;
  away.addEventListener("click", () => { localStorage.removeItem(keyOf(form)); location.reload(); });
  said.append(away);
  form.prepend(said);
}

// A post that was done shows its page with a word of it; only then is the kept text let go.
const sent = sessionStorage.getItem("sent");
if (sent && document.querySelector("[data-done]")) {
  localStorage.removeItem(sent);
  sessionStorage.removeItem("sent");
}

for (const form of document.querySelectorAll("form[data-keep]")) {
  restore(form);
  form.addEventListener("input", () => keep(form));
  form.addEventListener("submit", () => sessionStorage.setItem("sent", keyOf(form)));
}

const unit = document.querySelector("select[data-units]");
if (unit) {
  const words = document.getElementById(unit.dataset.units);
  const tell = () => {
    const usual = unit.selectedOptions[0]?.dataset.unit;
    words.textContent = usual ? `[${usual}]` : "";
  };
  unit.addEventListener("change", tell);
  tell();
}

for (const button of document.querySelectorAll("[data-print]")) button.addEventListener("click", () => print());

if ("serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js").catch(() => {});
