// Sounds, off unless asked for: two falling notes at a slip, a fast row of equal
// ones over the rated load. Nothing is said by sound alone.

let context = null;
let on = localStorage.getItem('sound') === 'on';

export const sounding = () => on;

export function setSound(yes) {
  on = yes;
  localStorage.setItem('sound', yes ? 'on' : 'off');
  if (yes) {
    wake();
    slip();
  }
}

/** Browsers let a page sound only after a key or a touch. */
export function wake() {
  if (!on) return;
  context ??= new AudioContext();
  if (context.state === 'suspended') context.resume();
}

function note(pitch, from, length) {
  const tone = context.createOscillator(), level = context.createGain();
  const at = context.currentTime + from;
  tone.frequency.value = pitch;
  level.gain.setValueAtTime(0, at);
  level.gain.linearRampToValueAtTime(0.4, at + 0.01);
  level.gain.setValueAtTime(0.4, at + length - 0.02);
  level.gain.linearRampToValueAtTime(0, at + length);
  tone.connect(level).connect(context.destination);
  tone.start(at);
  tone.stop(at + length);
}

export function slip() {
  if (!on || !context) return;
  note(880, 0, 0.15);
  note(587, 0.18, 0.3);
}

export function overload() {
  if (!on || !context) return;
  for (let i = 0; i < 5; i++) note(1175, i * 0.14, 0.09);
}
