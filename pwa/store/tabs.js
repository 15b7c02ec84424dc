// Tabs of one phone tell each other what has changed.

/**
 * @typedef {{kind: 'changed', site: string} | {kind: 'status', site: string, status: import('../sync/engine.js').Status} | {kind: 'person'}} Message
 */

const CHANNEL = 'spanwalk';

export class Tabs {
  /** @param {(message: Message) => void} onMessage what another tab says */
  constructor(onMessage) {
    this.onMessage = onMessage;
    /** @type {BroadcastChannel | null} */
    this.channel = null;
    if (typeof window === 'undefined') return;
    this.channel = new BroadcastChannel(CHANNEL);
    this.channel.onmessage = (event) => this.onMessage(event.data);
  }

  /** @param {Message} message */
  say(message) {
    this.channel?.postMessage(message);
  }

  close() {
    this.channel?.close();
  }
}
