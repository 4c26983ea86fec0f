// The live meter's page: ask for the plain sound, make sure that it is plain, show what the wire says.
import { say } from "/static/words.js";
const PLAIN = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
const by = (id) => document.getElementById(id);
const start = by("meter-start"), stop = by("meter-stop"), hold = by("meter-hold"), take = by("meter-take");
const state = by("meter-state");
let context = null, stream = null, node = null, held = false, latest = null;
const trend = [];

// What the listener found, in words.
const WHY = {
  silent: () => say`No pulses: the input is silent`,
  held: () => say`No pulses: the wire is held, or this is not it`,
  unsure: () => say`The release does not stand out: say which way the wire is recorded`,
  waiting: () => say`Waiting for pulses`,
};
const READ = { normal: () => say`Reading, normal`, reversed: () => say`Reading, reversed` };

function tell(words, bad = false) {
  state.textContent = words;
  state.classList.toggle("refused", bad);
}

// What the browser really does to the sound, not what it was asked for.
export function processing(settings) {
  const on = Object.keys(PLAIN).filter((name) => settings[name] !== false);
  if (settings.voiceIsolation) on.push("voiceIsolation");
  return on;
}

async function begin() {
  if (!navigator.mediaDevices?.getUserMedia || typeof AudioWorkletNode === "undefined") {
    tell(say`This browser gives no sound to this page. Open it on the machine itself (as localhost), or send a WAV file.`, true);
    return;
  }
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: { ...PLAIN, channelCount: 1 } });
  } catch (fault) {
    tell(say`The sound input was not given (${fault.name}). Allow the microphone for this page, or send a WAV file.`, true);
    return;
  }
  const on = processing(stream.getAudioTracks()[0].getSettings());
  if (on.length) {
    end();
    tell(say`This browser keeps changing the sound (${on.join(", ")}): a duty read from it would be wrong. Record a WAV with another program and send it.`, true);
    return;
  }
  context = new AudioContext();
  await context.audioWorklet.addModule("/static/meter_worklet.js");
  node = new AudioWorkletNode(context, "pulse-meter", {
    numberOfOutputs: 0, processorOptions: { polarity: by("meter-polarity").value, seconds: Number(by("meter-window").value) },
  });
  node.port.onmessage = ({ data }) => show(data);
  context.createMediaStreamSource(stream).connect(node);
  await context.resume();
  start.disabled = true;
  stop.disabled = hold.disabled = false;
}

function end() {
  stream?.getTracks().forEach((track) => track.stop());
  context?.close();
  context = stream = node = null;
  start.disabled = false;
  stop.disabled = hold.disabled = true;
  tell(say`Stopped.`);
}

const onScale = (duty) => (duty * 360) / Number(by("meter-scale").value);

function show(facts) {
  by("meter-level").value = Math.min(facts.level, 1);
  if (held) return;
  latest = facts.duty === null ? null : facts;
  take.disabled = latest === null;
  const scale = Number(by("meter-scale").value);
  by("meter-face").max = 360 / scale;
  if (!latest) {
    by("meter-dwell").textContent = "–";
    tell(WHY[facts.why](), true);
    return;
  }
  const dwell = onScale(facts.duty);
  by("meter-dwell").textContent = dwell.toFixed(1);
  by("meter-dwell").dataset.value = dwell.toFixed(4);
  by("meter-face").value = dwell;
  by("meter-duty").textContent = `${(100 * facts.duty).toFixed(1)} %`;
  by("meter-rate").textContent = `${facts.rate.toFixed(2)} Hz`;
  by("meter-range").textContent = say`${onScale(facts.low).toFixed(1)} to ${onScale(facts.high).toFixed(1)} deg`;
  by("meter-pulses").textContent = say`${facts.pulses} pulses, ${(facts.sampleRate / 1000).toFixed(1)} kHz`;
  by("meter-count").textContent = String(Number(by("meter-count").textContent) + 1);
  tell(`${READ[facts.polarity]()}${facts.level > 0.98 ? say`; the input is at its limit` : ""}`);
  trend.push([facts.time, facts.duty]);
  while (trend.length && trend[0][0] < facts.time - 60) trend.shift();
  draw(facts.time);
}

function draw(now) {
  const points = trend.map(([time, duty]) => `${(700 - (now - time) * (700 / 60)).toFixed(1)},${(120 - duty * 120).toFixed(1)}`);
  by("meter-trend").setAttribute("points", points.join(" "));
}

start.addEventListener("click", begin);
stop.addEventListener("click", end);
hold.addEventListener("click", () => {
  held = !held;
  hold.setAttribute("aria-pressed", String(held));
  hold.textContent = held ? say`Go on` : say`Hold`;
});
take.addEventListener("click", () => {
  const field = by("repeats");
  field.value = `${field.value} ${onScale(latest.duty).toFixed(2)}`.trim();
  by("scale").value = by("meter-scale").value;
  by("meter-log").scrollIntoView({ block: "nearest" });
});
by("meter-polarity").addEventListener("change", (event) => node?.port.postMessage({ polarity: event.target.value }));
by("meter-window").addEventListener("change", (event) => node?.port.postMessage({ seconds: Number(event.target.value) }));
by("meter-live").hidden = false;
