// One fixture group: what fits into it, the readings that say so, and what else is known of it.

import { useState } from 'preact/hooks';
import { isNever } from '../../rules/fit/not_converted.js';
import { facet } from '../../rules/survey.js';
import { useInTurn, useLive, useShown } from '../hooks.js';
import { html } from '../html.js';
import { BestFit, OtherFits } from '../measuring/fits.js';
import { Readings } from '../measuring/group_readings.js';
import { Trials } from '../measuring/group_trials.js';
import { findGroup, judged } from '../measuring/judged_group.js';
import { Beside } from '../parts/beside.js';
import { NotHere, NotReadYet } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Problem, Row } from '../parts/parts.js';
import { PhotoPrompts, Photos } from '../parts/photos.js';
import { Saved } from '../parts/saved.js';
import { useReadAndHeard } from '../parts/when_heard.js';
import { PURPOSES } from '../photos/purposes.js';
import { OnThePlan } from '../plans_of_floors/on_the_plan.js';
import { mayRead, mayWrite, titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { groupRows } from './beside_rows.js';
import { FacetRows } from './facet_rows.js';
import { groupTitle } from './heads.js';
import { inheritedHere, NOTHING_INHERITED } from './inherited_here.js';
import { RemovalNotice } from './removal_notice.js';

/** A trial is of use where the best is tight, or others were tried. @param {Judgement | null} told @param {import('../measuring/judged_group.js').Found} found */
const mayBeTried = (told, { trials }) =>
  told !== null &&
  (trials.length > 0 ||
    (told.fits[0]?.verdict !== 'fits' && told.fits.some(({ verdict }) => verdict === 'tight')));

const FACETS = ['count', 'supply', 'duty', 'differs'];

/** A group and what is judged of it: in a moment of its own, while the rest is still being read. @param {Site} site @param {string} id */
async function readJudged(site, id) {
  const found = await findGroup(site, id);
  return { found, told: found && judged(found) };
}

/** @param {Site} site @param {string} id of a group */
async function readInherited(site, id) {
  const group = /** @type {RecordView<'group'> | undefined} */ (await site.get(id));
  return group ? inheritedHere(site, group) : NOTHING_INHERITED;
}

/** @param {{site: Site, params: {id: string}}} props */
export function Group({ site, params: { id } }) {
  const read = useLive(
    () => Promise.all([readJudged(site, id), groupRows(site, id), readInherited(site, id)]),
    [id],
  );
  const [removed, setRemoved] = useState(false);
  if (read === undefined) return html`<${NotReadYet} site=${site} />`;
  const [{ found, told }, rows, inherited] = read;
  if (removed || found === null)
    return html`<${Gone} site=${site} id=${id} removed=${removed} onBack=${() => setRemoved(false)} />`;
  const { group, kind, room } = found;
  const title = groupTitle(group, kind);
  const never = isNever(kind);
  return html`<${Page} title=${title} over=${room ? titleOf(room) : ''} back=${`/s/${site.id}/room/${group.parent}`} site=${site.id} look="beside"
    act=${mayWrite(site, 'cavity_reading') && !never && html`<a class="button main wide" href=${`/s/${site.id}/group/${id}/read`}>${say('page.read-a-cavity')}</a>`}>
    <${Beside} name=${`groups ${group.parent}`} label=${say('survey.fixture-groups')} rows=${rows} here=${id} />
    ${facet(group, 'identity').note && html`<p>${facet(group, 'identity').note}</p>`}
    ${group.conflicts.length > 0 && html`<a class="notice bad" href=${`/s/${site.id}/conflicts`}>${say('survey.two-people-entered-different-things')}</a>`}
    ${
      // Without the readings and the catalogue nothing true can be said of what fits.
      mayRead(site, 'cavity_reading') &&
      html`<section class="stack" aria-label=${say('survey.what-fits')}>
      <${BestFit} told=${told} found=${found} />
      ${!never && mayWrite(site, 'trial_bar') && mayBeTried(told, found) && !told?.degree?.next && html`<a class="button wide" href=${`/s/${site.id}/group/${id}/trial`}>${say('survey.record-a-trial-bar')}</a>`}
      ${!never && html`<${OnceShown}><${OtherFits} told=${told} bars=${found.bars} /><//>`}
    </section>`
    }
    <${BelowTheFit} site=${site} found=${found} told=${told} inherited=${inherited} onRemoved=${() => setRemoved(true)} />
  <//>`;
}

/** @param {{children: Child}} props */
const OnceShown = ({ children }) => (useShown() ? children : null);

/** @typedef {{site: Site, found: import('../measuring/judged_group.js').Found, told: Judgement | null, inherited: import('./inherited_here.js').Inherited, onRemoved: () => void}} OfTheGroup */

/** What else is known of it, out of sight until one scrolls: drawn part by part once what fits is on the screen. @param {OfTheGroup} props */
function BelowTheFit(props) {
  // What else fits stands above them, and is drawn in the first turn.
  const drawn = useInTurn(BELOW_THE_FIT.length + 1) - 1;
  return BELOW_THE_FIT.slice(0, Math.max(drawn, 0)).map((Part) => html`<${Part} ...${props} />`);
}

/** @param {OfTheGroup} props */
const Read = ({ site, found: { readings, trials, bars }, told }) =>
  html`<${Readings} site=${site} readings=${readings} questions=${told?.questions ?? {}} />
    <${Trials} site=${site} trials=${trials} bars=${bars} />`;

/** @param {OfTheGroup} props */
const About = ({ site, found: { group, kind }, inherited }) =>
  html`<section class="stack" aria-label=${say('survey.about-the-group')}>
    <h2>${say('survey.about-the-group')}</h2>
    <${FacetRows} site=${site} record=${group} facets=${FACETS} inherited=${inherited} />
    <ul class="rows">
      ${mayWrite(site, 'group') && html`<${Row} href=${`/s/${site.id}/record/${group.id}/identity`} title=${say('survey.which-ones')} detail=${facet(group, 'identity').note ?? say('survey.needed-where-two-groups-of')} />`}
      ${kind && html`<${Row} href=${`/s/${site.id}/kind/${kind.id}`} title=${titleOf(kind)} detail=${say('survey.described-once-for-all-groups')} />`}
      ${mayWrite(site, 'group') && html`<${Row} href=${`/s/${site.id}/record/${group.id}/change-kind`} title=${say('survey.another-kind')} detail=${say('survey.if-it-is-another')} />`}
    </ul>
  </section>`;

/** @param {OfTheGroup} props */
const Pictures = ({ site, found: { group, room, readings }, onRemoved }) =>
  html`<section class="stack" aria-label=${say('survey.photos-of-the-group')}>
      <${Photos} site=${site} subject=${group.id} />
      <${PhotoPrompts} site=${site} subject=${group.id} purposes=${PURPOSES.group} fromPhone=${true} />
    </section>
    ${room && html`<${OnThePlan} site=${site} floor=${room.parent} id=${group.id} />`}
    ${mayWrite(site, 'group') && html`<${Remove} site=${site} group=${group} readings=${readings.length} onRemoved=${onRemoved} />`}`;

const BELOW_THE_FIT = [Read, About, Pictures];

/** @param {{site: Site, group: ViewRecord<'group'>, readings: number, onRemoved: () => void}} props */
function Remove({ site, group, readings, onRemoved }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const remove = () => site.remove(group.id).then(onRemoved, setError);
  const what = readings
    ? say('survey.remove-this-group-and-its', { readings: counted(readings, 'reading') })
    : say('survey.remove-this-group');
  return html`<div class="stack">
    <${RemovalNotice} site=${site} groups=${[group]} />
    <button class="button plain danger" onClick=${remove}>${what}</button>
    <${Problem} error=${error} />
  </div>`;
}

/** A group that is not there: removed here just now, elsewhere, or not on this phone. @param {{site: Site, id: string, removed: boolean, onBack: () => void}} props */
function Gone({ site, id, removed, onBack }) {
  const read = useReadAndHeard(site, () => site.get(id), [id]);
  if (read === undefined) return null;
  const { heard, read: group } = read;
  const back = group?.parent ? `/s/${site.id}/room/${group.parent}` : `/s/${site.id}`;
  return html`<${Page} title=${say('survey.fixture-group')} back=${back} site=${site.id}>
    ${removed && html`<${Saved} site=${site} onUndone=${onBack}>${say('survey.the-group-is-removed-with')}<//>`}
    ${!removed && !group && html`<${NotHere} site=${site} heard=${heard} />`}
    ${!removed && group && html`<div class="notice stack"><p>${say('survey.this-group-has-been-removed')}</p>${mayWrite(site, 'group') && html`<button class="button" onClick=${() => site.restore(id)}>${say('page.bring-it-back')}</button>`}</div>`}
    ${(heard || group) && html`<a class="button main" href=${back}>${say('survey.on-with-the-room')}</a>`}
  <//>`;
}
