// Runs beside the page, on the sound's own thread: sums of samples, eight times a second. What they come to is level.ts's.

class Meter extends AudioWorkletProcessor {
  constructor() {
    super();
    this.clear();
  }

  clear() {
    this.piece = { count: 0, sum: 0, squares: 0, peak: 0, clipped: 0 };
  }

  process([input]) {
    const { piece } = this;
    for (const sample of input?.[0] ?? []) {
      const size = Math.abs(sample);
      piece.count += 1;
      piece.sum += sample;
      piece.squares += sample * sample;
      if (size > piece.peak) piece.peak = size;
      // The step of 16 bits, in which most phones record, ends just below 1.
      if (size >= 32767 / 32768) piece.clipped += 1;
    }
    if (piece.count >= sampleRate / 8) {
      this.port.postMessage(piece);
      this.clear();
    }
    return true;
  }
}

registerProcessor('meter', Meter);
