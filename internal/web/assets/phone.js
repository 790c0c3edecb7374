// What the phone keeps: rides, notes, sound, in IndexedDB. A note is kept when the promise of
// keepNote is fulfilled: the transaction is then on the phone's disk ("strict").
import { openDB } from "./idb.js";

const strict = { durability: "strict" };

export const openPhone = () => openDB("ringcraft", 1, {
  upgrade(db) {
    db.createObjectStore("rides", { keyPath: "ride_id" });
    const notes = db.createObjectStore("notes", { keyPath: ["ride_id", "seq"] });
    notes.createIndex("waiting", ["ride_id", "state"]);
    const sound = db.createObjectStore("sound", { keyPath: ["ride_id", "seq"] });
    sound.createIndex("waiting", ["ride_id", "state"]);
    db.createObjectStore("meta");
  },
  blocking(_now, _want, event) { event.target.close(); },
});

export class Phone {
  constructor(db) { this.db = db; }

  static async open() {
    const db = await openPhone();
    const phone = new Phone(db);
    await phone.device();
    return phone;
  }

  // device names this browser's storage: when the storage is lost, so is the name, and the
  // sequence of notes begins anew under another one.
  async device() {
    const tx = this.db.transaction("meta", "readwrite", strict);
    let id = await tx.store.get("device");
    if (!id) {
      id = crypto.randomUUID();
      await tx.store.put(id, "device");
    }
    await tx.done;
    return id;
  }

  get(key) { return this.db.get("meta", key); }
  set(key, value) { return this.db.put("meta", value, key); }

  ride(id) { return this.db.get("rides", id); }
  rides() { return this.db.getAll("rides"); }
  async keepRide(data) {
    const tx = this.db.transaction("rides", "readwrite", strict);
    await tx.store.put(data);
    await tx.done;
  }

  notes(ride) { return this.db.getAll("notes", IDBKeyRange.bound([ride], [ride, []])); }

  // keepNote gives a note its id and its place in the sequence, in one transaction.
  async keepNote(ride, fields) {
    const tx = this.db.transaction(["notes", "meta"], "readwrite", strict);
    const device = await tx.objectStore("meta").get("device");
    const last = await tx.objectStore("notes").openKeyCursor(IDBKeyRange.bound([ride], [ride, []]), "prev");
    const note = {
      ...fields, id: crypto.randomUUID(), ride_id: ride, device,
      seq: last ? last.key[1] + 1 : 1, clock: new Date().toISOString(), state: "phone",
    };
    await tx.objectStore("notes").put(note);
    await tx.done;
    return note;
  }

  // waiting lists what is not in the book yet, in order.
  waiting(store, ride, most) {
    return this.db.getAllFromIndex(store, "waiting", IDBKeyRange.only([ride, "phone"]), most);
  }

  count(store, ride, state) {
    return this.db.countFromIndex(store, "waiting", IDBKeyRange.only([ride, state]));
  }

  // settle writes down what the server said of notes: "book" or "refused".
  async settle(ride, ids, state, why) {
    if (!ids.length) return;
    const want = new Set(ids);
    const tx = this.db.transaction("notes", "readwrite", strict);
    for (let c = await tx.store.openCursor(IDBKeyRange.bound([ride], [ride, []])); c; c = await c.continue()) {
      if (want.has(c.value.id)) await c.update({ ...c.value, state, why });
    }
    await tx.done;
  }

  // keepPiece keeps a piece of sound as soon as it exists.
  async keepPiece(ride, fields) {
    const tx = this.db.transaction(["sound", "meta"], "readwrite", strict);
    const meta = tx.objectStore("meta");
    let slot = await meta.get("slot:" + ride);
    if (slot === undefined) {
      slot = 1 + Math.floor(Math.random() * 48); // two phones at one ride rarely meet; see moveSlot
      await meta.put(slot, "slot:" + ride);
    }
    const last = await tx.objectStore("sound").openKeyCursor(IDBKeyRange.bound([ride], [ride, []]), "prev");
    const seq = last && last.key[1] >= slot * 2000 ? last.key[1] + 1 : slot * 2000;
    await tx.objectStore("sound").put({ ...fields, ride_id: ride, seq, state: "phone" });
    await tx.done;
    return seq;
  }

  // pieceInBook lets go of the bytes: the book has them on disk.
  async pieceInBook(piece) {
    const tx = this.db.transaction("sound", "readwrite", strict);
    await tx.store.put({ ...piece, bytes: undefined, state: "book" });
    await tx.done;
  }

  // moveSlot renumbers the pieces still here: another phone has these numbers.
  async moveSlot(ride) {
    const tx = this.db.transaction(["sound", "meta"], "readwrite", strict);
    const slot = 1 + Math.floor(Math.random() * 48);
    let seq = slot * 2000;
    for (let c = await tx.objectStore("sound").openCursor(IDBKeyRange.bound([ride], [ride, []])); c; c = await c.continue()) {
      if (c.value.state !== "phone") continue;
      const piece = { ...c.value };
      await c.delete();
      while (await tx.objectStore("sound").getKey([ride, seq])) seq++;
      await tx.objectStore("sound").put({ ...piece, seq, moved: true, state: "moved" });
      seq++;
    }
    for (let c = await tx.objectStore("sound").openCursor(IDBKeyRange.bound([ride], [ride, []])); c; c = await c.continue()) {
      if (c.value.state === "moved") await c.update({ ...c.value, state: "phone" });
    }
    await tx.objectStore("meta").put(slot, "slot:" + ride);
    await tx.done;
  }
}

// standing drops notes that were taken back; an undo can be taken back too.
export function standing(notes) {
  const gone = new Set();
  for (const n of [...notes].sort((a, b) => b.seq - a.seq)) {
    if (n.kind === "undo" && !gone.has(n.id)) gone.add(n.undoes);
  }
  return notes.filter((n) => n.kind !== "undo" && !gone.has(n.id));
}
