// Work that waits for a manager: made by somebody off the site, or sent by a phone that is shut out.

import { useState } from 'preact/hooks';
import { askServer } from '../../../store/desk.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { Problem } from '../../parts/parts.js';
import { headOf, readHere, saidBy, whereOf } from '../../syncing/operation_text.js';
import { phoneName } from '../../syncing/phone_name.js';
import { counted, say, timeText } from '../../words.js';

/** @param {{site: Site, held: HeldTold[], onSettled: () => void}} props */
export function Held({ site, held, onSettled }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const [said, setSaid] = useState('');
  const deeds = held.map(({ operation }) => operation);
  const here = useLive(() => readHere(site, deeds), [site.id, held]) ?? new Map();
  /** @param {'release' | 'refuse'} how @param {HeldTold[]} some */
  const settle = async (how, some) => {
    setError(null);
    try {
      /** @type {{answers: import('../../../storage/types.js').Answer[]}} */
      const { answers } = await askServer(`/api/sites/${site.id}/held`, {
        method: 'POST',
        body: { [how]: some.map(({ id }) => id) },
      });
      const conflicts = answers.filter(({ result }) => result === 'conflict').length;
      setSaid(
        say(how === 'release' ? 'desk.held-released' : 'desk.held-refused', { n: some.length, conflicts }),
      );
      onSettled();
    } catch (refused) {
      setError(refused);
    }
  };
  if (held.length === 0) return said ? html`<p role="status">${said}</p>` : null;
  return html`<section class="card" aria-label=${say('desk.work-that-waits-for-you')}>
    <h2>${say(held.length === 1 ? 'desk.one-waits-for-you' : 'desk.that-wait-for-you', { entries: counted(held.length, 'entry') })}</h2>
    <p>${say('desk.held-help')}</p>
    ${said && html`<p role="status">${said}</p>`}
    <div class="side-by-side">
      <button type="button" class="button main" onClick=${() => settle('release', held)}>${say('desk.let-all-of-it-in')}</button>
    </div>
    <ul class="rows">${held.map(
      (each) => html`<li class="row-text" key=${each.id} data-held=${each.id}>
      <span class="strong">${headOf(site, each.operation, here.get(each.operation.record))}</span>
      <span class="detail strong">${whereOf(here, deeds, each.operation)}</span>
      <span class="detail">${saidBy(site, each.operation)}</span>
      <span class="detail">${whoMade(each)}, ${timeText(each.operation.device_time)}, ${phoneName(each.id)}</span>
      <span class="side-by-side"><button type="button" class="button" onClick=${() => settle('release', [each])}>${say('desk.let-it-in')}</button><button type="button" class="button danger" onClick=${() => settle('refuse', [each])}>${say('desk.refuse-it')}</button></span>
    </li>`,
    )}</ul>
    <${Problem} error=${error} />
  </section>`;
}

/** Who made it, and who sent it where that is another. @param {HeldTold} held */
function whoMade({ name, sender, sender_name: by, operation }) {
  const made = name ?? say('phone.somebody');
  return sender === operation.by || !by ? made : say('phone.handed-in', { name: made, by });
}
