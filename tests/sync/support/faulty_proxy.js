// A proxy between phones and a real server that does to each message what its header `x-fault` says.

import http from 'node:http';

export const FAULTS = ['lost', 'late', 'request-cut', 'answer-lost', 'doubled', 'cut', 'delayed'];
const DELAY_MS = 15;

/** Forwards to one server; what is late is kept until it is delivered, in whatever order. */
export class FaultyProxy {
  /** @param {string} target address of the server */
  constructor(target) {
    this.target = new URL(target);
    /** Requests that the phone has given up, and that are still on their way. @type {any[]} */
    this.late = [];
    this.server = http.createServer((asked, answer) =>
      this.#take(asked, answer).catch(() => asked.socket.destroy()),
    );
  }

  /** @returns {Promise<FaultyProxy>} */
  async start() {
    await new Promise((done) => this.server.listen(0, '127.0.0.1', () => done(undefined)));
    this.base = `http://127.0.0.1:${/** @type {any} */ (this.server.address()).port}`;
    return this;
  }

  stop() {
    this.server.closeAllConnections();
    this.server.close();
  }

  /** Let one of the late requests arrive; nobody hears its answer. @param {number} place */
  async deliver(place) {
    const [request] = this.late.splice(place, 1);
    if (request) await this.#forward(request);
  }

  async #take(asked, answer) {
    const parts = [];
    for await (const part of asked) parts.push(part);
    const request = {
      method: asked.method,
      path: asked.url,
      headers: this.#headers(asked.headers),
      body: Buffer.concat(parts),
    };
    const fault = asked.headers['x-fault'];
    const at = Number(asked.headers['x-fault-at'] ?? 0.5);
    if (fault === 'late') this.late.push(request);
    if (fault === 'request-cut') await this.#forwardPart(request, at);
    if (fault === 'lost' || fault === 'late' || fault === 'request-cut') return asked.socket.destroy();
    if (fault === 'delayed') await new Promise((done) => setTimeout(done, DELAY_MS));
    if (fault === 'doubled') await this.#forward(request);
    const got = await this.#forward(request);
    if (fault === 'answer-lost') return asked.socket.destroy();
    answer.writeHead(got.status, { ...got.headers, 'content-length': got.body.length, connection: 'close' });
    if (fault !== 'cut') return answer.end(got.body);
    answer.write(got.body.subarray(0, Math.floor(got.body.length * at)), () => asked.socket.destroy());
  }

  /** The server takes the proxy for the page it served. */
  #headers(told) {
    const {
      host: _h,
      connection: _c,
      'x-fault': _f,
      'x-fault-at': _a,
      'accept-encoding': _e,
      ...kept
    } = told;
    return { ...kept, host: this.target.host, origin: this.target.origin, 'sec-fetch-site': 'same-origin' };
  }

  #request({ method, path, headers }) {
    return http.request({
      host: this.target.hostname,
      port: this.target.port,
      method,
      path,
      headers,
      agent: false,
    });
  }

  #forward(request) {
    return new Promise((done, failed) => {
      const sent = this.#request(request);
      sent.on('error', failed);
      sent.on('response', async (response) => {
        const parts = [];
        for await (const part of response) parts.push(part);
        const { 'transfer-encoding': _t, connection: _c, ...headers } = response.headers;
        done({ status: response.statusCode, headers, body: Buffer.concat(parts) });
      });
      sent.end(request.body);
    });
  }

  /** The connection breaks while the request goes up. */
  #forwardPart(request, at) {
    return new Promise((done) => {
      const sent = this.#request(request);
      sent.on('error', () => done(undefined));
      sent.write(request.body.subarray(0, Math.floor(request.body.length * at)), () => {
        sent.destroy();
        done(undefined);
      });
    });
  }
}
