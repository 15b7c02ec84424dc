// What the server writes above service-worker.js.
declare const VERSION: string;
declare const PRECACHE: Record<string, string>;
declare const LATER: Record<string, string>;
