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
const WORDS = {
  on: "Sound is on: turn it off",
  off: "Sound is off: turn it on",
  isOn: "Alarms sound every half minute until somebody presses Heard. Turn this machine's volume up.",
  isOff: "Alarms make no sound until that is pressed: browsers want a press first, after each loading of the page.",
  lost: "This machine has stopped the sound. Press to turn it on again, and watch the alarms here.",
  refused: "This browser would not play sound. Watch the alarms here.",
};

let context = null;
let isWanted = false;

/** True while sound is on. */
export function isOn() {
  return context !== null && context.state === "running";
}

/** Make a button turn sound on and off, and say beside it how it stands. @param {HTMLElement} button @param {HTMLElement} says */
export function startSound(button, says) {
  const tell = (why) => {
    button.setAttribute("aria-pressed", String(isOn()));
    button.textContent = isOn() ? WORDS.on : WORDS.off;
    says.textContent = why;
  };
  // A phone call, a lock or another program takes sound away, and sometimes gives it back.
  const watch = () => isWanted && tell(isOn() ? WORDS.isOn : WORDS.lost);
  button.addEventListener("click", async () => {
    const wasOn = isOn();
    const on = await toggle(watch).catch(() => false);
    tell(on ? WORDS.isOn : wasOn ? WORDS.isOff : WORDS.refused);
  });
  tell(WORDS.isOff);
}

/** Turn sound on or off; must follow a press. @param {() => void} changed @returns {Promise<boolean>} whether it is on now */
async function toggle(changed) {
  if (isOn()) {
    isWanted = false;
    await context.suspend();
  } else {
    context ??= listened(changed);
    await context.resume();
    isWanted = isOn();
    play("coat due");
  }
  return isOn();
}

function listened(changed) {
  const made = new AudioContext();
  made.addEventListener("statechange", changed);
  return made;
}

/** Play the pattern of a kind of alarm, if sound is on. @param {string} kind */
export function play(kind) {
  if (isOn()) pattern(context, kind, context.currentTime);
}

/** Put the tones of a kind of alarm on a context, from a moment on. @param {BaseAudioContext} on @param {string} kind @param {number} start */
export function pattern(on, kind, start) {
  (PATTERNS[kind] ?? PATTERNS["coat due"]).forEach((pitch, number) => tone(on, pitch, start + number * (TONE_S + GAP_S)));
}

function tone(on, pitch, start) {
  const voice = on.createOscillator();
  const volume = on.createGain();
  voice.type = "square";
  voice.frequency.value = pitch;
  volume.gain.setValueAtTime(LOUD, start);
  volume.gain.exponentialRampToValueAtTime(0.001, start + TONE_S);
  voice.connect(volume).connect(on.destination);
  voice.start(start);
  voice.stop(start + TONE_S);
}
