"use strict";
// Plays the car's own recording through a picture of the loop. Nothing moves until somebody presses Play.
(() => {
  const pieces = JSON.parse(document.getElementById("pieces").textContent);
  const words = JSON.parse(document.getElementById("words").textContent);
  const say = (texts, ...values) => {
    const english = texts.reduce((whole, text, place) => `${whole}{${place - 1}}${text}`);
    return (words[english] ?? english).replace(/\{(\d+)\}/g, (_, place) => String(values[Number(place)]));
  };
  const by = (id) => document.getElementById(id);
  const leanWhenOn = by("stage").dataset.lean === "yes";
  const MIDDLE = 450, TRAVEL = 1.2, DOTS = 14;
  let piece = pieces[0], clock = 0, last = null, pace = 1;

  const dots = Array.from({ length: DOTS }, () => {
    const dot = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    dot.setAttribute("r", "5");
    by("gas").append(dot);
    return dot;
  });

  function at(values, time) {
    const length = piece.time[piece.time.length - 1];
    const bounded = Math.min(Math.max(time, 0), length);
    let low = 0, high = piece.time.length - 1;
    while (high - low > 1) { const middle = (low + high) >> 1; if (piece.time[middle] <= bounded) low = middle; else high = middle; }
    const share = (bounded - piece.time[low]) / (piece.time[high] - piece.time[low] || 1);
    return values[low] + share * (values[high] - values[low]);
  }

  const length = () => piece.time[piece.time.length - 1];

  function curves() {
    const path = (values, scale) => values.map((one, k) => `${k ? "L" : "M"}${(760 * piece.time[k] / length()).toFixed(1)} ${scale(one).toFixed(1)}`).join("");
    by("dwell-curve").setAttribute("d", path(piece.dwell, (one) => 120 - one / 60 * 100));
    by("sensor-curve").setAttribute("d", path(piece.sensor, (one) => 250 - one / 1000 * 100));
  }

  function show() {
    const dwell = at(piece.dwell, clock), volts = at(piece.sensor, clock), rich = volts > MIDDLE;
    const before = at(piece.dwell, clock - 0.6), rising = dwell > before + 0.1, falling = dwell < before - 0.1;
    by("volts").textContent = `${Math.round(volts)} mV`;
    const side = rich ? say`rich` : say`lean`;
    by("side").textContent = side;
    by("solenoid").textContent = say`dwell ${dwell.toFixed(0)} deg`;
    by("order").textContent = rising ? say`dwell up` : falling ? say`dwell down` : say`dwell held`;
    const on = (clock * 2) % 1 < dwell / 60; // five times slower than it is, so that it can be seen and does not flicker
    by("plunger").setAttribute("y", on ? "96" : "72");
    by("plunger").setAttribute("class", on === leanWhenOn ? "lean" : "rich");
    dots.forEach((dot, k) => {
      const way = (k / DOTS + clock / TRAVEL) % 1, along = way * 484;
      dot.setAttribute("cx", along < 390 ? 170 + along : 560);
      dot.setAttribute("cy", along < 390 ? 96 : 96 + along - 390);
      dot.setAttribute("class", at(piece.sensor, clock + (1 - way) * TRAVEL) > MIDDLE ? "rich" : "lean");
    });
    by("now").setAttribute("d", `M${(760 * clock / length()).toFixed(1)} 0V250`);
    by("place").value = String(Math.round(1000 * clock / length()));
    const less = leanWhenOn ? rising : falling, more = leanWhenOn ? falling : rising;
    const answer = less ? say`the computer takes fuel away` : more ? say`the computer adds fuel` : say`the computer waits`;
    by("said").textContent = say`The sensor says ${side} (${Math.round(volts)} mV); ${answer}: dwell ${dwell.toFixed(0)} deg. It takes a moment until the exhaust shows it.`;
  }

  function step(now) {
    if (last === null) return;
    clock += pace * Math.min((now - last) / 1000, 0.1);
    last = now;
    if (clock >= length()) clock = 0;
    show();
    requestAnimationFrame(step);
  }

  by("play").addEventListener("click", () => {
    last = last === null ? performance.now() : null;
    by("play").textContent = last === null ? say`Play` : say`Stop`;
    if (last !== null) requestAnimationFrame(step);
  });
  by("slow").addEventListener("click", () => {
    pace = pace === 1 ? 0.3 : 1;
    by("slow").setAttribute("aria-pressed", String(pace !== 1));
  });
  by("place").addEventListener("input", () => { clock = by("place").value / 1000 * length(); show(); });
  const choices = document.querySelectorAll("[data-piece]");
  for (const choice of choices) choice.addEventListener("click", () => {
    piece = pieces[Number(choice.dataset.piece)];
    for (const one of choices) one.setAttribute("aria-pressed", String(one === choice));
    clock = 0;
    curves();
    show();
  });
  curves();
  show();
})();
