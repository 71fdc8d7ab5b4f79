/** Alarms by ear: a pattern of tones for each kind. A browser wants a press before any sound. */

const PATTERNS = {
  "lag exceeded": [990, 500, 990, 500, 990, 500],
  "below demand before fire": [880, 660, 880, 660],
  "coat due": [660, 660],
  "look at it": [520, 700],
};
const TONE_S = 0.22;
const GAP_S = 0.08;
const LOUD = 0.4;

let context = null;

/** True while sound is on. */
export function isOn() {
  return context !== null && context.state === "running";
}

/** Turn sound on or off; must follow a press. @returns {Promise<boolean>} whether it is on now */
export async function toggle() {
  if (isOn()) {
    await context.suspend();
  } else {
    context = context ?? new AudioContext();
    await context.resume();
    play("coat due");
  }
  return isOn();
}

/** Play the pattern of a kind of alarm, if sound is on. @param {string} kind */
export function play(kind) {
  if (!isOn()) return;
  (PATTERNS[kind] ?? PATTERNS["coat due"]).forEach((pitch, number) => tone(pitch, context.currentTime + number * (TONE_S + GAP_S)));
}

function tone(pitch, start) {
  const voice = context.createOscillator();
  const volume = context.createGain();
  voice.type = "square";
  voice.frequency.value = pitch;
  volume.gain.setValueAtTime(LOUD, start);
  volume.gain.exponentialRampToValueAtTime(0.001, start + TONE_S);
  voice.connect(volume).connect(context.destination);
  voice.start(start);
  voice.stop(start + TONE_S);
}
