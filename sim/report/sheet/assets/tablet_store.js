"use strict";
// Where is what was typed kept, so that no reload and no power cut loses it?
//
// Twice: in localStorage at once, on every keystroke; and in IndexedDB with strict durability,
// because a browser writes localStorage to the disk only some seconds later. What is kept is merged
// entry by entry, the newest wins; so two windows with the same sheet do not overwrite each other.
const tabletStore = (() => {
  const PREFIX = "firstglow-readings:";
  const KEPT = "firstglow-readings-kept:";
  const DATABASE = "firstglow-readings";
  const TABLE = "sheets";

  let key = "";
  let state = null;
  let database = null;
  let writing = false;
  let again = false;
  let tell = () => {};
  const kept = { quick: null, disk: null, onDisk: 0 };

  const emptyState = (facts) => ({ facts, entries: {}, changed: 0, exported: 0 });

  function merge(into, from) {
    for (const [id, entry] of Object.entries(from.entries || {})) {
      const here = into.entries[id];
      if (!here || entry.at > here.at) {
        into.entries[id] = entry;
      }
    }
    into.changed = Math.max(into.changed, from.changed || 0);
    into.exported = Math.max(into.exported, from.exported || 0);
  }

  function readQuick(name) {
    try {
      const text = localStorage.getItem(name);
      const found = text === null ? null : JSON.parse(text);
      return found && typeof found.entries === "object" ? found : null;
    } catch (error) {
      return null;
    }
  }

  function writeQuick() {
    try {
      const other = readQuick(key);
      if (other) {
        merge(state, other);
      }
      localStorage.setItem(key, JSON.stringify(state));
      kept.quick = true;
    } catch (error) {
      kept.quick = false;
    }
  }

  const failDisk = () => {
    kept.disk = false;
    writing = false;
    tell();
  };

  // One write at a time; what comes meanwhile goes with the next one.
  function writeDisk() {
    if (!database) {
      return;
    }
    if (writing) {
      again = true;
      return;
    }
    writing = true;
    again = false;
    const upTo = state.changed;
    try {
      const act = database.transaction(TABLE, "readwrite", { durability: "strict" });
      act.objectStore(TABLE).put(JSON.stringify(state), key);
      act.oncomplete = () => {
        writing = false;
        kept.disk = true;
        kept.onDisk = Math.max(kept.onDisk, upTo);
        tell();
        if (again) {
          writeDisk();
        }
      };
      act.onabort = failDisk;
    } catch (error) {
      failDisk();
    }
  }

  function save() {
    writeQuick();
    writeDisk();
    tell();
  }

  // Calls done(states by key) with what the disk has; with nothing when it is refused.
  function readDisk(done) {
    const found = new Map();
    const act = database.transaction(TABLE, "readonly");
    const cursor = act.objectStore(TABLE).openCursor();
    cursor.onsuccess = () => {
      const at = cursor.result;
      if (at) {
        try {
          found.set(String(at.key), JSON.parse(at.value));
        } catch (error) {
          // a broken entry is left alone
        }
        at.continue();
      }
    };
    act.oncomplete = () => done(found);
    act.onabort = () => done(found);
  }

  function openDisk(done) {
    let request;
    try {
      request = indexedDB.open(DATABASE, 1);
    } catch (error) {
      failDisk();
      done(new Map());
      return;
    }
    request.onupgradeneeded = () => request.result.createObjectStore(TABLE);
    request.onerror = () => {
      failDisk();
      done(new Map());
    };
    request.onsuccess = () => {
      database = request.result;
      kept.disk = true;
      readDisk(done);
    };
  }

  // Earlier states of sheets of the same rig made from another state of its record.
  function othersOf(disk) {
    const names = new Set(disk.keys());
    try {
      for (let i = 0; i < localStorage.length; i += 1) {
        names.add(localStorage.key(i));
      }
    } catch (error) {
      // then only the disk is asked
    }
    const others = [];
    for (const name of names) {
      if (name === key || !name.startsWith(PREFIX)) {
        continue;
      }
      const other = emptyState(null);
      for (const found of [readQuick(name), disk.get(name)]) {
        if (found && found.facts && found.facts.rig === state.facts.rig) {
          other.facts = found.facts;
          merge(other, found);
        }
      }
      if (other.facts && Object.keys(other.entries).length > 0) {
        others.push(other);
      }
    }
    return others;
  }

  // Opens what is kept for this sheet. `told` is called whenever the state or its keeping changed;
  // `ready(others)` once the disk was read.
  function open(facts, told, ready) {
    tell = told;
    key = PREFIX + JSON.stringify([facts.rig, facts.record]);
    state = emptyState(facts);
    const quick = readQuick(key);
    if (quick) {
      merge(state, quick);
    }
    writeQuick();
    window.addEventListener("storage", (event) => {
      const other = event.key === key ? readQuick(key) : null;
      if (other) {
        merge(state, other);
        tell(true);
      }
    });
    openDisk((disk) => {
      if (disk.has(key)) {
        merge(state, disk.get(key));
      }
      save();
      ready(othersOf(disk));
    });
  }

  // An entry is later than what it replaces even when the clock of the tablet was set back.
  function put(id, entry) {
    const before = state.entries[id];
    const at = Math.max(Date.now(), before ? before.at + 1 : 0, state.exported + 1);
    state.entries[id] = { ...entry, at };
    state.changed = Math.max(state.changed, at);
    save();
  }

  // Entries of an export or of an earlier sheet. What they replace is kept beside them.
  function takeIn(entries) {
    let taken = 0;
    for (const [id, entry] of Object.entries(entries)) {
      const here = state.entries[id];
      if (here && (here.at >= entry.at || here.text === entry.text)) {
        continue;
      }
      const replaced = here && here.text !== "" ? [{ text: here.text, at: here.at }] : [];
      const earlier = [...((here && here.earlier) || []), ...replaced];
      state.entries[id] = earlier.length > 0 ? { ...entry, earlier } : { ...entry };
      taken += 1;
    }
    if (taken > 0) {
      state.changed = Math.max(Date.now(), state.changed, state.exported + 1);
      save();
    }
    return taken;
  }

  function markExported() {
    state.exported = Math.max(state.changed, Date.now());
    save();
  }

  // The sheet is empty again; what was on it stays on the tablet under another name.
  function beginAfresh() {
    const text = JSON.stringify(state);
    const name = KEPT + JSON.stringify([state.facts.rig, state.facts.record, state.changed]);
    localStorage.setItem(name, text);
    localStorage.removeItem(key);
    state = emptyState(state.facts);
    save();
  }

  return {
    open, put, takeIn, markExported, beginAfresh,
    entries: () => state.entries,
    changed: () => state.changed,
    unsaved: () => state.changed > state.exported,
    // null: not known yet; false: refused.
    keeping: () => kept,
  };
})();
