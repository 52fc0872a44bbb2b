// Plays a round of samples over and over, until it is stopped or its time is up. It goes on while the page is hidden: whoever measures walks
// to the next room. The screen is asked to stay awake where that can be asked.

/** A fade in, s: nobody is startled, and no loudspeaker is hit. */
const FADE_IN_S = 1;
const FADE_OUT_S = 0.05;

/** A sound that plays. */
export interface Playing {
  /** Louder or quieter, dB below full level. */
  setLevel(level_db: number): void;
  stop(): void;
}

/** Plays `make`'s samples for `seconds`; `ended` hears that it is over, by itself or not. */
export async function play(
  make: (context: AudioContext) => Promise<AudioBuffer> | AudioBuffer,
  level_db: number,
  seconds: number,
  ended: () => void,
): Promise<Playing> {
  const context = new AudioContext();
  const gain = context.createGain();
  const source = context.createBufferSource();
  let lock: WakeLockSentinel | null = null;
  let isOver = false;
  try {
    source.buffer = await make(context);
    source.loop = true;
    source.connect(gain).connect(context.destination);
    await context.resume();
  } catch (error) {
    void context.close();
    throw error;
  }
  const begin = context.currentTime;
  gain.gain.setValueAtTime(0, begin);
  gain.gain.linearRampToValueAtTime(factor(level_db), begin + FADE_IN_S);
  source.start(begin);
  // By the sound's own clock: a hidden page's timers are slow.
  source.stop(begin + seconds);

  const awake = async (): Promise<void> => {
    if (isOver || document.visibilityState !== 'visible') return;
    const asked = await navigator.wakeLock?.request('screen').catch(() => null);
    if (isOver) void asked?.release();
    else lock = asked ?? null;
  };
  const over = (): void => {
    if (isOver) return;
    isOver = true;
    document.removeEventListener('visibilitychange', awake);
    void lock?.release();
    void context.close();
    ended();
  };
  document.addEventListener('visibilitychange', awake);
  void awake();
  source.onended = over;
  const ramp = (to: number, within_s: number): void => {
    const now = context.currentTime;
    gain.gain.cancelScheduledValues(now);
    gain.gain.setValueAtTime(gain.gain.value, now);
    gain.gain.linearRampToValueAtTime(to, now + within_s);
  };
  return {
    setLevel: (to_db) => ramp(factor(to_db), 0.2),
    stop: () => {
      if (isOver) return;
      ramp(0, FADE_OUT_S);
      source.stop(context.currentTime + FADE_OUT_S);
    },
  };
}

/** What samples are multiplied by: 20 lg of it is the level. */
export function factor(level_db: number): number {
  return 10 ** (level_db / 20);
}
