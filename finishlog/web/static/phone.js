"use strict";
// Forms that wait on the phone where there is no signal, and the strip that says so. Without it each form is sent at once.
(() => {
  const NOW = { out: "come in again to send", away: "the log cannot be used now", stuck: "this phone's store cannot be written" };
  const EVERY_MS = 15000, who = document.body.dataset.who || "";
  const worker = "serviceWorker" in navigator ? navigator.serviceWorker : null;
  let how = "";

  // a form goes into the phone's store first, and only then is anything said

  function moment() {
    const now = new Date(), two = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0"), off = -now.getTimezoneOffset();
    const day = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
    const zone = `${off < 0 ? "-" : "+"}${two(off / 60)}:${two(off % 60)}`;
    return `${day}T${two(now.getHours())}:${two(now.getMinutes())}${zone}`;
  }

  function textsOf(form) {
    const texts = {};
    for (const [key, value] of new FormData(form)) {
      if (typeof value === "string" && !["csrf", "uid", "smaller"].includes(key)) texts[key] = value;
    }
    return texts;
  }

  function labelsOf(form) {
    const labels = {};
    for (const field of form.elements) {
      if (field.name && field.labels && field.labels[0]) labels[field.name] = field.labels[0].textContent.trim();
    }
    return labels;
  }

  async function itemsOf(form) {
    const { wait, job, kind, title } = form.dataset;
    const texts = textsOf(form), made = moment();
    const now = "at" in texts && ["", "now"].includes(texts.at.trim().toLowerCase()); // by this phone's clock, nobody typed it
    if (now) texts.at = made;
    const one = { who, job, title, what: wait, kind, texts, now, labels: labelsOf(form), made, state: "waiting" };
    if (wait !== "photo") return [{ ...one, uid: queue.uid() }]; // never the page's own: it may be a copy kept for days
    const most = Number(form.dataset.most) || Infinity, items = [];
    const files = [...form.querySelectorAll("input[type=file]")].flatMap((input) => [...input.files]);
    if (!files.length) throw new Error("Choose a photo first.");
    for (const file of files) {
      const blob = await photoOf(file, form.elements.smaller && form.elements.smaller.checked);
      if (blob.size > most) throw new Error(`${file.name} has ${Math.ceil(blob.size / 2 ** 20)} MB, ${most / 2 ** 20} MB is the limit.`);
      items.push({ ...one, uid: queue.uid(), name: file.name, blob });
    }
    return items;
  }

  async function photoOf(file, smaller) {
    let bytes;
    try { bytes = await file.arrayBuffer(); } catch { throw new Error(`${file.name} cannot be read.`); }
    if (smaller) bytes = await small(bytes, file.type);
    return new Blob([bytes], { type: file.type });
  }

  // At most 2048 pixels, with the camera's own facts; a picture that is no JPEG is left as it is.
  async function small(bytes, type) {
    const facts = exifOf(new DataView(bytes));
    if (type !== "image/jpeg" || !facts) return bytes;
    const image = await createImageBitmap(new Blob([bytes], { type })), share = Math.min(1, 2048 / Math.max(image.width, image.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(image.width * share);
    canvas.height = Math.round(image.height * share);
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    const drawn = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
    if (!drawn || drawn.size >= bytes.byteLength) return bytes;
    const made = await drawn.arrayBuffer();
    return new Blob([made.slice(0, 2), upright(facts), made.slice(2)]).arrayBuffer();
  }

  function exifOf(view) {
    for (let at = 2; at + 10 < view.byteLength && view.getUint8(at) === 0xff && view.getUint8(at + 1) !== 0xda; at += 2 + view.getUint16(at + 2)) {
      if (view.getUint8(at + 1) === 0xe1 && view.getUint32(at + 4) === 0x45786966) return view.buffer.slice(at, at + 2 + view.getUint16(at + 2));
    }
    return null;
  }

  // The pixels were turned when they were drawn.
  function upright(facts) {
    const view = new DataView(facts), start = 10, little = view.getUint16(start) === 0x4949;
    const first = start + view.getUint32(start + 4, little), count = view.getUint16(first, little);
    for (let n = 0; n < count; n++) {
      const at = first + 2 + 12 * n;
      if (view.getUint16(at, little) === 0x0112) view.setUint16(at + 8, 1, little);
    }
    return facts;
  }

  async function taken(event) {
    const form = event.target;
    if (!form.matches || !form.matches("form[data-wait]") || !self.indexedDB || !who) return;
    event.preventDefault();
    const buttons = [...form.querySelectorAll("button")];
    buttons.forEach((button) => (button.disabled = true));
    try {
      await queue.add(await itemsOf(form));
    } catch (failure) {
      buttons.forEach((button) => (button.disabled = false));
      notKept(form, failure);
      return;
    }
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
    const opens = self.caches && await caches.match("/waiting"); // without a signal, too
    if (opens) location.assign("/waiting");
    else await stay(form, buttons);
  }

  // The phone's own store refused it; what is wrong with the form is no fault of the store.
  function notKept(form, failure) {
    if (!(failure instanceof DOMException)) return say(form, failure.message);
    const why = failure.name === "QuotaExceededError" ? "its store is full" : "its store cannot be written";
    say(form, `Not kept on this phone: ${why}. What you typed is still here. Send what waits or free space, or:`);
    const at_once = document.createElement("button");
    at_once.type = "button";
    at_once.textContent = "Send it now, without keeping it here";
    at_once.addEventListener("click", () => straight(form, at_once));
    form.querySelector("[data-said]").append(at_once);
  }

  // As without script: the log's own page says what came of it.
  async function straight(form, button) {
    const by = await queue.pass();
    if (by.how) {
      const line = button.nextElementSibling || button.parentNode.appendChild(document.createElement("span"));
      line.textContent = "That cannot be sent now. It is neither in the log nor kept on this phone.";
      return;
    }
    form.elements.csrf.value = by.csrf;
    if (form.elements.uid) form.elements.uid.value = queue.uid(); // never the page's own, as above
    form.submit();
  }

  // No page is kept here: without a signal, leaving this one would close what sends. More can be logged on it meanwhile.
  async function stay(form, buttons) {
    form.reset();
    let touched = false;
    form.addEventListener("input", () => (touched = true), { once: true });
    buttons.forEach((button) => (button.disabled = false));
    say(form, "Waits on this phone, not in the log yet. Leave this page open: it is sent when the signal is back.", "warn");
    const sent = async () => {
      if ((await queue.waiting()).some((item) => item.who === who && item.state !== "asks")) return;
      self.removeEventListener("queue-changed", sent);
      if (touched) say(form, "What waited was sent. Waiting says what came of it.", "ok"); // nothing moves under the hand
      else location.assign("/waiting");
    };
    self.addEventListener("queue-changed", sent);
    await flush();
  }

  function say(form, text, kind = "bad") {
    let line = form.querySelector("[data-said]");
    if (!line) {
      line = document.createElement("p");
      line.dataset.said = "";
      line.setAttribute("role", "alert");
      form.prepend(line);
    }
    line.className = kind;
    line.textContent = text;
    line.scrollIntoView({ block: "center" });
  }

  // `Tue 7:40a`, `Jun 16 7:40a`: a moment as the other pages write it
  function said(when, day) {
    const hour = when.getHours(), minutes = String(when.getMinutes()).padStart(2, "0");
    return `${when.toLocaleDateString("en-US", day)} ${hour % 12 || 12}:${minutes}${hour < 12 ? "a" : "p"}`;
  }

  // the strip at the foot of each page

  async function strip() {
    const items = await queue.waiting(), mine = items.filter((item) => item.who === who);
    const asks = mine.filter((item) => item.state === "asks").length, parts = [];
    if (mine.length) parts.push(`${mine.length} waiting on this phone`);
    if (asks) parts.push(`${asks} to mend`);
    if (items.length > mine.length) parts.push(`${items.length - mine.length} of somebody else`);
    if (mine.length && NOW[how]) parts.push(NOW[how]);
    const from = await age();
    if (from) parts.push(`no signal, as of ${said(new Date(from), { weekday: "short" })}`);
    let line = document.getElementById("strip");
    if (!parts.length) return line && line.remove();
    if (!line) {
      line = document.createElement("p");
      line.id = "strip";
      line.className = "strip";
      line.setAttribute("role", "status");
      document.body.append(line);
    }
    const link = document.createElement("a");
    link.href = how === "out" ? "/in" : "/waiting";
    link.textContent = parts.join(" · ");
    if (line.textContent !== link.textContent) line.replaceChildren(link);
  }

  function age() {
    return new Promise((done) => {
      if (!worker || !worker.controller) return done(0);
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = (event) => done(event.data);
      setTimeout(() => done(0), 1000);
      worker.controller.postMessage("age", [port2]);
    });
  }

  async function flush() {
    how = await queue.flush();
    if (how === "out" && self.caches) await caches.delete("pages"); // kept only for who is in
    if (["later", "away"].includes(how) && worker) worker.ready.then((ready) => ready.sync && ready.sync.register("send")).catch(() => {});
    await strip();
    self.dispatchEvent(new Event("queue-changed"));
    return how;
  }

  document.addEventListener("submit", taken);
  document.addEventListener("submit", (event) => {
    if (event.target.getAttribute("action") === "/out" && self.caches) caches.delete("pages");
  });
  self.addEventListener("pageshow", (event) => {
    if (event.persisted) document.querySelectorAll("form[data-wait] button").forEach((button) => (button.disabled = false));
  });
  document.querySelectorAll("[data-script]").forEach((part) => (part.hidden = false));
  if (!self.indexedDB) return;
  if (location.pathname.startsWith("/in") && self.caches) caches.delete("pages");
  if (!who) return;
  self.phone = { flush, moment, said, who, how: () => how };
  if (queue.news) queue.news.onmessage = () => { strip(); self.dispatchEvent(new Event("queue-changed")); };
  self.addEventListener("queue-changed", strip);
  self.addEventListener("online", flush);
  setInterval(async () => { if ((await queue.waiting()).length) flush(); }, EVERY_MS);
  if (worker) {
    worker.register("/worker.js").catch(() => {});
    worker.ready.then((ready) => ready.active.postMessage("keep"));
  }
  flush();
})();
