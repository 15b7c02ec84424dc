// One label: where it is, whether it is void and why; void it with a reason, or take that back.

import { useState } from 'preact/hooks';
import { parseCode, spaced } from '../../rules/codes.js';
import { facet, has } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Problem } from '../parts/parts.js';
import { Saved } from '../parts/saved.js';
import { VoidForm } from '../parts/void_form.js';
import { mayWrite } from '../record_screens.js';
import { say, timeText } from '../words.js';
import { choosePath, labelPlace, labelState } from './find_label.js';
import { LabelTold } from './label_told.js';

/** @param {{site: Site, params: {code: string}}} props */
export function Label({ site, params }) {
  const { code, error } = parseCode(decodeURIComponent(params.code));
  const title = say('label.code', { code: code ? spaced(code) : params.code });
  return html`<${Page} title=${title} over=${site.name} back=${`/s/${site.id}/scan`} site=${site.id}>
    ${code ? html`<${Known} site=${site} code=${code} />` : html`<${Problem} error=${error} />`}
  <//>`;
}

/** @param {{site: Site, code: string}} props */
function Known({ site, code }) {
  const label = useLive(async () => (await site.lookup('label', code)) ?? null, [site.id, code]);
  const found = useLive(() => labelState(site, code), [site.id, code]);
  const at = useLive(() => labelPlace(site, code), [site.id, code]);
  const [saved, setSaved] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  if (label === undefined || found === undefined) return null;
  if (label === null) return html`<p class="notice">${say('label.missing', { code: spaced(code) })}</p>`;
  /** @param {{reason?: string}} value */
  const write = async (value) => {
    setError(null);
    try {
      const about = { record: label.id, type: 'label', facet: 'voided' };
      await site.save([{ ...about, value, seen: label.seen.voided ?? null }]);
      setSaved((before) => before + 1);
    } catch (problem) {
      setError(problem);
    }
  };
  const { group, position } = facet(label, 'binding');
  return html`<section class="card" aria-label=${say('label.title')}>
      ${found.state !== 'bound' && html`<${LabelTold} site=${site} code=${code} found=${found} here />`}
      ${found.state === 'bound' && html`<p class="strong">${at}</p><a class="button main" href=${found.path}>${say('label.show-fixture')}</a>`}
      <p class="small muted">${has(label, 'printed') ? say('label.printed-at', { at: timeText(facet(label, 'printed').at ?? '') }) : say('label.not-printed')}</p>
      ${['manager', 'owner'].includes(site.role) && group && html`<a class="button" href=${`/s/${site.id}/desk/labels?group=${group}&position=${position}`}>${say('label.print-again')}</a>`}
    </section>
    ${mayWrite(site, 'label', 'voided') && html`<${Voiding} label=${label} write=${write} />`}
    ${mayWrite(site, 'label', 'binding') && found.state === 'bound' && html`<a class="button wide" href=${choosePath(site.id, code, true)}>${say('label.on-another-fixture')}</a>`}
    ${saved > 0 && html`<${Saved} key=${saved} site=${site} />`}
    <${Problem} error=${error} />`;
}

/** @param {{label: RecordView<'label'>, write: (value: {reason?: string}) => void}} props */
function Voiding({ label, write }) {
  if (has(label, 'voided'))
    return html`<button type="button" class="button" onClick=${() => write({})}>${say('label.unvoid')}</button>`;
  return html`<section class="card" aria-label=${say('label.void-title')}>
    <h2>${say('label.void-title')}</h2>
    <p class="small muted">${say('label.void-about')}</p>
    <${VoidForm} id=${label.id} onVoid=${(/** @type {string} */ reason) => write({ reason })} />
  </section>`;
}

/** To the labels of a fixture, for who may void them. @param {{site: Site, labels: RecordView<'label'>[]}} props */
export function LabelsOn({ site, labels }) {
  if (!mayWrite(site, 'label', 'voided')) return null;
  return labels.map((label) => {
    const code = facet(label, 'identity').code ?? '';
    return html`<a class="button wide" key=${label.id} href=${`/s/${site.id}/label/${code}`}>${say('label.about-this', { code: spaced(code) })}</a>`;
  });
}
