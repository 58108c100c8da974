// What outlasts the service worker: acts that wait, and a few notes.

/** @typedef {import('./rules.js').Act} Act */

/** @type {Promise<IDBDatabase> | null} */
let opened = null;

const open = () => {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open('wareboard', 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore('acts', { keyPath: 'key' });
      request.result.createObjectStore('notes');
    };
    request.onsuccess = () => {
      // Another version of the worker may want to change it, or the browser to empty it.
      request.result.onversionchange = () => {
        opened = null;
        request.result.close();
      };
      request.result.onclose = () => {
        opened = null;
      };
      resolve(request.result);
    };
    request.onerror = () => {
      opened = null;
      reject(request.error);
    };
  });
  return opened;
};

/** @template T @param {'acts' | 'notes'} name @param {IDBTransactionMode} mode @param {(store: IDBObjectStore) => IDBRequest<T>} work @returns {Promise<T>} */
async function within(name, mode, work) {
  const tx = (await open()).transaction(name, mode);
  const request = work(tx.objectStore(name));
  return new Promise((resolve, reject) => {
    // Written means committed, so that what a person is told is kept is kept.
    tx.oncomplete = () => resolve(request.result);
    tx.onabort = () => reject(tx.error);
  });
}

/** @returns {Promise<Act[]>} */
export const allActs = () => within('acts', 'readonly', (store) => store.getAll());

/** @param {string} key @returns {Promise<Act | undefined>} */
export const findAct = (key) => within('acts', 'readonly', (store) => store.get(key));

/** @param {Act} act */
export const keepAct = (act) => within('acts', 'readwrite', (store) => store.put(act));

/** @param {string} key */
export const dropAct = (key) => within('acts', 'readwrite', (store) => store.delete(key));

/** @param {string} name */
export const readNote = (name) => within('notes', 'readonly', (store) => store.get(name));

/** @param {string} name @param {unknown} value */
export const writeNote = (name, value) => within('notes', 'readwrite', (store) => store.put(value, name));
