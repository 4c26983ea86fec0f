// Moves along a recording: the server draws, this asks. The form with its two ends does the same without it.
const box = document.getElementById("pictures");
const form = document.getElementById("stretch");
const [first, last] = [Number(box.dataset.first), Number(box.dataset.last)];
let [from, to] = [Number(form.elements.from.value), Number(form.elements.to.value)];
let asked = 0;

async function show(left, right) {
  const width = Math.min(Math.max(right - left, 0.05), last - first);
  left = Math.min(Math.max(left, first), last - width);
  [from, to] = [left, left + width];
  const mine = ++asked;
  const answer = await fetch(`${location.pathname}/pictures?from=${from}&to=${to}`);
  if (!answer.ok || mine !== asked) return;
  box.innerHTML = await answer.text();
  form.elements.from.value = Number(answer.headers.get("X-From"));
  form.elements.to.value = Number(answer.headers.get("X-To"));
  document.getElementById("samples").textContent = answer.headers.get("X-Samples");
}

const MOVES = {
  in: () => show(from + (to - from) / 4, to - (to - from) / 4),
  out: () => show(from - (to - from) / 2, to + (to - from) / 2),
  left: () => show(from - (to - from) / 2, to - (to - from) / 2),
  right: () => show(from + (to - from) / 2, to + (to - from) / 2),
  all: () => show(first, last),
};
for (const button of document.querySelectorAll("[data-move]")) {
  button.hidden = false;
  button.addEventListener("click", MOVES[button.dataset.move]);
}
for (const button of document.querySelectorAll("a[data-from]")) {
  button.addEventListener("click", (event) => { event.preventDefault(); show(Number(button.dataset.from), Number(button.dataset.to)); });
}
box.addEventListener("keydown", (event) => {
  const move = { ArrowLeft: "left", ArrowRight: "right", "+": "in", "-": "out", Home: "all" }[event.key];
  if (move) { event.preventDefault(); MOVES[move](); }
});

// Dragging across a picture shows that part of it.
let begun = null;
const at = (event) => {
  const chart = event.target.closest("svg");
  if (!chart) return null;
  const { left, width } = chart.getBoundingClientRect();
  const share = ((event.clientX - left) / width * 760 - 62) / (760 - 62 - 18);
  return from + Math.min(Math.max(share, 0), 1) * (to - from);
};
box.addEventListener("pointerdown", (event) => { begun = at(event); });
box.addEventListener("pointerup", (event) => {
  const ended = at(event);
  if (begun !== null && ended !== null && Math.abs(ended - begun) > (to - from) / 50) show(Math.min(begun, ended), Math.max(begun, ended));
  begun = null;
});
