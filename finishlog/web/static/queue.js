"use strict";
// What waits on this phone to be sent to the log, and what the log has acknowledged. For the page and the worker.
// Nothing is said to be in the log before the log says so; what is sent twice is kept once, by its uid.
const queue = (() => {
  const LAST = 20, CLOCK = 10000, ENTRY_MS = 30000, PHOTO_MS = 60000, BYTES_PER_MS = 20;
  const news = "BroadcastChannel" in self ? new BroadcastChannel("finishlog") : null;

  function opened() {
    return new Promise((done, fail) => {
      const asked = indexedDB.open("finishlog", 1);
      asked.onupgradeneeded = () => {
        // the key counts up: it is the order in which things were done
        asked.result.createObjectStore("waiting", { keyPath: "order", autoIncrement: true });
        asked.result.createObjectStore("kept", { keyPath: "order", autoIncrement: true });
      };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => fail(asked.error);
    });
  }

  // One transaction; done only once it is on the phone's disk.
  async function change(stores, act) {
    const db = await opened();
    try {
      await new Promise((done, fail) => {
        const work = db.transaction(stores, "readwrite", { durability: "strict" });
        work.oncomplete = done;
        work.onabort = () => fail(work.error || new DOMException("", "AbortError"));
        act(...stores.map((name) => work.objectStore(name)));
      });
    } finally {
      db.close();
    }
    told();
  }

  async function all(store) {
    const db = await opened();
    try {
      return await new Promise((done, fail) => {
        const asked = db.transaction(store).objectStore(store).getAll();
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => fail(asked.error);
      });
    } finally {
      db.close();
    }
  }

  function told() {
    if (news) news.postMessage("changed");
    if (self.dispatchEvent && self.document) self.dispatchEvent(new Event("queue-changed"));
  }

  function uid() {
    return [...crypto.getRandomValues(new Uint8Array(16))].map((n) => n.toString(16).padStart(2, "0")).join("");
  }

  const waiting = () => all("waiting");
  const kept = async () => (await all("kept")).reverse();
  const add = (items) => change(["waiting"], (store) => items.forEach((item) => store.add(item)));
  const put = (item) => change(["waiting"], (store) => store.put(item));
  const drop = (item) => change(["waiting"], (store) => store.delete(item.order));

  async function acknowledged(item, answer) {
    const told = { uid: item.uid, job: answer.job, title: item.title, number: answer.number, sentence: answer.sentence,
      clock: answer.clock, warnings: answer.warnings };
    const old = (await kept()).slice(LAST - 1);
    try {
      await change(["waiting", "kept"], (wait, keep) => {
        wait.delete(item.order);
        old.forEach((one) => keep.delete(one.order));
        keep.add(told);
      });
    } catch {
      await drop(item); // no room to tell of it; the log has it
    }
  }

  async function ask(path, ms, more) {
    const end = new AbortController(), timer = setTimeout(() => end.abort(), ms);
    try {
      const answer = await fetch(path, { ...more, signal: end.signal, cache: "no-store", redirect: "error" });
      const text = await answer.text();
      let told = {};
      try { told = JSON.parse(text); } catch { /* not ours: a proxy, or the gate */ }
      return { status: answer.status, told };
    } catch {
      return { status: 0, told: {} };
    } finally {
      clearTimeout(timer);
    }
  }

  // Who came in, the form's token, and how far this phone's clock is off: measured to the middle of the way.
  // Without them, `how` says what is in the way.
  async function pass() {
    const left = Date.now(), { status, told } = await ask("/token", CLOCK, {}), back = Date.now();
    if (status !== 200 || !told.csrf) return { how: wayOf(status) };
    return { ...told, how: "", off_s: Math.round((left + back) / 2000 - told.now) };
  }

  // "out": come in again. "away": the log is not to be had now. "later": no signal, or a page of somebody else.
  function wayOf(status) {
    if (status === 401) return "out";
    return status && status !== 200 ? "away" : "later";
  }

  function send(item, by) {
    const facts = { job: item.job, who: item.who, off_s: by.off_s, typed: item.typed || item.made };
    if (item.what === "photo") {
      const query = new URLSearchParams({ ...facts, ...item.texts, name: item.name });
      const ms = PHOTO_MS + item.blob.size / BYTES_PER_MS;
      return ask(`/sent/photo/${item.uid}?${query}`, ms, { method: "POST", headers: { "x-csrf": by.csrf }, body: item.blob });
    }
    const body = JSON.stringify({ ...facts, uid: item.uid, kind: item.kind, texts: item.texts, now: !!item.now });
    return ask("/sent", ENTRY_MS, {
      method: "POST", headers: { "x-csrf": by.csrf, "content-type": "application/json" }, body,
    });
  }

  // All that may be sent, in order. Ends at the first that gets no answer. Answers how it ended.
  async function sendAll() {
    const items = await waiting();
    if (!items.length) return "";
    let by = await pass();
    if (by.how) return by.how;
    for (const item of items) {
      if (item.state === "asks" || item.who !== by.who) continue;
      let { status, told } = await send(item, by);
      if (status === 403) {
        by = await pass();
        if (by.how) return by.how;
        if (item.who !== by.who) continue;
        ({ status, told } = await send(item, by));
      }
      if (status === 200 && told.kept) await acknowledged(item, told);
      else if (status === 409) continue;
      else if ([413, 500].includes(status) || (status === 422 && told.said)) await put({ ...item, state: "asks", said: asked(status, told) });
      else return wayOf(status);
    }
    return "";
  }

  function asked(status, told) {
    if (status === 422) return told;
    return { said: status === 413 ? "It is too large for the log." : "The program failed at this one. It is not in the log. Send it again later, or tell the owner." };
  }

  // One tab sends; where there are no locks, the log keeps what comes twice only once.
  async function flush() {
    try {
      if (!navigator.locks) return await sendAll();
      return await navigator.locks.request("finishlog-send", { ifAvailable: true }, (lock) => (lock ? sendAll() : "busy"));
    } catch {
      return "stuck"; // this phone's store cannot be read or written
    }
  }

  return { add, all, drop, flush, kept, news, pass, put, uid, waiting };
})();
