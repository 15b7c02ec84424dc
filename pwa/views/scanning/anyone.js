// A label scanned without signing in: what its site shows to anyone, or the way to sign in.

import { useEffect, useState } from 'preact/hooks';
import { spaced } from '../../rules/codes.js';
import { askServer } from '../../store/desk.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { SignIn } from '../sign_in.js';
import { say } from '../words.js';

/**
 * @typedef {{kind: string, code: string, number: number, setting_ma: number | null}} ShownItem
 * @typedef {{code: string, now?: 'converted' | 'not-noted', takes_no_lamps?: boolean, items?: ShownItem[] | null, fitted_on?: string, serials?: string[], firm?: string, call?: string, removed?: boolean, recalled?: boolean}} Shown as the server's `ScannedOut`
 */

/** @param {{code: string}} props */
export function Anyone({ code }) {
  const [shown, setShown] = useState(/** @type {Shown | null | undefined} */ (undefined));
  const [works, setWorks] = useState(false);
  useEffect(() => {
    let wanted = true;
    /** @param {Shown | null} answer */
    const show = (answer) => wanted && setShown(answer);
    // Nothing to be shown, too many tries, no signal: who works here signs in all the same.
    askServer(`/api/labels/${code}`).then(
      (answer) => show(/** @type {Shown} */ (answer)),
      () => show(null),
    );
    return () => {
      wanted = false;
    };
  }, [code]);
  const title = say('label.code', { code: spaced(code) });
  if (shown === undefined) return html`<${Page} title=${title} />`;
  if (!shown || works)
    return html`<${SignIn} then=${`/F/${code}`} why=${say('label.sign-in-first', { code: spaced(code) })} />`;
  return html`<${Page} title=${title}>
    <${WhatIsShown} shown=${shown} />
    <button type="button" class="button wide" onClick=${() => setWorks(true)}>${say('anyone.work-here')}</button>
  <//>`;
}

/** @param {{shown: Shown}} props */
function WhatIsShown({
  shown: { now, takes_no_lamps, items, fitted_on: on, serials, firm, call, removed, recalled },
}) {
  return html`<section class="card stack" aria-label=${say('label.title')}>
      ${removed && html`<p>${say('anyone.removed')}</p>`}
      ${recalled && html`<p class="notice bad">${say('anyone.recalled')}</p>`}
      ${takes_no_lamps && html`<p class="strong">${say('anyone.takes-no-lamps')}</p>`}
      ${now && html`<p>${say(`anyone.${now}`)}</p>`}
      ${on && html`<p>${say('anyone.since', { on })}</p>`}
      ${serials && serials.length > 0 && html`<p>${say('anyone.serials', { serials: serials.join(', ') })}</p>`}
      ${items !== undefined && html`<${Items} items=${items} />`}
      ${(firm || call) && html`<${WhomToCall} firm=${firm} call=${call} />`}
    </section>
    <p class="notice">${say('anyone.caution')}</p>`;
}

/** @param {{items: ShownItem[] | null}} props */
function Items({ items }) {
  if (!items?.length) return html`<p class="muted">${say('anyone.fits-not-told')}</p>`;
  return html`<h2>${say('anyone.fits')}</h2>
    <ul class="plain">
      ${items.map(
        ({ code, number, setting_ma }) =>
          html`<li key=${code}>${setting_ma ? say('anyone.item-set', { number, code, setting_ma }) : say('anyone.item', { number, code })}</li>`,
      )}
    </ul>`;
}

/** @param {{firm?: string, call?: string}} props */
function WhomToCall({ firm, call }) {
  const dialled = call?.replace(/[^+0-9]/g, '');
  return html`<h2>${say('anyone.call')}</h2>
    ${firm && html`<p>${firm}</p>`}
    ${dialled ? html`<a class="button wide" href=${`tel:${dialled}`}>${call}</a>` : call && html`<p>${call}</p>`}`;
}
