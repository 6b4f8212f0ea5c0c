/** What the server writes above the text of the service worker. */
declare const SETTINGS: { version: string; files: string[]; patienceMs: number };
