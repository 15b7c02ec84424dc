// Files of the hand-over that the server makes: how each stands, asked again while one is being made; whoever leaves and comes back sees it.

import { useEffect, useRef, useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { html } from '../../html.js';
import { counted, say, timeText } from '../../words.js';
import { number } from '../parts.js';
import { sizeText } from '../size.js';

const LOOK_EACH_MS = 1500;

/** What is taken away of a file, and under which name. @typedef {{path: string, name: string}} Place */

/**
 * The files of one screen, and how to have one made.
 *
 * @param {string} path where they are asked for and told @param {(file: HandoverFileTold) => Place} placeOf
 */
export function useMadeFiles(path, placeOf) {
  const [files, setFiles] = useState(/** @type {HandoverFileTold[] | null} */ (null));
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const asked = useRef(/** @type {Set<string>} */ (new Set()));
  const tell = (/** @type {unknown} */ answer) =>
    setFiles(/** @type {{files: HandoverFileTold[]}} */ (answer).files);
  useEffect(() => {
    askServer(path).then(tell, setError);
  }, [path]);
  useEffect(() => {
    for (const file of files ?? []) {
      if (file.state === 'making' || !asked.current.delete(file.what)) continue;
      if (file.state === 'made') takeAway(placeOf(file));
    }
    if (!files?.some((each) => each.state === 'making')) return undefined;
    // A network that is gone for a while ends no waiting: the server goes on making.
    const look = () => askServer(path).then(tell, () => setFiles([...files]));
    const timer = setTimeout(look, LOOK_EACH_MS);
    return () => clearTimeout(timer);
  }, [files]);
  const make = async (/** @type {string} */ what, /** @type {Record<string, unknown>} */ body) => {
    setError(null);
    try {
      const answer = await askServer(path, { method: 'POST', body });
      asked.current.add(what);
      tell(answer);
    } catch (refused) {
      setError(refused);
    }
  };
  return { files: files ?? [], error, make };
}

/** Have the browser take it, once it is known who one is; whoever calls that off has the link. @param {Place} place */
async function takeAway({ path, name }) {
  try {
    await askServer('/api/session/entered', { method: 'POST', body: {} });
    Object.assign(document.createElement('a'), { href: path, download: name }).click();
  } catch {
    // The link stands on the screen.
  }
}

/** How each stands. @param {{files: HandoverFileTold[], placeOf: (file: HandoverFileTold) => Place}} props */
export function MadeFiles({ files, placeOf }) {
  return html`${files.map((file) => html`<${MadeFile} key=${`${file.what}-${file.with_money}`} file=${file} place=${placeOf(file)} />`)}`;
}

/** @param {{file: HandoverFileTold, place: Place}} props */
function MadeFile({ file, place }) {
  const { state, kept, why } = file;
  return html`<div class="stack">
    ${state === 'making' && html`<${HowFar} file=${file} name=${place.name} />`}
    ${state === 'wrong' && why && html`<p class="notice bad" role="alert">${place.name}: ${say(why.code, why.facts)}</p>`}
    ${
      kept &&
      html`<p role="status"><a class="tall" href=${place.path} download=${place.name}>${say('handover.made', { name: place.name })}</a></p>
      <p class="muted small">${say(file.with_money ? 'handover.kept-with-money' : 'handover.kept', { at: timeText(kept.made_at), size: sizeText(kept.bytes) })}</p>`
    }
    ${kept && kept.changes > 0 && html`<p class="notice">${say('handover.made-before', { changes: counted(kept.changes, 'change') })}</p>`}
  </div>`;
}

/** @param {{file: HandoverFileTold, name: string}} props */
function HowFar({ file: { done, total }, name }) {
  return html`<p role="status">${say('handover.making', { name })}</p>
    ${total > 0 && html`<p class="measure">${say('handover.progress', { done: number(done), of: number(total) })}</p>`}
    <progress max=${total || 1} value=${done} aria-label=${say('handover.making', { name })}></progress>`;
}
