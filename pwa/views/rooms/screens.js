// Screens of many rooms at once, by address.

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [];
