// Checks a sheet while it is typed; saving works without this.
const text = document.getElementById("text");
const findings = document.getElementById("findings");
let waiting = 0;

async function check() {
  const body = new FormData();
  body.set("text", text.value);
  const answer = await fetch("/sheets/check", { method: "POST", body });
  if (!answer.ok) return;
  const { findings: found } = await answer.json();
  const list = document.createElement("ul");
  list.className = "doubts";
  for (const one of found) {
    const item = document.createElement("li");
    item.textContent = `${one.line ? `Line ${one.line}, ` : ""}${one.key}: ${one.message}`;
    list.append(item);
  }
  findings.replaceChildren(found.length ? list : "The sheet is complete.");
}

text.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(check, 400);
});
