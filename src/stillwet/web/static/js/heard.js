/** Which alarms somebody in front of this screen has heard; kept while the tab is open. */

/** @param {string} key where they are kept */
export function heardIn(key) {
  const ids = () => new Set(JSON.parse(sessionStorage.getItem(key) ?? "[]"));
  return {
    /** @param {any[]} alarms those that nobody has heard */
    missing: (alarms) => {
      const known = ids();
      return alarms.filter((one) => !known.has(one.id));
    },
    /** @param {any[]} alarms */
    add: (alarms) => sessionStorage.setItem(key, JSON.stringify([...ids(), ...alarms.map((one) => one.id)])),
  };
}
