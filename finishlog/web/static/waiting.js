"use strict";
// The page of what waits on this phone: the list, what is asked of an item, and what the log has.
(() => {
  const list = document.getElementById("waiting"), done = document.getElementById("in-the-log");
  const line = document.getElementById("line"), again = document.getElementById("again");
  const HOW = {
    out: "Come in again, and it is sent.",
    later: "No signal. It is sent when the signal is back.",
    away: "The log cannot be used now. It is sent when it can.",
    stuck: "This phone's store cannot be written: free space on the phone. What waits is sent then.",
  };
  if (!self.phone) return;

  function made(name, text, kind) {
    const part = document.createElement(name);
    if (text) part.textContent = text;
    if (kind) part.className = kind;
    return part;
  }

  function shown(item) {
    const card = made("li", "", "card");
    card.append(made("strong", item.title), made("span", [item.name, when(item)].filter(Boolean).join(" · "), "muted"));
    if (item.who !== phone.who) card.append(made("span", `Waits for ${item.who} to come in.`, "warn"));
    else if (item.state === "asks") card.append(asks(item));
    else card.append(made("span", "Not in the log yet."));
    return card;
  }

  function when(item) {
    return phone.said(new Date(item.made), { month: "short", day: "numeric" });
  }

  // What is wrong, a field for each, and the same once more; or away with it, which is asked twice.
  function asks(item) {
    const form = made("form"), said = item.said || {}, doubts = said.doubts || [], wrongs = said.wrongs || {};
    for (const one of doubts) form.append(made("p", `? ${one}`, "warn"));
    if (!doubts.length && !Object.values(wrongs).length) form.append(made("p", said.said, "bad"));
    for (const [key, text] of Object.entries(wrongs)) {
      form.append(made("p", text, "bad"));
      if (key) form.append(...field(item, key, (item.labels || {})[key] || key));
    }
    if (said.needs_time) form.append(...field(item, "taken", "Taken, such as today 7a, or unknown"));
    else if (doubts.length) form.append(...field(item, "because", "Because"));
    const away = made("button", "Throw it away", "quiet");
    away.type = "button";
    away.addEventListener("click", () => {
      if (away.dataset.sure) queue.drop(item);
      away.dataset.sure = "1";
      away.textContent = "Really? It is not in the log";
    });
    form.append(made("button", "Send again"), away);
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const texts = { ...item.texts, ...Object.fromEntries(new FormData(form)) };
      const same = ["at", "taken"].every((key) => texts[key] === item.texts[key]);
      const anew = same ? {} : { now: false, typed: phone.moment() }; // a time is meant as of when it is typed
      await queue.put({ ...item, texts, ...anew, state: "waiting", said: null });
      phone.flush();
    });
    return form;
  }

  function field(item, key, title) {
    const label = made("label", title), input = made("input");
    input.id = `${item.uid}-${key}`;
    input.name = key;
    input.value = item.texts[key] || "";
    label.htmlFor = input.id;
    return [label, input];
  }

  function inTheLog(one) {
    const card = made("li", "", "card kept"), link = made("a", one.title);
    link.href = `/job/${one.job}?entry=${one.number}`;
    card.append(link, made("span", one.sentence, "ok"));
    if (one.clock) card.append(made("span", one.clock, "warn"));
    for (const text of one.warnings || []) card.append(made("span", text, "warn"));
    return card;
  }

  async function draw() {
    const items = await queue.waiting(), kept = await queue.kept();
    line.textContent = items.length ? HOW[phone.how()] || "It is being sent." : "Nothing waits.";
    const may = items.filter((item) => item.state !== "asks" && item.who === phone.who);
    if (items.length && !may.length) line.textContent = "";
    again.hidden = !may.length;
    if (list.contains(document.activeElement) && document.activeElement.matches("input")) return; // nothing moves under the hand
    list.replaceChildren(...items.map(shown));
    done.replaceChildren(...(kept.length ? kept.map(inTheLog) : [made("li", "Nothing from this phone yet.")]));
  }

  again.addEventListener("click", () => phone.flush());
  self.addEventListener("queue-changed", draw);
  draw();
})();
