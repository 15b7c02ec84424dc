// The code of a second phone among what a camera reads: an address of ours with a secret after '#'.

const PATH = '/enrol';
const SECRET = /^[A-Za-z0-9_-]{20,100}$/;

/**
 * @param {string[]} texts as they were read
 * @param {string} origin of this page: a code of another server signs nobody in here
 * @returns {{secret: string | null, elsewhere: boolean}}
 */
export function codeIn(texts, origin) {
  const found = texts.map(enrolment).filter((each) => each !== null);
  const ours = found.find((each) => each.origin === origin);
  return { secret: ours?.secret ?? null, elsewhere: !ours && found.length > 0 };
}

/** @param {string} text @returns {{origin: string, secret: string} | null} */
function enrolment(text) {
  if (!URL.canParse(text)) return null;
  const { origin, pathname, hash } = new URL(text);
  const secret = hash.slice(1);
  return pathname === PATH && SECRET.test(secret) ? { origin, secret } : null;
}
