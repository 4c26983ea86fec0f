// Checks a sheet while it is typed, and leads to the line; saving works without this.
import { say } from "/static/words.js";
const text = document.getElementById("text");
const findings = document.getElementById("findings");
const place = document.getElementById("place");
let waiting = 0, asked = 0;

function goTo(line) {
  const lines = text.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  text.focus();
  text.setSelectionRange(start, start + (lines[line - 1]?.length ?? 0));
  text.scrollTop = Math.max(0, (line - 6) * parseFloat(getComputedStyle(text).lineHeight));
}

function told(one) {
  const item = document.createElement("li");
  if (one.line) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = say`Line ${one.line}`;
    button.addEventListener("click", () => goTo(one.line));
    item.append(button, " ");
  }
  item.append(`${one.key}: ${one.message}`);
  return item;
}

async function check() {
  const mine = ++asked;
  const body = new FormData();
  body.set("text", text.value);
  let answer;
  try { answer = await fetch("/sheets/check", { method: "POST", body }); } catch { return; }
  if (!answer.ok || mine !== asked) return;
  const { findings: found } = await answer.json();
  const list = document.createElement("ul");
  list.className = "doubts";
  list.append(...found.map(told));
  findings.replaceChildren(found.length ? list : say`Nothing is wrong with the sheet.`);
}

text.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(check, 400);
});
document.addEventListener("selectionchange", () => {
  if (document.activeElement === text) place.textContent = say`Line ${text.value.slice(0, text.selectionStart).split("\n").length}`;
});
