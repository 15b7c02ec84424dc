// What was done on a fixture so far, newest first, with what the manager said to it.

import { fittedItems, releasedAt } from '../../rules/installing/as_fitted.js';
import { store } from '../../store/store.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { byOrder } from '../newest.js';
import { Mark } from '../parts/parts.js';
import { PhotoButton, Photos } from '../parts/photos.js';
import { mayWrite } from '../record_screens.js';
import { choiceText, say, timeText } from '../words.js';
import { itemText } from './fitted.js';
import { FittedLater } from './fitted_later.js';
import { doneAt } from './fixture_facts.js';
import { NotDoneAfterAll } from './not_done_after_all.js';

/** @type {Record<string, 'done' | 'attention' | ''>} */
const LOOKS = { done: 'done', problem: 'attention', skipped: '', 'not-done-after-all': 'attention' };

/** @param {{site: Site, read: GroupRead, position: number, history: RecordView<'installation'>[]}} props */
export function History({ site, read, position, history }) {
  if (history.length === 0) return null;
  const [newest] = history;
  const isDone = newest.facets.identity?.outcome === 'done' && mayWrite(site, 'installation');
  return html`<section class="stack" aria-label=${say('crew.done-so-far')}>
    ${history.map((each) => html`<${Entry} key=${each.id} site=${site} read=${read} position=${position} installation=${each} />`)}
    ${
      isDone &&
      html`<${PhotoButton} site=${site} subject=${newest.id} purpose="after" label=${say('card.photo-of-it-as-it-is')} />
      <${FittedLater} key=${`fitted-${newest.id}`} site=${site} read=${read} position=${position} installation=${newest} />
      <${NotDoneAfterAll} key=${`undone-${newest.id}`} site=${site} read=${read} position=${position} installation=${newest} />`
    }
  </section>`;
}

/** @param {{site: Site, read: GroupRead, position: number, installation: RecordView<'installation'>}} props */
function Entry({ site, read, position, installation }) {
  const { outcome, fitted, problem, reason, minutes, helper } = installation.facets.identity ?? {};
  const who = [
    store.whoSaid(installation),
    helper && say('card.with', { helper }),
    minutes && `${minutes} min`,
    timeText(doneAt(installation)),
  ];
  return html`<div class="notice stack">
    <p class="side-by-side">
      <${Mark} look=${LOOKS[outcome ?? ''] ?? ''}>${choiceText(outcome)}<//>
      <span class="small muted">${who.filter(Boolean).join(', ')}</span>
    </p>
    ${outcome === 'done' && html`<${Fitted} read=${read} position=${position} installation=${installation} text=${fitted ?? ''} />`}
    ${reason && html`<p>${choiceText(reason)}</p>`}
    ${problem && html`<p>${problem}</p>`}
    <${Words} site=${site} installation=${installation} />
    <${Photos} site=${site} subject=${installation.id} />
  </div>`;
}

/** What was fitted: item by item where it differs or a number was noted, else in short. @param {{read: GroupRead, position: number, installation: RecordView<'installation'>, text: string}} props */
function Fitted({ read, position, installation, text }) {
  const { items, as_released: asReleased, reason, note } = installation.facets.as_fitted ?? {};
  const told = items
    ? fittedItems(installation, releasedAt(read.conversion, position, read.positions.length))
    : null;
  if (!told)
    return html`${text && html`<p>${text}</p>`}${asReleased && html`<p class="muted small">${say('card.as-released')}</p>`}`;
  return html`<ul class="step-lines">${told.map((item, at) => html`<li key=${at}>${itemText(item)}</li>`)}</ul>
    <p class="muted small">${asReleased ? say('card.as-released') : say('card.differs', { reason: reason ?? '', note: note ?? '' })}</p>`;
}

/** The talk about a problem: what the manager answered, and what was said to that. @param {{site: Site, installation: RecordView<'installation'>}} props */
function Words({ site, installation }) {
  const words = useLive(async () => {
    const [answers, replies] = await Promise.all([
      site.children(installation.id, 'problem_answer'),
      site.children(installation.id, 'problem_reply'),
    ]);
    return [...answers, ...replies].sort(byOrder);
  }, [installation.id]);
  if (!words?.length) return null;
  return html`<ul class="stack plain" aria-label=${say('card.what-was-answered')}>
    ${words.map((each) => html`<${Word} key=${each.id} said=${each} />`)}
  </ul>`;
}

/** @param {{said: RecordView<'problem_answer'> | RecordView<'problem_reply'>}} props */
function Word({ said }) {
  const identity = /** @type {Partial<ValueOf<'problem_answer', 'identity'>>} */ (said.facets.identity ?? {});
  const who = `${store.whoSaid(said)}, ${timeText(identity.noted_at ?? said.at.identity ?? '')}`;
  return html`<li>
    ${identity.answer && html`<p class="strong">${say('card.the-answer', { answer: identity.answer })}</p>`}
    ${identity.words && html`<p>${identity.words}</p>`}
    <p class="small muted">${who}</p>
  </li>`;
}
