// Requests to one site of the server: what comes back is an answer, or the reason why there is none.

/** @typedef {{headers: Record<string, string>, body: string | ArrayBuffer}} Packed A request's body, and what it is. */

const GZIP_FROM_BYTES = 1000;
const ANSWER_WITHIN_MS = 60_000;

/** There was no usable answer. `event` is what it means to the sync line. */
export class NoAnswer extends Error {
  /**
   * @param {import('./line.js').LineEvent} event
   * @param {string} code
   * @param {{status?: number, facts?: Facts, retryAfterS?: number}} [about]
   */
  constructor(event, code, { status = 0, facts = {}, retryAfterS = 0 } = {}) {
    super(code);
    this.name = 'NoAnswer';
    this.event = event;
    this.code = code;
    this.status = status;
    this.facts = facts;
    this.retryAfterS = retryAfterS;
  }
}

export class Transport {
  /**
   * @param {string} site
   * @param {{fetch?: typeof fetch, base?: string, zip?: boolean, withinMs?: number}} [how]
   */
  constructor(
    site,
    { fetch: fetcher, base = '', zip = typeof CompressionStream !== 'undefined', withinMs } = {},
  ) {
    this.site = site;
    this.address = `${base}/api/sites/${site}`;
    this.fetch = fetcher ?? ((...args) => fetch(...args));
    this.zip = zip;
    this.withinMs = withinMs ?? ANSWER_WITHIN_MS;
    this.stopping = new AbortController();
    /** A pull that was asked before this phone knew who is here. @type {{path: string, page: Promise<import('../storage/types.js').Page>} | null} */
    this.ahead = null;
  }

  /** Nothing is asked any more, and what is on its way is given up: who asked has signed out. */
  stop() {
    this.stopping.abort();
  }

  /** The body of a push, ready to leave. @param {unknown} body @returns {Promise<Packed>} */
  async pack(body) {
    const text = JSON.stringify(body);
    /** @type {Record<string, string>} */
    const headers = { 'Content-Type': 'application/json' };
    if (!this.zip || text.length < GZIP_FROM_BYTES) return { headers, body: text };
    return { headers: { ...headers, 'Content-Encoding': 'gzip' }, body: await gzip(text) };
  }

  /** @param {Packed} packed @returns {Promise<import('./push.js').PushAnswer>} */
  push(packed) {
    return this.#json('/push', { method: 'POST', ...packed });
  }

  /** @param {Record<string, string | number | null | undefined>} question @returns {Promise<import('../storage/types.js').Page>} */
  pull(question) {
    const path = pathOf(question);
    const { ahead } = this;
    this.ahead = null;
    // What did not come that way is asked as if nobody had asked.
    if (ahead?.path === path) return ahead.page.catch(() => this.#json(path, { method: 'GET' }));
    return this.#json(path, { method: 'GET' });
  }

  /**
   * Ask what the first pull will ask: it then gets that answer.
   *
   * @param {Record<string, string | number | null>} question @param {Promise<Response>} [asked] where it was asked already
   */
  pullAhead(question, asked) {
    const path = pathOf(question);
    this.ahead = { path, page: asked ? asked.then(readAnswer) : this.#json(path, { method: 'GET' }) };
    this.ahead.page.catch(() => {});
  }

  /** @param {string} sha256 @param {ArrayBuffer} bytes @returns {Promise<{sha256: string, bytes: number}>} */
  putPhoto(sha256, bytes) {
    return this.#json(`/photos/${sha256}`, {
      method: 'PUT',
      headers: { 'Content-Type': 'image/jpeg' },
      body: bytes,
    });
  }

  /** @param {string} sha256 @returns {Promise<ArrayBuffer>} */
  async getPhoto(sha256) {
    const response = await this.#send(`/photos/${sha256}`, { method: 'GET' });
    if (!response.ok) throw meaning(response, (await readJson(response)) ?? {});
    // A captive portal answers 200 with a page of its own.
    if (!response.headers.get('Content-Type')?.startsWith('image/'))
      throw new NoAnswer('network-lost', 'not-the-server', { status: response.status });
    return response.arrayBuffer().catch((error) => {
      throw new NoAnswer('network-lost', 'network-lost', { facts: { reason: String(error) } });
    });
  }

  /** @param {string} path @param {RequestInit} request */
  async #json(path, request) {
    return readAnswer(await this.#send(path, request));
  }

  /** @param {string} path @param {RequestInit} request */
  async #send(path, request) {
    const given = [AbortSignal.timeout(this.withinMs), this.stopping.signal];
    // An older browser lets what is on its way come in; nobody hears of it.
    const signal = AbortSignal.any?.(given) ?? given[0];
    try {
      this.stopping.signal.throwIfAborted();
      return await this.fetch(this.address + path, {
        credentials: 'same-origin',
        cache: 'no-store',
        signal,
        ...request,
      });
    } catch (error) {
      throw new NoAnswer('network-lost', 'network-lost', { facts: { reason: String(error) } });
    }
  }
}

/** @param {Record<string, string | number | null | undefined>} question */
function pathOf(question) {
  const known = Object.entries(question).filter(([, value]) => value !== null && value !== undefined);
  return `/pull?${new URLSearchParams(known.map(([name, value]) => [name, String(value)]))}`;
}

/** @param {Response} response @param {{code?: string} & Facts} body the problem, as far as it is one */
function meaning(response, body) {
  const { status } = response;
  const code = body.code ?? `http-${status}`;
  const retryAfterS = Number(response.headers.get('Retry-After')) || 0;
  return new NoAnswer(status === 401 ? 'session-ended' : 'server-failed', code, {
    status,
    facts: body,
    retryAfterS,
  });
}

/** @param {Response} response */
async function readAnswer(response) {
  const body = await readJson(response);
  if (response.ok) {
    // A captive portal answers 200 with a page of its own; only JSON is the server speaking.
    if (body === null) throw new NoAnswer('network-lost', 'not-the-server', { status: response.status });
    return body;
  }
  throw meaning(response, body ?? {});
}

// What the server answers is held against nothing here: any, until the caller names it.
/** @param {Response} response @returns {Promise<any>} null when it is not JSON */
async function readJson(response) {
  try {
    return await response.json();
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw new NoAnswer('network-lost', 'network-lost', { facts: { reason: String(error) } });
  }
}

/** @param {string} text @returns {Promise<ArrayBuffer>} */
function gzip(text) {
  const zip = new CompressionStream('gzip');
  const writer = zip.writable.getWriter();
  // What fails there is heard of where it is read.
  Promise.all([writer.write(new TextEncoder().encode(text)), writer.close()]).catch(() => {});
  return new Response(zip.readable).arrayBuffer();
}
