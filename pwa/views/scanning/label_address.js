// The address that stands in a label's QR: leads to the fixture.

import { useEffect, useState } from 'preact/hooks';
import { parseCode, spaced } from '../../rules/codes.js';
import { store } from '../../store/store.js';
import { useLive, useStatus } from '../hooks.js';
import { html } from '../html.js';
import { navigate } from '../navigate.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { say } from '../words.js';
import { Anyone } from './anyone.js';
import { choosePath, onAnotherSite } from './find_label.js';
import { LabelTold } from './label_told.js';

/** @param {{params: {code: string}}} props */
export function LabelAddress({ params }) {
  useStatus();
  const { code, error } = parseCode(params.code);
  if (error) {
    return html`<${Page} title=${say('label.title')} back="/"><${Problem} error=${error} /><${Sites} /><//>`;
  }
  if (!store.person) return html`<${Anyone} code=${code} />`;
  return html`<${Known} code=${code} />`;
}

/** Looks again whenever something arrives: the site may still be on its way. @param {{code: string}} props */
function Known({ code }) {
  const known = useLive(() => onAnotherSite(code), [code]);
  const [waited, setWaited] = useState(false);
  const path = known?.found.state === 'bound' ? known.found.path : null;
  useEffect(() => {
    if (path) navigate(path, { replace: true });
  }, [path]);
  useEffect(() => {
    const timer = setTimeout(() => setWaited(true), 1000);
    return () => clearTimeout(timer);
  }, []);
  const title = say('label.code', { code: spaced(code) });
  if (path || known === undefined || !(waited || known)) return html`<${Page} title=${title} back="/" />`;
  if (known)
    return html`<${Page} title=${title} over=${known.name} back="/">
      <section class="notice stack" aria-label=${say('label.title')}><${LabelTold} site=${known} code=${code} found=${known.found} /></section>
    <//>`;
  return html`<${Page} title=${title} back="/">
    <p class="notice">${say('label.code-unknown', { code: spaced(code) })}</p>
    <${Sites} code=${code} />
  <//>`;
}

/** Which site is it on? @param {{code?: string}} props */
function Sites({ code }) {
  const sites = store.sites();
  return html`<ul class="rows">
    ${sites.map(
      ({ id, name }) =>
        html`<li key=${id}><a class="row" href=${code ? choosePath(id, code) : `/s/${id}/scan`}><span><span class="title">${name}</span><span class="detail">${code ? say('label.choose-the-fixture-there') : say('label.scan-or-type-it-there')}</span></span></a></li>`,
    )}
  </ul>`;
}
