/** All that the wet board says by itself; what is reckoned comes in words from the server. */
export const WORDS = {
  empty: "No face has a coat or is planned to have one. Make a plan, or log a coat.",
  now: "now",
  ahead: (time) => `This is what will be left at ${time}, with nothing more logged. It is not now.`,
  behind: (time) => `This is what was left at ${time}. It is not now.`,
  trouble: (text) => `The board cannot be shown: ${text}`,
  quiet: "No alarm.",
  all: "All of them",
  heard: "Heard",
  heardAlready: "Heard; still so",
  facts: { look: "Why look", left: "Water left", hold: "Meets the fire", fire: "Fire may come", coat_by: "Lay a fresh coat", who: "Who", chance: "How sure" },
  alarms: {
    "lag exceeded": (n) => `${n === 1 ? "1 wet stretch" : `${n} wet stretches`} past the lag`,
    "below demand before fire": (n) => `${faces(n)} too dry before the fire`,
    "coat due": (n) => `${faces(n)} due for a coat`,
    "look at it": (n) => `${faces(n)} to look at`,
  },
  washed: (names) => `Washed off: ${names}`,
  passed: (names) => `The fire has passed: ${names}`,
  band: (name, hold, fire) => `${name}: meets the fire ${hold}; fire may come ${fire}`,
};

function faces(n) {
  return n === 1 ? "1 face" : `${n} faces`;
}
