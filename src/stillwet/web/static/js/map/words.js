/** The words of the maps. */

export const WORDS = {
  legend: "Ground under the map",
  layer: {
    "base-map": (name) => `Base map: ${name}`,
    hillshade: (name) => `Hillshade: ${name}`,
  },
  strength: "How strong the ground is drawn",
  away: (name) => `${name} does not reach here.`,
  far: (name) => `Come closer to see ${name}.`,
};
