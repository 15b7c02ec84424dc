// Tables from a spreadsheet brought in, and tables to take away.

import { useEffect, useRef, useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { store } from '../../../store/store.js';
import { html } from '../../html.js';
import { Mark, Problem } from '../../parts/parts.js';
import { say, timeText } from '../../words.js';
import { Answer, Desk, useServer } from '../parts.js';
import { FileIn, isAtWork, isOpen } from './file_in.js';

const AGAIN_MS = 700;

/** @param {{site: Site}} props */
export function Files({ site }) {
  const surveys = site.role !== 'crew';
  return html`<${Desk} site=${site} at="/files" title=${say('files.title')}>
    ${surveys ? html`<${In} site=${site} />` : html`<p>${say('files.not-for-crew')}</p>`}
    <${Out} site=${site} />
  <//>`;
}

/** @param {{site: Site}} props */
function In({ site }) {
  const [turn, setTurn] = useState(0);
  const [shown, setShown] = useState(/** @type {string | null} */ (null));
  const answer = /** @type {import('../parts.js').Answered<FilesTold>} */ (
    useServer(`/api/sites/${site.id}/imports`, [turn])
  );
  const again = () => setTurn((before) => before + 1);
  const open = shown ?? answer.told?.imports.find(({ state }) => isOpen(state))?.id ?? null;
  return html`<${Answer} answer=${answer}>${(/** @type {FilesTold} */ told) => html`
    <${Choose} site=${site} kinds=${told.kinds} onSent=${(/** @type {string} */ id) => {
      setShown(id);
      again();
    }} />
    ${open && html`<${One} key=${open} site=${site} id=${open} kinds=${told.kinds} onChanged=${again} />`}
    <${Before} imports=${told.imports} shown=${open} onShow=${setShown} />`}<//>`;
}

/** What is brought, a template for it, and the file. @param {{site: Site, kinds: FileKind[], onSent: (id: string) => void}} props */
function Choose({ site, kinds, onSent }) {
  const [kind, setKind] = useState(kinds[0].kind);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const at = `/api/sites/${site.id}/imports`;
  const send = async (/** @type {EventOf<HTMLInputElement>} */ event) => {
    const input = event.currentTarget;
    const [file] = input.files ?? [];
    if (!file) return;
    setError(null);
    setBusy(true);
    try {
      const asked = new URLSearchParams({ kind, name: file.name.slice(-200) });
      const { id } = /** @type {{id: string}} */ (
        await askServer(`${at}?${asked}`, { method: 'POST', body: file })
      );
      onSent(id);
    } catch (refused) {
      setError(refused);
    }
    setBusy(false);
    input.value = '';
  };
  return html`<section class="card" aria-label=${say('files.bring')}>
    <h2>${say('files.bring')}</h2>
    <p>${say('files.about')}</p>
    <div class="field"><label for="file-kind">${say('files.what')}</label>
      <select id="file-kind" value=${kind} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => setKind(event.currentTarget.value)}>
        ${kinds.map((each) => html`<option value=${each.kind}>${say(`files.kind.${each.kind}`)}</option>`)}
      </select></div>
    <p class="muted">${say(`files.kind-about.${kind}`)}</p>
    <div class="side-by-side">
      ${['xlsx', 'csv'].map((form) => html`<a key=${form} class="button" download href=${`${at}/template.${form}?kind=${kind}`}>${say('files.template', { form: form.toUpperCase() })}</a>`)}
    </div>
    <div class="field"><label for="file">${say('files.choose')}</label>
      <input id="file" type="file" accept=".csv,.txt,.tsv,.xlsx" disabled=${busy} onChange=${send} /></div>
    <${Problem} error=${error} />
  </section>`;
}

/** One file, asked about until it rests. @param {{site: Site, id: string, kinds: FileKind[], onChanged: () => void}} props */
function One({ site, id, kinds, onChanged }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [busy, setBusy] = useState(false);
  const at = `/api/sites/${site.id}/imports/${id}`;
  const { answer, read } = useFileState(at, busy);
  const state = answer.told?.state;
  useEffect(() => {
    onChanged();
    if (state === 'done' || state === 'undone') store.syncNow();
  }, [state]);
  // What is accepted is what is shown: from a press until the server has told what it came to nothing else can be pressed.
  /** @param {string} what @param {unknown} [body] */
  const act = async (what, body) => {
    setError(null);
    setBusy(true);
    await askServer(`${at}/${what}`, { method: 'POST', ...(body !== undefined && { body }) }).catch(setError);
    await read();
    setBusy(false);
  };
  return html`<${Answer} answer=${answer}>${(/** @type {FileState} */ told) => html`<${FileIn} told=${told} columns=${kinds.find(({ kind }) => kind === told.kind)?.columns ?? []} onAct=${act} error=${error} busy=${busy} />`}<//>`;
}

/**
 * How a file stands, read again as long as the server is at work on it; while somebody's press is under way the press does that.
 *
 * @param {string} at @param {boolean} pressed
 * @returns {{answer: import('../parts.js').Answered<FileState>, read: () => Promise<void>}} `read`: resolves when the newest state is held
 */
function useFileState(at, pressed) {
  const [answer, setAnswer] = useState(
    /** @type {import('../parts.js').Answered<FileState>} */ ({ told: undefined, error: null }),
  );
  const newest = useRef(0);
  const read = async () => {
    newest.current += 1;
    const turn = newest.current;
    const next = await askServer(at).then(
      (told) => ({ told: /** @type {FileState} */ (told), error: null }),
      (error) => ({ error }),
    );
    if (turn === newest.current) setAnswer((before) => ({ ...before, ...next }));
  };
  useEffect(() => {
    read();
    return () => {
      newest.current = Number.POSITIVE_INFINITY;
    };
  }, [at]);
  useEffect(() => {
    if (pressed || !answer.told || !isAtWork(answer.told.state)) return undefined;
    const timer = setTimeout(read, AGAIN_MS);
    return () => clearTimeout(timer);
  }, [answer, pressed]);
  return { answer, read };
}

/** @param {{imports: FileInShort[], shown: string | null, onShow: (id: string) => void}} props */
function Before({ imports, shown, onShow }) {
  const others = imports.filter(({ id }) => id !== shown);
  if (!others.length) return null;
  return html`<section class="stack" aria-label=${say('files.before')}>
    <h2>${say('files.before')}</h2>
    <ul class="rows">${others.map(
      (each) => html`<li class="row-text stack" key=${each.id}>
      <span class="strong">${each.name || say(`files.kind.${each.kind}`)}</span>
      <span class="detail">${say(`files.kind.${each.kind}`)}, ${each.by}, ${timeText(each.made_at)}</span>
      <span><${Mark}>${say(`files.state.${each.state}`)}<//></span>
      <button type="button" class="button" onClick=${() => onShow(each.id)}>${say('files.show')}<span class="visually-hidden">: ${each.name}</span></button>
    </li>`,
    )}</ul>
  </section>`;
}

/** Tables to take away. @param {{site: Site}} props */
function Out({ site }) {
  const at = `/api/sites/${site.id}/tables`;
  const { told } =
    /** @type {import('../parts.js').Answered<{tables: Array<{name: string, title: string}>}>} */ (
      useServer(at, [])
    );
  if (!told) return null;
  return html`<section class="card" aria-label=${say('files.away')}>
    <h2>${say('files.away')}</h2>
    <p>${say('files.outgoing')}</p>
    <a class="button main" download href=${`${at}/all.xlsx`}>${say('files.all')}</a>
    <ul class="rows">${told.tables.map(
      ({ name, title }) => html`<li class="row-text" key=${name}>
      <span class="strong">${title}</span>
      <span class="side-by-side">${['xlsx', 'csv'].map((form) => html`<a key=${form} class="button" download href=${`${at}/${name}.${form}`}>${form.toUpperCase()}<span class="visually-hidden">: ${title}</span></a>`)}</span>
    </li>`,
    )}</ul>
    ${store.person?.owner && html`<p>${say('files.copy-about')}</p><a class="button" download href=${`/api/sites/${site.id}/copy.zip`}>${say('files.copy')}</a>`}
  </section>`;
}
