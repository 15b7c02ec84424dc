// Which tape lengths are typed and shown in.

import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';

/** The tape of the site: 'in' unless its settings say millimetres. @param {Site} site @returns {Units} */
export function useSiteUnits(site) {
  const record = /** @type {RecordView<'site'> | undefined} */ (useLive(() => site.get(site.id), [site.id]));
  return record?.facets.settings?.units === 'millimetres' ? 'mm' : 'in';
}

/** The tape that who is signed in has chosen for themselves, else that of the site. @param {Site} site @returns {Units} */
export function useUnits(site) {
  const ofSite = useSiteUnits(site);
  return store.ownUnits ?? ofSite;
}
