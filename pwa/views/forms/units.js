// Which tape the site measures with.

import { useLive } from '../hooks.js';

/** 'in' unless the site's settings say millimetres. @param {Site} site @returns {'in' | 'mm'} */
export function useUnits(site) {
  const record = useLive(() => site.get(site.id), [site.id]);
  return record?.facets.settings?.units === 'millimetres' ? 'mm' : 'in';
}
