// All records of a site a slice at a time: what runs through them leaves the screen its turn between slices.

/** So few that a slice's work stays far below a tenth of a second on an old phone. */
export const SLICE = 400;

/**
 * @param {Site} site @param {(records: RecordView[]) => void} onSlice
 * @param {() => boolean} wanted asked before each slice; false ends it
 * @returns {Promise<boolean>} whether it came to the end
 */
export async function throughAll(site, onSlice, wanted) {
  let after = '';
  while (wanted()) {
    const records = await site.slice(after, SLICE);
    onSlice(records);
    if (records.length < SLICE) return true;
    after = records[records.length - 1].id;
    await new Promise((turn) => setTimeout(turn));
  }
  return false;
}
