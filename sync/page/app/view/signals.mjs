// Read, saved, saved with a warning, refused: by sound and by vibration. Never alone: the screen says it in words and shape too.

import { phone } from '../phone.mjs';

/** Frequencies and lengths in hertz and seconds; vibration in milliseconds. */
const kSignals = {
  read: { tones: [[880, 0.05]], shake: [20] },
  saved: { tones: [[660, 0.07], [990, 0.1]], shake: [40, 40, 40] },
  warned: { tones: [[660, 0.07], [990, 0.1], [440, 0.12], [440, 0.12]], shake: [40, 40, 40, 90, 120] },
  ask: { tones: [[520, 0.09], [520, 0.09]], shake: [90, 60, 90] },
  refused: { tones: [[196, 0.22], [155, 0.25]], shake: [220] },
};

let context;

/** Browsers let a page sound only after a touch. */
export function wakeSound() {
  context ??= new AudioContext();
  if (context.state === 'suspended') context.resume().catch(() => {});
}

function sound(tones) {
  if (!context || context.state !== 'running') return;
  let at = context.currentTime;
  for (const [frequency, length] of tones) {
    const tone = context.createOscillator();
    const loudness = context.createGain();
    tone.frequency.value = frequency;
    loudness.gain.setValueAtTime(0.0001, at);
    loudness.gain.exponentialRampToValueAtTime(0.25, at + 0.01);
    loudness.gain.exponentialRampToValueAtTime(0.0001, at + length);
    tone.connect(loudness).connect(context.destination);
    tone.start(at);
    tone.stop(at + length);
    at += length;
  }
}

/** @param {keyof typeof kSignals} name */
export function signal(name) {
  if (phone.prefs.sound !== false) sound(kSignals[name].tones);
  // Before the first touch a browser only complains.
  const touched = navigator.userActivation?.hasBeenActive ?? true;
  if (touched && phone.prefs.shake !== false) navigator.vibrate?.(kSignals[name].shake);
  document.dispatchEvent(new CustomEvent('signal', { detail: name }));
}
