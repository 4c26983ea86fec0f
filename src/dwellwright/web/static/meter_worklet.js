// Runs beside the sound: every sample goes through the meter, and eight times a second it says what it sees.
import { PulseMeter } from "./pulse_meter.js";

class MeterProcessor extends AudioWorkletProcessor {
  constructor({ processorOptions }) {
    super();
    this.meter = new PulseMeter(sampleRate, processorOptions.polarity);
    this.window = processorOptions.seconds;
    this.due = 0;
    this.port.onmessage = ({ data }) => {
      if (data.polarity) this.meter = new PulseMeter(sampleRate, data.polarity);
      if (data.seconds) this.window = data.seconds;
    };
  }

  process([input]) {
    if (input?.[0]) this.meter.push(input[0]);
    if (currentTime >= this.due) {
      this.due = currentTime + 1 / 8;
      this.port.postMessage({ ...this.meter.reading(this.window), sampleRate });
    }
    return true;
  }
}

registerProcessor("pulse-meter", MeterProcessor);
