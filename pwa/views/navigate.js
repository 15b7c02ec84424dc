// Going to another screen.

/**
 * Go to an address of the page.
 *
 * @param {string} path @param {{replace?: boolean}} [how]
 */
export function navigate(path, { replace = false } = {}) {
  if (replace) history.replaceState(null, '', path);
  else history.pushState(null, '', path);
  dispatchEvent(new PopStateEvent('popstate'));
  if (!replace) scrollTo(0, 0);
}
