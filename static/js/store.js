// What this device keeps: entries that wait, in the order they were written, and some facts.
const store = (() => {
  let opened;

  function open() {
    opened ||= new Promise((done, fail) => {
      const asked = indexedDB.open("buildledger", 1);
      asked.onupgradeneeded = ({ target: { result } }) => {
        const entries = result.createObjectStore("outbox", { keyPath: "order", autoIncrement: true });
        entries.createIndex("token", "token", { unique: true });
        result.createObjectStore("facts");
      };
      asked.onsuccess = () => {
        const held = asked.result;
        held.onclose = held.onversionchange = () => { held.close(); opened = undefined; };
        done(held);
      };
      asked.onerror = () => { opened = undefined; fail(asked.error); };
    });
    return opened;
  }

  // Done once it is on the disk: only then may a page say that something is kept.
  async function act(work, mode = "readwrite") {
    const held = await open();
    return new Promise((done, fail) => {
      const step = held.transaction(["outbox", "facts"], mode, { durability: "strict" });
      const asked = work(step.objectStore("outbox"), step.objectStore("facts"));
      step.oncomplete = () => done(asked?.result);
      step.onabort = () => fail(step.error);
    });
  }

  // Hands on the entry of a token as it is stored, or nothing.
  function find(entries, token, then) {
    const asked = entries.index("token").get(token);
    asked.onsuccess = () => then(asked.result);
    return asked;
  }

  return {
    list: () => act((entries) => entries.getAll(), "readonly"),
    fact: (name) => act((_, facts) => facts.get(name), "readonly"),
    keepFact: (name, value) => act((_, facts) => facts.put(value, name)),
    // In the place of an earlier state of the same entry, if there is one: it was written then.
    put: (entry, place = entry.token) => act((entries) => find(entries, place, (old) => {
      entries.put(old ? { ...entry, order: old.order, at: old.at, isChanged: true } : entry);
    })),
    // What was dropped or written anew meanwhile stays as it is. Answers what is stored.
    change: ({ token, mark }, changes) => act((entries) => find(entries, token, (old) => {
      if (old?.mark === mark) entries.put({ ...old, ...changes });
    })),
    drop: (token) => act((entries) => find(entries, token, (old) => {
      if (old) entries.delete(old.order);
    })),
    // Recorded: the entry goes, and where to see it is kept in the same step.
    settle: ({ token, mark, account, said }, { address, text }) => act((entries, facts) => find(entries, token, (old) => {
      if (old?.mark === mark) entries.delete(old.order);
      facts.get("sent").onsuccess = ({ target: { result = [] } }) => {
        facts.put([{ token, account, said, address, text }, ...result].slice(0, 20), "sent");
      };
    })),
  };
})();
