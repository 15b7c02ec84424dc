// Proof packs: what goes to the rebate desk and to who collects the waste; attachments and collections beside them.

import { useState } from 'preact/hooks';
import { facet, markOf } from '../../../rules/survey.js';
import { checkField } from '../../forms/field_checks.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { FieldInput } from '../../inputs/fields.js';
import { attachFile } from '../../parts/attach_file.js';
import { Problem } from '../../parts/parts.js';
import { Saved } from '../../parts/saved.js';
import { mayWrite } from '../../record_screens.js';
import { choiceText, say } from '../../words.js';
import { Desk, number, Table } from '../parts.js';
import { MadeFiles, useMadeFiles } from './made_files.js';

const PACKS = ['all', 'rebate', 'recycler', 'density', 'carbon'];

/** @param {{site: Site}} props */
export function Proof({ site }) {
  return html`<${Desk} site=${site} at="/proof" back=${`/s/${site.id}/desk/handover`} title=${say('proof.title')}>
    <p>${say('proof.about')}</p>
    <${Take} site=${site} />
    <${Fields} site=${site} />
    <${Attachments} site=${site} />
    <${Collections} site=${site} />
  <//>`;
}

/** The packs, made in the background when they are asked for. @param {{site: Site}} props */
function Take({ site }) {
  const placeOf = (/** @type {HandoverFileTold} */ { what }) => ({
    path: `/api/sites/${site.id}/proof.zip?pack=${what}`,
    name: `spanwalk-proof-${what}.zip`,
  });
  const { files, error, make } = useMadeFiles(`/api/sites/${site.id}/proof/files`, placeOf);
  return html`<section class="card" aria-label=${say('proof.title')}>
    ${PACKS.map((pack) => html`<button key=${pack} type="button" class=${`button ${pack === 'all' ? 'main' : ''}`} onClick=${() => make(pack, { pack })}>${say(`proof.take.${pack}`)}</button>`)}
    <${MadeFiles} files=${files} placeOf=${placeOf} />
    <${Problem} error=${error} />
  </section>`;
}

