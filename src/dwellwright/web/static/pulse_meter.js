// Duty of a pulsed wire from the sound of it. No page, no microphone: numbers in, numbers out.
//
// The wire is low while the solenoid is energized and jumps far above the supply at the release. A sound input blocks
// direct current, so that levels wander; edges do not. The tallest edges are the releases. Between two releases the last
// fall is the energizing: a fall that ends the release's own spike comes earlier.

const LAG = 80e-6; // an edge is a difference over so much time; steeper than any of the wander [s]
const MEMORY = 0.6; // how fast the tallest edge is forgotten [s]
const RISE_SHARE = 0.5; // of the tallest rise, for another to be a release
const FALL_SHARE = 0.3; // of the tallest fall, for another to be an energizing or the end of a spike
const RINGING = 1.5; // an edge so much taller the other way, at once, makes the one before it the filter's ringing
const FAINTEST = 0.004; // of full scale: below it there is only noise
const SURER = 1.25; // how much taller the release must stand than the other edge
const QUIET = 0.5; // without pulses for so long there is no reading [s]
const KEPT = 60; // so much is kept for the trend [s]
const SHORTEST = 0.02, LONGEST = 0.5; // period of a pulse [s]

export class PulseMeter {
  constructor(sampleRate, polarity = "auto") {
    this.rate = sampleRate;
    this.polarity = polarity; // auto, normal, reversed
    this.sign = polarity === "reversed" ? -1 : 1;
    this.lag = Math.max(1, Math.round(LAG * sampleRate));
    this.before = new Float32Array(this.lag);
    this.fade = Math.exp(-1 / (MEMORY * sampleRate));
    this.hold = Math.max(2, 3 * this.lag);
    this.now = 0;
    this.up = 0;
    this.down = 0;
    this.level = 0;
    this.edge = null; // the edge being climbed: its way, tallest difference and where
    this.fall = null;
    this.energized = null;
    this.pulses = []; // {at, on, period} in seconds
  }

  push(samples) {
    for (const sample of samples) this.#step(sample);
  }

  #step(sample) {
    const slot = this.now % this.lag;
    const change = sample - this.before[slot];
    this.before[slot] = sample;
    this.now += 1;
    this.level = Math.max(Math.abs(sample), this.level * this.fade);
    this.up = Math.max(change, this.up * this.fade);
    this.down = Math.max(-change, this.down * this.fade);
    if (this.now < 2 * this.lag) return;
    if (this.now % Math.round(this.rate / 20) === 0) this.#decide();
    const signed = this.sign * change;
    const [up, down] = this.sign > 0 ? [this.up, this.down] : [this.down, this.up];
    if (this.edge === null) {
      if (signed > FAINTEST && signed > RISE_SHARE * up) this.edge = { way: 1, most: signed, at: this.now };
      else if (-signed > FAINTEST && -signed > FALL_SHARE * down) this.edge = { way: -1, most: -signed, at: this.now };
      return;
    }
    const along = this.edge.way * signed;
    if (along > this.edge.most) {
      this.edge.most = along;
      this.edge.at = this.now;
    } else if (-along > RINGING * this.edge.most) {
      this.edge = { way: -this.edge.way, most: -along, at: this.now }; // what came before was the ringing of this one
    } else if (this.now - this.edge.at >= this.hold) {
      this.#passed(this.edge);
      this.edge = null;
    }
  }

  // While nobody says, the taller way is the release.
  #decide() {
    if (this.polarity !== "auto") return;
    const wanted = this.up > SURER * this.down ? 1 : this.down > SURER * this.up ? -1 : this.sign;
    if (wanted === this.sign) return;
    this.sign = wanted;
    this.fall = this.energized = this.edge = null;
    this.pulses = [];
  }

  #passed(edge) {
    const at = edge.at / this.rate;
    if (edge.way < 0) {
      this.fall = at;
      return;
    }
    if (this.fall === null) return;
    const [begin, end] = [this.fall, at];
    this.fall = null;
    if (this.energized !== null) {
      const period = begin - this.energized.begin;
      const on = this.energized.end - this.energized.begin;
      if (period >= SHORTEST && period <= LONGEST && on <= period) this.pulses.push({ at: begin, on, period });
    }
    this.energized = { begin, end };
    while (this.pulses.length && this.pulses[0].at < at - KEPT) this.pulses.shift();
  }

  // What the wire says over the last so many seconds; duty is null where nothing can be said, and `why` tells.
  reading(seconds) {
    const time = this.now / this.rate;
    const facts = { time, level: this.level, duty: null, rate: null, pulses: 0, spread: null, low: null, high: null };
    const tall = Math.max(this.up, this.down);
    if (tall < FAINTEST) return { ...facts, why: "silent" };
    const recent = this.pulses.filter((one) => one.at > time - seconds);
    const last = this.pulses.at(-1);
    if (!last || time - last.at > QUIET) return { ...facts, why: "held" };
    const sure = this.polarity !== "auto" || Math.max(this.up, this.down) > SURER * Math.min(this.up, this.down);
    if (!sure) return { ...facts, why: "unsure" };
    let on = 0, whole = 0;
    for (const one of recent) { on += one.on; whole += one.period; }
    if (!whole) return { ...facts, why: "waiting" };
    const duties = recent.map((one) => one.on / one.period);
    const mean = on / whole;
    const spread = Math.sqrt(duties.reduce((sum, one) => sum + (one - mean) ** 2, 0) / duties.length);
    return { ...facts, why: "", duty: mean, rate: recent.length / whole, pulses: recent.length, spread,
      low: Math.min(...duties), high: Math.max(...duties), polarity: this.sign > 0 ? "normal" : "reversed" };
  }
}
