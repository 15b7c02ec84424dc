// A file beside a site's records: it is sent first, then its record is saved, so that no record speaks of a file that is not there.

import { askServer } from '../../store/desk.js';
import { sha256OfBytes } from '../../store/fingerprint.js';

/** What a file is by how its name ends; the server looks at its bytes. @type {Record<string, string>} */
const MEDIA = { pdf: 'pdf', jpg: 'jpeg', jpeg: 'jpeg', png: 'png' };
const NAME_LETTERS = 120;

/** @param {Site} site @param {File} file @param {string} purpose @param {Value} about @returns {Promise<string>} id of its record */
export async function attachFile(site, file, purpose, about) {
  const bytes = await file.arrayBuffer();
  const sha256 = await sha256OfBytes(bytes);
  await askServer(`/api/sites/${site.id}/attachments/${sha256}`, { method: 'PUT', body: new Blob([bytes]) });
  const record = site.newId();
  const media = MEDIA[file.name.split('.').at(-1)?.toLowerCase() ?? ''] ?? 'pdf';
  const name = file.name.slice(-NAME_LETTERS);
  const noted_at = new Date().toISOString();
  const value = { parent: site.id, sha256, media, bytes: bytes.byteLength, name, purpose, noted_at };
  const said = Object.fromEntries(
    Object.entries(about).filter(([, each]) => each !== undefined && each !== ''),
  );
  await site.save([
    { record, type: 'attachment', facet: 'identity', seen: null, value },
    ...(Object.keys(said).length > 0
      ? [{ record, type: 'attachment', facet: 'about', seen: null, value: said }]
      : []),
  ]);
  return record;
}
