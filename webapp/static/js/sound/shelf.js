// @ts-check
// Where takes lie in this browser: in IndexedDB, so that they outlive the page; where the browser
// allows none, or it is full, in the page's memory, and it is said that they end with it.

const NAME = "quartervent";
const VERSION = 1;
const TAKES = "takes"; // what is known of a take
const SOUNDS = "sounds"; // its sound, read only when it is sent
const STORES = [TAKES, SOUNDS];

/**
 * A record as it lies in the database. Takes of earlier versions lie there too: only add to it.
 * @typedef {import("./sending.js").Sendable & {label: string, state: "waiting" | "refused",
 *   message: string, said?: import("../said.js").Said}} Take `said` is the label, its notes by their signs
 */
/** @typedef {Take & {id: number}} KeptTake */
/** @typedef {KeptTake & {isLasting: boolean}} ListedTake */
/**
 * @template Result
 * @typedef {(takes: IDBObjectStore, sounds: IDBObjectStore) => Result | Promise<Result>} Act
 */

/** A shelf of takes. */
export class Shelf {
  /** @type {IDBDatabase | null} */
  #database = null;
  /** @type {Map<number, {take: KeptTake, bytes: ArrayBuffer}>} */
  #memory = new Map();
  #lastInMemory = 0;

  /** Open the shelf of this browser; it can be used in any case. */
  static async open() {
    const shelf = new Shelf();
    try {
      shelf.#database = await openDatabase();
    } catch {
      // Private windows of some browsers refuse it.
    }
    return shelf;
  }

  /**
   * Put a take on the shelf. All of it is asked for before this returns: a page that is being left, in
   * the middle of a note, does nothing after that.
   * @param {Take} take
   * @param {ArrayBuffer} bytes its sound
   * @returns {Promise<{id: number, isLasting: boolean}>} not lasting: it ends with this page
   */
  async add(take, bytes) {
    const kept = { ...take, id: makeNumber() };
    try {
      await (this.#addAtOnce(kept, bytes) ?? this.#use("readwrite", (...stores) => put(stores, kept, bytes)));
      return { id: kept.id, isLasting: true };
    } catch {
      this.#lastInMemory -= 1; // never a number of the database
      const id = this.#lastInMemory;
      this.#memory.set(id, { take: { ...take, id }, bytes });
      return { id, isLasting: false };
    }
  }

  /**
   * @param {KeptTake} take
   * @param {ArrayBuffer} bytes
   * @returns {Promise<void> | null} null where the database has to be opened first
   */
  #addAtOnce(take, bytes) {
    /** @type {IDBTransaction | undefined} */
    let transaction;
    try {
      transaction = this.#database?.transaction(STORES, "readwrite");
    } catch {
      return null; // the browser had closed it
    }
    if (!transaction) return null;
    const done = endOf(transaction);
    put([transaction.objectStore(TAKES), transaction.objectStore(SOUNDS)], take, bytes);
    transaction.commit?.(); // waits for no answer
    return done;
  }

  /** All takes, oldest first, without their sounds. @returns {Promise<ListedTake[]>} */
  async list() {
    /** @type {KeptTake[]} */
    const found = await this.#tryUse("readonly", (takes) => answerOf(takes.getAll()), []);
    const lasting = found.map((take) => ({ ...take, isLasting: true }));
    const others = [...this.#memory.values()].map(({ take }) => ({ ...take, isLasting: false }));
    return [...lasting, ...others].sort((a, b) => a.keptAt - b.keptAt);
  }

  /**
   * One take without its sound, or undefined when it is there no more.
   * @param {number} id
   * @returns {Promise<KeptTake | undefined>}
   */
  async find(id) {
    const held = this.#memory.get(id);
    if (held) return held.take;
    return this.#tryUse("readonly", (takes) => readTake(takes, id), undefined);
  }

  /**
   * The sound of a take, or null when it is there no more.
   * @param {number} id
   * @returns {Promise<Blob | null>}
   */
  async sound(id) {
    const held = this.#memory.get(id)?.bytes;
    /** @type {ArrayBuffer | undefined} */
    const bytes = held ?? await this.#tryUse("readonly", (_, sounds) => answerOf(sounds.get(id)), undefined);
    return bytes ? new Blob([bytes], { type: "audio/wav" }) : null;
  }

  /**
   * Note something new about a take that is still there.
   * @param {number} id
   * @param {Partial<Take>} news
   */
  async change(id, news) {
    const held = this.#memory.get(id);
    if (held) Object.assign(held.take, news);
    else {
      await this.#tryUse("readwrite", async (takes) => {
        const take = await readTake(takes, id);
        if (take) takes.put({ ...take, ...news });
      }, undefined);
    }
  }

  /** Take a take off the shelf. @param {number} id */
  async remove(id) {
    if (this.#memory.delete(id)) return;
    await this.#tryUse("readwrite", (takes, sounds) => {
      takes.delete(id);
      sounds.delete(id);
    }, undefined);
  }

  /**
   * Do something in one transaction; what comes back is kept for good.
   * @template Result
   * @param {IDBTransactionMode} mode
   * @param {Act<Result>} act
   * @returns {Promise<Result>}
   */
  async #use(mode, act) {
    const transaction = await this.#begin(mode);
    const done = endOf(transaction);
    const [result] = await Promise.all([
      act(transaction.objectStore(TAKES), transaction.objectStore(SOUNDS)),
      done,
    ]);
    return result;
  }

  /** @param {IDBTransactionMode} mode @returns {Promise<IDBTransaction>} */
  async #begin(mode) {
    try {
      if (this.#database) return this.#database.transaction(STORES, mode);
    } catch {
      // the browser had closed it
    }
    this.#database = await openDatabase();
    return this.#database.transaction(STORES, mode);
  }

  /**
   * @template Result
   * @template Otherwise
   * @param {IDBTransactionMode} mode
   * @param {Act<Result>} act
   * @param {Otherwise} otherwise where it could not be done
   * @returns {Promise<Result | Otherwise>}
   */
  async #tryUse(mode, act, otherwise) {
    try {
      return await this.#use(mode, act);
    } catch {
      return otherwise;
    }
  }
}

/** @returns {Promise<IDBDatabase>} */
function openDatabase() {
  return new Promise((resolve, fail) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      request.result.createObjectStore(TAKES, { keyPath: "id", autoIncrement: true });
      request.result.createObjectStore(SOUNDS);
    };
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close();
      resolve(request.result);
    };
    request.onerror = () => fail(request.error);
    request.onblocked = () => fail(new Error("blocked"));
  });
}

/** A number that no other tab gives: the database's own would have to be waited for. */
function makeNumber() {
  return Date.now() * 1000 + Math.floor(Math.random() * 1000);
}

/** @param {IDBObjectStore[]} stores @param {KeptTake} take @param {ArrayBuffer} bytes */
function put([takes, sounds], take, bytes) {
  takes.add(take);
  sounds.put(bytes, take.id);
}

/** @param {IDBTransaction} transaction @returns {Promise<void>} kept for good */
function endOf(transaction) {
  return new Promise((resolve, fail) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => fail(transaction.error ?? new Error("not kept"));
  });
}

/** @param {IDBObjectStore} takes @param {number} id @returns {Promise<KeptTake | undefined>} */
function readTake(takes, id) {
  return answerOf(takes.get(id));
}

/**
 * @template Result
 * @param {IDBRequest<Result>} request
 * @returns {Promise<Result>}
 */
function answerOf(request) {
  return new Promise((resolve, fail) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => fail(request.error);
  });
}
