/** All that the pages about people say by themselves. */
export const WORDS = {
  may: { look: "may look", log: "may look and log", plan: "may look, log and plan", lead: "may also let people in" },
  letOut: (name) => `Let ${name} out`,
  out: "let out",
  code: (name) => `Join code of ${name}. It is shown this once: write it down or read it out.`,
  nothing: "Nothing has been asked for yet.",
  none: "Nobody has been let in yet.",
};
