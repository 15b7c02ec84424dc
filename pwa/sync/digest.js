// What a phone checks its copy by, as sync needs it; how it is counted stands in storage/digest.js.

export { digest, digestLine } from '../storage/digest.js';
