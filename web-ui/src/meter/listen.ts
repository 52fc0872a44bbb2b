// The microphone of this phone, listened to until it is stopped. What its samples come to is level.ts's.

import { Level, treated, type Shown, type Treatment } from './level';
import worklet from './worklet.js?url';

/** Why there is no number. */
export type Silent =
  /** Not a secure link, or a browser without a microphone: it is never asked. */
  | { kind: 'absent'; isSecure: boolean }
  /** The person, or the phone, said no. */
  | { kind: 'denied' }
  /** None is there, or another program has it. */
  | { kind: 'none'; why: string }
  /** The phone alters the sound, or does not say that it does not. */
  | { kind: 'treated'; what: (keyof Treatment)[] };

/** A microphone that is on. */
export interface Listening {
  kind: 'listening';
  stop(): void;
}

/** Switches the microphone on; `tell` hears what it shows, `ended` that it went off by itself. */
export async function listen(tell: (shown: Shown) => void, ended: () => void): Promise<Listening | Silent> {
  if (!window.isSecureContext || !navigator.mediaDevices?.getUserMedia || typeof AudioWorkletNode === 'undefined') {
    return { kind: 'absent', isSecure: window.isSecureContext };
  }
  const off = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  let stream: MediaStream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: off });
  } catch (error) {
    const isNo = error instanceof DOMException && (error.name === 'NotAllowedError' || error.name === 'SecurityError');
    return isNo ? { kind: 'denied' } : { kind: 'none', why: error instanceof Error ? error.message : String(error) };
  }
  const [track] = stream.getAudioTracks();
  const altered = treated(track?.getSettings() ?? {});
  const release = (): void => stream.getTracks().forEach((one) => one.stop());
  if (altered.length > 0) {
    release();
    return { kind: 'treated', what: altered };
  }
  const context = new AudioContext();
  try {
    await context.audioWorklet.addModule(worklet);
    const node = new AudioWorkletNode(context, 'meter', { numberOfOutputs: 0, channelCount: 1, channelCountMode: 'explicit' });
    const level = new Level(context.sampleRate);
    node.port.onmessage = ({ data }) => tell(level.push(data));
    context.createMediaStreamSource(stream).connect(node);
    await context.resume();
  } catch (error) {
    release();
    void context.close();
    return { kind: 'none', why: error instanceof Error ? error.message : String(error) };
  }
  const stop = (): void => {
    release();
    if (context.state !== 'closed') void context.close();
  };
  track?.addEventListener('ended', () => {
    stop();
    ended();
  });
  return { kind: 'listening', stop };
}
