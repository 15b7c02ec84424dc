// What the store says went wrong: a sentence's code and its facts.

/** A refusal, of the server or of the phone itself, or no answer. */
export class StoreError extends Error {
  /** @param {string} code @param {Facts} [facts] */
  constructor(code, facts = {}) {
    super(String(facts.detail ?? code));
    this.name = 'StoreError';
    this.code = code;
    this.facts = facts;
  }
}
