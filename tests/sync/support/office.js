// What happens to a phone from the office's side: who is on the site, which phones are revoked, what is held, the server set back.

import { digest } from '../../../pwa/sync/digest.js';

/** Of a phone's cookies the one that is its own, whoever is signed in. @param {string} cookie */
export const phoneOf = (cookie) =>
  cookie
    .split('; ')
    .filter((each) => each.startsWith('spanwalk_phone='))
    .join('; ');

export class Office {
  /**
   * @param {object} how
   * @param {string} how.base @param {string} how.site @param {string} how.cookie of the owner
   * @param {string} how.password of everybody
   * @param {(what: {ask: string, folder?: string}) => Promise<void>} how.ask has the test do what only the server's machine can
   */
  constructor({ base, site, cookie, password, ask }) {
    Object.assign(this, { base, site, cookie, password, ask });
  }

  async call(method, path, body, cookie = this.cookie) {
    const headers = { Origin: this.base, Cookie: cookie, 'Content-Type': 'application/json' };
    const response = await fetch(this.base + path, { method, headers, body: body && JSON.stringify(body) });
    const text = await response.text();
    return {
      status: response.status,
      body: text ? JSON.parse(text) : null,
      cookie: response.headers.getSetCookie().map((each) => each.split(';')[0]).join('; '),
    };
  }

  /** @param {string} name @param {string} [before] cookies of the phone, by which it is known again */
  async signIn(name, before = '') {
    const about = { name, password: this.password };
    const { status, cookie } = await this.call('POST', '/api/session', about, phoneOf(before));
    if (status !== 200) throw new Error(`${name} cannot sign in: ${status}`);
    return cookie;
  }

  signOut(cookie) {
    return this.call('DELETE', '/api/session', undefined, cookie);
  }

  async signedIn(cookie) {
    return (await this.call('GET', '/api/session', undefined, cookie)).status === 200;
  }

  /** @param {string} name @param {string | null} role null: off the site */
  async setRole(name, role) {
    const { status, body } = await this.call('PUT', `/api/sites/${this.site}/people`, { name, role });
    if (status !== 200) throw new Error(`role of ${name}: ${status} ${JSON.stringify(body)}`);
  }

  /** @returns {Promise<boolean>} false when the server has not heard of it */
  async revoke(device) {
    return (await this.call('DELETE', `/api/sites/${this.site}/devices/${device}`)).status === 204;
  }

  async held() {
    return (await this.call('GET', `/api/sites/${this.site}/held`)).body.held;
  }

  async settleHeld(release, refuse) {
    const { status } = await this.call('POST', `/api/sites/${this.site}/held`, { release, refuse });
    if (status !== 200) throw new Error(`held work: ${status}`);
  }

  /** The site's records as the server has them, and their digest made here. */
  async siteState() {
    const records = [];
    for (let since = 0; ; ) {
      const { body } = await this.call('GET', `/api/sites/${this.site}/pull?since=${since}&limit=2000`);
      records.push(...body.records);
      since = body.next;
      if (!body.more) return { records, told: body.sum, own: (await digest(records)).digest };
    }
  }

  async hasPhoto(sha256) {
    const headers = { Origin: this.base, Cookie: this.cookie };
    const answer = await fetch(`${this.base}/api/sites/${this.site}/photos/${sha256}`, { headers });
    // One whose record was removed meanwhile is there, and handed out again once that is restored.
    return answer.ok || (await answer.json()).code === 'photo-removed';
  }

  backUp() {
    return this.ask({ ask: 'backup' });
  }

  putBack() {
    return this.ask({ ask: 'restore' });
  }
}