/** Which columns the firm's programme asks for. @param {{site: Site}} props */
function Fields({ site }) {
  const record = useLive(() => site.get(site.id), [site.id]);
  const field = site.spec.records.site.facets.proof.fields.rebate_fields;
  const [told, setTold] = useState(/** @type {unknown} */ (undefined));
  const [saved, setSaved] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  if (!record || !mayWrite(site, 'site', 'proof')) return null;
  const kept = facet(/** @type {RecordView<'site'>} */ (record), 'proof').rebate_fields;
  const save = async (/** @type {Event} */ event) => {
    event.preventDefault();
    try {
      const form = await site.form(site.id, 'proof');
      const value = { rebate_fields: told ?? kept ?? [] };
      await site.save([{ record: site.id, type: 'site', facet: 'proof', seen: form.seen, value }]);
      setSaved(saved + 1);
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<details class="card">
    <summary class="turn">${say('proof.fields')}</summary>
    <form class="stack" onSubmit=${save} aria-label=${say('proof.fields')}>
      <${FieldInput} name="rebate_fields" field=${field} value=${told ?? kept} problem=${null} onChange=${(/** @type {unknown} */ value) => setTold(value)} />
      <${Problem} error=${error} />
      <button class="button main">${say('proof.fields-save')}</button>
      ${saved > 0 && html`<${Saved} key=${saved} site=${site} />`}
    </form>
  </details>`;
}

/** @param {{site: Site}} props */
function Attachments({ site }) {
  const held = useLive(() => site.all('attachment'), [site.id]);
  const [removed, setRemoved] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  if (!held) return null;
  const remove = (/** @type {string} */ id) =>
    site.remove(id).then(() => setRemoved((before) => before + 1), setError);
  return html`<section class="card" aria-label=${say('proof.attachments')}>
    <h2>${say('proof.attachments')}</h2>
    <p class="muted">${say(held.length > 0 ? 'proof.attachments-about' : 'proof.attached-none')}</p>
    ${
      held.length > 0 &&
      html`<${Table} caption=${say('proof.attachments-list')} stacks heads=${[say('proof.attach-what'), say('proof.attach-about'), say('proof.attachments'), say('proof.remove')]}
        rows=${held.map((each) => rowOf(site, each, remove))} />`
    }
    <${Problem} error=${error} />
    ${removed > 0 && html`<${Saved} key=${removed} site=${site}>${say('proof.removed')}<//>`}
    ${mayWrite(site, 'attachment') && html`<${Attach} site=${site} />`}
  </section>`;
}

/** @param {Site} site @param {RecordView<'attachment'>} record @param {(id: string) => void} remove @returns {Child[]} */
function rowOf(site, record, remove) {
  const [said, about] = [facet(record, 'identity'), facet(record, 'about')];
  const told = [about.number, about.supplier, about.dated].filter(Boolean).join(', ') || '–';
  const path = `/api/sites/${site.id}/attachments/${said.sha256}`;
  return [
    choiceText(said.purpose),
    told,
    html`<a class="tall" href=${path} download=${said.name}>${said.name}</a>`,
    mayWrite(site, 'attachment') &&
      html`<button type="button" class="button plain" aria-label=${say('proof.remove-it', { name: said.name })} onClick=${() => remove(record.id)}>${say('proof.remove')}</button>`,
  ];
}

/** @param {{site: Site}} props */
function Attach({ site }) {
  const { fields } = site.spec.records.attachment.facets.identity;
  const about = site.spec.records.attachment.facets.about.fields;
  const [purpose, setPurpose] = useState('invoice');
  const [told, setTold] = useState(/** @type {Value} */ ({}));
  const [busy, setBusy] = useState(false);
  const [saved, setSaved] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const send = async (/** @type {EventOf<HTMLInputElement>} */ event) => {
    const input = event.currentTarget;
    const [file] = input.files ?? [];
    if (!file) return;
    setBusy(true);
    setError(null);
    try {
      await attachFile(site, file, purpose, told);
      setTold({});
      setSaved(saved + 1);
    } catch (problem) {
      setError(problem);
    }
    input.value = '';
    setBusy(false);
  };
  return html`<div class="stack">
    <${FieldInput} name="purpose" field=${fields.purpose} value=${purpose} problem=${null} onChange=${(/** @type {string} */ value) => setPurpose(value)} />
    <details>
      <summary class="turn">${say('proof.attach-about')}</summary>
      ${Object.entries(about).map(
        ([name, field]) =>
          html`<${FieldInput} key=${`${name}-${saved}`} name=${name} field=${field} value=${told[name]} problem=${null} onChange=${(/** @type {unknown} */ value) => setTold({ ...told, [name]: value })} />`,
      )}
    </details>
    <label class="button camera"><input type="file" accept=".pdf,.jpg,.jpeg,.png" disabled=${busy} onChange=${send} /><span>${say('proof.attach')}</span></label>
    <${Problem} error=${error} />
    ${saved > 0 && html`<${Saved} key=${saved} site=${site} />`}
  </div>`;
}

/** @param {{site: Site}} props */
function Collections({ site }) {
  const held = useLive(() => site.all('waste_collection'), [site.id]);
  if (!held) return null;
  const heads = ['collected_on', 'collected_by', 'sort', 'containers', 'number', 'broken'];
  const { fields } = site.spec.records.waste_collection.facets.identity;
  return html`<section class="card" aria-label=${say('proof.collections')}>
    <h2>${say('proof.collections')}</h2>
    <p class="muted">${say(held.length > 0 ? 'proof.collections-about' : 'proof.collections-none')}</p>
    ${
      held.length > 0 &&
      html`<${Table} caption=${say('proof.collections-list')} stacks numbers=${[3, 4, 5]} heads=${heads.map((name) => fields[name].title)}
        rows=${held.map((each) => {
          const said = facet(each, 'identity');
          return [
            said.collected_on,
            said.collected_by,
            choiceText(said.sort),
            ...[said.containers, said.number, said.broken].map((count) => number(count)),
          ];
        })} />`
    }
    ${mayWrite(site, 'waste_collection') && html`<${Collect} site=${site} />`}
  </section>`;
}

const ASKED = [
  'sort',
  'container',
  'containers',
  'number',
  'broken',
  'kind',
  'collected_on',
  'collected_by',
  'certificate',
  'note',
];

/** @param {{site: Site}} props */
function Collect({ site }) {
  const { fields } = site.spec.records.waste_collection.facets.identity;
  const chosen = useLive(() => choices(site), [site.id]);
  const [told, setTold] = useState(/** @type {Value} */ ({}));
  const [wrong, setWrong] = useState(/** @type {Record<string, Reason | null>} */ ({}));
  const [saved, setSaved] = useState(0);
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    const found = Object.fromEntries(
      ASKED.map((name) => [name, wrong[name] ?? checkField(fields[name], told[name])]),
    );
    setWrong(found);
    setError(null);
    if (Object.values(found).some(Boolean)) return;
    try {
      const said = Object.fromEntries(
        Object.entries(told).filter(([, value]) => value !== undefined && value !== ''),
      );
      const value = { parent: site.id, ...said };
      await site.save([
        { record: site.newId(), type: 'waste_collection', facet: 'identity', seen: null, value },
      ]);
      setTold({});
      setWrong({});
      setSaved(saved + 1);
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<details>
    <summary class="turn">${say('proof.collect')}</summary>
    <form class="stack" onSubmit=${submit} aria-label=${say('proof.collect')} novalidate>
      ${ASKED.map((name) =>
        name === 'certificate' || name === 'kind'
          ? html`<${OneOf} key=${name} name=${name} title=${fields[name].title} help=${fields[name].help} among=${chosen?.[name] ?? []} value=${told[name]} onChange=${(/** @type {string} */ value) => setTold({ ...told, [name]: value || undefined })} />`
          : html`<${FieldInput} key=${`${name}-${saved}`} name=${name} field=${fields[name]} value=${told[name]} problem=${wrong[name] ?? null}
            onChange=${(/** @type {unknown} */ value, /** @type {Reason | null} */ unread) => {
              setTold({ ...told, [name]: value });
              setWrong({ ...wrong, [name]: unread ?? null });
            }} />`,
      )}
      <${Problem} error=${error} />
      <button class="button main">${say('proof.collect-save')}</button>
      ${saved > 0 && html`<${Saved} key=${saved} site=${site} />`}
    </form>
  </details>`;
}

/** What a collection may name, id and words: certificates that are attached, kinds of fixture. @param {Site} site */
async function choices(site) {
  const [attached, kinds] = await Promise.all([
    /** @type {Promise<RecordView<'attachment'>[]>} */ (site.all('attachment')),
    /** @type {Promise<RecordView<'kind'>[]>} */ (site.all('kind')),
  ]);
  return {
    certificate: attached
      .map((each) => ({ id: each.id, ...facet(each, 'identity') }))
      .filter((each) => each.purpose === 'certificate')
      .map(({ id, name }) => ({ id, text: String(name) })),
    kind: kinds.map((each) => ({
      id: each.id,
      text: [markOf(each), facet(each, 'identity').title].filter(Boolean).join(' · '),
    })),
  };
}

/** A record by its words; nothing to choose from, nothing asked. @param {{name: string, title: string, help?: string, among: {id: string, text: string}[], value: unknown, onChange: (value: string) => void}} props */
function OneOf({ name, title, help, among, value, onChange }) {
  if (among.length === 0) return null;
  return html`<div class="field">
    <label for=${name}>${title}</label>
    <select id=${name} value=${value ?? ''} aria-describedby=${help ? `${name}-help` : undefined} onChange=${(/** @type {EventOf<HTMLSelectElement>} */ event) => onChange(event.currentTarget.value)}>
      <option value=""></option>
      ${among.map((each) => html`<option key=${each.id} value=${each.id}>${each.text}</option>`)}
    </select>
    ${help && html`<p class="small muted" id=${`${name}-help`}>${help}</p>`}
  </div>`;
}
