/* Calls kept on this device until they are handed in: IndexedDB, so that photos fit and a dead battery loses nothing. */
(function () {
  "use strict";
  var NAME = "causebook calls", STORE = "drafts", opening = null;

  function base() {
    opening = opening || new Promise(function (resolve, reject) {
      var asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = function () { asked.result.createObjectStore(STORE, { keyPath: "key" }); };
      asked.onsuccess = function () { resolve(asked.result); };
      asked.onerror = function () { reject(asked.error); };
    });
    return opening;
  }
  function doing(mode, work) {
    return base().then(function (db) {
      return new Promise(function (resolve, reject) {
        var change = db.transaction(STORE, mode), asked = work(change.objectStore(STORE));
        change.oncomplete = function () { resolve(asked.result); };
        change.onerror = change.onabort = function () { reject(change.error); };
      });
    });
  }

  window.causebookSheetDrafts = {
    put: function (draft) { return doing("readwrite", function (store) { return store.put(draft); }); },
    get: function (key) { return doing("readonly", function (store) { return store.get(key); }); },
    all: function () { return doing("readonly", function (store) { return store.getAll(); }); },
    remove: function (key) { return doing("readwrite", function (store) { return store.delete(key); }); },
    /* Ask the device not to clear them when it runs short. */
    persist: function () { if (navigator.storage && navigator.storage.persist) { navigator.storage.persist(); } }
  };
})();
