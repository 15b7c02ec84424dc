// The desk's screens by address.

/** @type {Array<{path: string, screen: any}>} */
export const screens = [];
