"use strict";
// A little help for pages that work without it: no reload, how far the work is, and
// readings entered without a network, kept here and sent later, each once.

const QUEUE = "emcforecast.readings";
const POLL_MS = 600;
const SEND_EVERY_MS = 20000;
const main = () => document.getElementById("main");

function queued() {
  try { return JSON.parse(localStorage.getItem(QUEUE)) || []; } catch { return []; }
}

function keep(list) {
  localStorage.setItem(QUEUE, JSON.stringify(list));
  showQueue();
}

function textIn(tag, text) {
  const element = document.createElement(tag);
  element.textContent = text;
  return element;
}

function showQueue(note) {
  const list = queued();
  const line = document.getElementById("queue");
  const box = document.getElementById("waiting");
  const words = list.length === 1 ? "1 reading waits" : `${list.length} readings wait`;
  line.textContent = note || `${words} on this device and will be sent when the server can be reached.`;
  line.hidden = !list.length && !note;
  if (!box) return;
  box.hidden = !list.length;
  const shown = box.querySelector("ul");
  shown.replaceChildren(...list.map((one) => {
    const item = textIn("li", `${one.stack}: ${one.value} (${one.time.replace("T", " ")})`);
    if (one.refused) item.append(textIn("p", one.refused));
    const drop = textIn("button", "Throw it away");
    drop.type = "button";
    drop.className = "quiet";
    drop.addEventListener("click", () => keep(queued().filter((r) => r.entry !== one.entry)));
    item.append(drop);
    return item;
  }));
}

async function formKey() {
  const answer = await fetch("/session.json", { headers: { Accept: "application/json" } });
  if (!answer.ok) throw new Error("no session");
  return (await answer.json()).form_key;
}

async function send(one, key) {
  const body = new URLSearchParams(one);
  body.delete("refused");
  const answer = await fetch("/yard/reading", {
    method: "POST", body, headers: { Accept: "application/json", "X-Form-Key": key },
  });
  if (answer.status === 422) return (await answer.json()).refused;
  if (!answer.ok) throw new Error("not now");
  return "";
}

let sending = false;
async function flush() {
  if (sending || !queued().some((one) => !one.refused)) return;
  sending = true;
  let sent = 0;
  try {
    const key = await formKey();
    for (const one of queued()) {
      if (one.refused) continue;
      const refused = await send(one, key);
      const rest = queued().filter((r) => r.entry !== one.entry);
      if (refused) rest.push({ ...one, refused });
      else sent += 1;
      keep(rest);
    }
  } catch {
    // Not reached: the readings stay, and are sent at another time.
  } finally {
    sending = false;
  }
  if (sent) showQueue(sent === 1 ? "1 reading that waited was sent." : `${sent} readings that waited were sent.`);
}

function newEntry() {
  const bytes = crypto.getRandomValues(new Uint8Array(8));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}

function wallClock() {
  const now = new Date();
  return new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 16);
}

async function noteReading(form) {
  const one = Object.fromEntries(new FormData(form));
  delete one.form_key;
  one.entry = newEntry();
  one.time = one.time || wallClock();
  try {
    const refused = await send(one, await formKey());
    if (!refused) { await show(`/yard/reading?done=${one.entry}&stack=${encodeURIComponent(one.stack)}`, true); return; }
    let line = form.parentNode.querySelector(".refused");
    if (!line) { line = textIn("p", ""); line.className = "refused"; line.setAttribute("role", "alert"); form.before(line); }
    line.textContent = `Not yet: ${refused}`;
    line.scrollIntoView({ block: "center" });
  } catch {
    keep([...queued(), one]);
    form.reset();
    document.getElementById("waiting")?.scrollIntoView({ block: "center" });
  }
}

let turn = 0;
async function show(address, push) {
  const mine = ++turn;
  main().setAttribute("aria-busy", "true");
  let answer;
  try {
    answer = await fetch(address, { headers: { Accept: "text/html" } });
  } catch {
    location.assign(address);
    return;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (mine !== turn) return;
  document.title = page.title;
  document.querySelector("nav.bar").replaceWith(page.querySelector("nav.bar"));
  main().replaceWith(page.getElementById("main"));
  if (push) { history.pushState({}, "", answer.url); scrollTo(0, 0); }
  main().focus({ preventScroll: true });
  showQueue();
  follow(mine);
}

async function follow(mine) {
  const box = document.querySelector("[data-job]");
  if (!box) return;
  for (;;) {
    await new Promise((done) => setTimeout(done, POLL_MS));
    if (mine !== turn || !document.contains(box)) return;
    let job;
    try {
      job = await (await fetch(`/job/${box.dataset.job}.json`)).json();
    } catch { continue; }
    if (job.state === "waiting" || job.state === "working") {
      const bar = box.querySelector("progress");
      bar.value = job.fraction;
      bar.textContent = `${Math.round(100 * job.fraction)} %`;
      const said = box.querySelector(".said");
      const words = job.what || "waiting for its turn";
      if (said.textContent !== words) said.textContent = words;
      continue;
    }
    if (job.state === "stopped") { box.querySelector(".said").textContent = job.message; return; }
    show(location.href, false);
    return;
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.id === "reading") {
    event.preventDefault();
    noteReading(form);
  } else if (form.method === "get") {
    event.preventDefault();
    const fields = new URLSearchParams(new FormData(form, event.submitter));
    for (const [name, value] of [...fields]) if (!value) fields.delete(name);
    const address = new URL(form.action);
    address.search = fields;
    show(address.href, true);
  }
});
addEventListener("popstate", () => show(location.href, false));
addEventListener("online", flush);
setInterval(flush, SEND_EVERY_MS);

async function listKept() {
  const list = document.getElementById("kept-pages");
  if (!list || !self.caches) return;
  const pages = await (await caches.open("pages")).keys();
  list.replaceChildren(...pages.map((page) => {
    const link = textIn("a", decodeURIComponent(new URL(page.url).pathname + new URL(page.url).search));
    link.href = page.url;
    const item = document.createElement("li");
    item.append(link);
    return item;
  }));
}

showQueue();
flush();
follow(turn);
listKept();
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js");
