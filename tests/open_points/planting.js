// A complete site to plant things in; the twin of planting.py.

/** The records with each patch laid over the record of its id; a facet of null is taken away. */
export function patched(records, patches) {
  const byId = new Map(records.map((record) => [record.id, record]));
  for (const patch of patches) {
    const record = byId.get(patch.id) ?? patch;
    const facets = Object.entries({ ...record.facets, ...patch.facets }).filter(
      ([, value]) => value !== null,
    );
    byId.set(patch.id, { ...record, ...patch, facets: Object.fromEntries(facets) });
  }
  return [...byId.values()];
}
