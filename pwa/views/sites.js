// The sites of who is signed in.

import { useEffect, useState } from 'preact/hooks';
import { store } from '../store/store.js';
import { html } from './html.js';
import { navigate } from './navigate.js';
import { Page } from './parts/page.js';
import { Row } from './parts/parts.js';
import { ThisPhone } from './parts/this_phone.js';
import { SignOut } from './parts/sign_out.js';
import { SignIn } from './sign_in.js';
import { say } from './words.js';

export function Sites() {
  const [, draw] = useState(0);
  useEffect(() => store.subscribe(() => draw((count) => count + 1)), []);
  const person = store.person;
  useEffect(() => {
    if (!person) navigate('/sign-in', { replace: true });
  }, [person === null]);
  if (!person) return html`<${SignIn} />`;
  const sites = store.sites();
  return html`<${Page} title=${say('page.your-sites')} over=${person.name}>
    ${
      sites.length === 0
        ? html`<p>${say('page.you-are-on-no-site')}</p>`
        : html`<ul class="rows">
          ${sites.map((site) => html`<${Row} key=${site.id} href=${`/s/${site.id}`} title=${site.name} detail=${site.role} />`)}
        </ul>`
    }
    <a class="button" href="/me">${say('me.title')}: ${person.name}</a>
    <${ThisPhone} />
    <${SignOut} />
  <//>`;
}
