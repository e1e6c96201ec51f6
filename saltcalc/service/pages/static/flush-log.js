// Keeps the log in this browser and in the address of the page; the service keeps nothing of it.
"use strict";
const KEY = "flush-log", ADVICE = "flush-log-advice", WAITING = "flush-log-waiting";
const form = document.getElementById("log");
const told = document.getElementById("kept");
const medium = document.getElementById("medium");
const rows = () => [...form.querySelectorAll(".entry")];

const entries = () => [...new FormData(form)].filter(([, value]) => value !== "");
const isMedium = list => list.some(([name]) => name.startsWith("/") && !name.startsWith("/readings/"));

function packed(list) {
  const bytes = new TextEncoder().encode(JSON.stringify(list));
  const text = btoa(Array.from(bytes, each => String.fromCharCode(each)).join(""));
  return text.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

function unpacked(text) {
  try {
    const bytes = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
    const list = JSON.parse(new TextDecoder().decode(Uint8Array.from(bytes, each => each.charCodeAt(0))));
    return list.filter(each => Array.isArray(each) && each.length === 2 && each.every(part => typeof part === "string"));
  } catch {
    return [];
  }
}

// A browser that keeps nothing still has the address.
function remember(key, text) {
  try {
    localStorage.setItem(key, text);
    return true;
  } catch {
    return false;
  }
}

function remembered(key) {
  try {
    return localStorage.getItem(key) || "";
  } catch {
    return "";
  }
}

function keep() {
  const list = entries();
  if (!isMedium(list)) return;
  const text = packed(list);
  if (remember(KEY, text)) told.textContent = form.dataset.kept;
  history.replaceState(null, "", `${location.pathname}#${text}`);
}

function addRow() {
  const last = rows().at(-1), place = rows().length;
  const row = last.cloneNode(true);
  for (const each of row.querySelectorAll("select, .fault")) each.remove();
  for (const input of row.querySelectorAll("input")) {
    input.value = "";
    input.removeAttribute("aria-invalid");
    input.removeAttribute("aria-describedby");
    input.name = input.name.replace(/\/\d+\//, `/${place}/`);
    input.id = input.id.replace(/-\d+-/, `-${place}-`);
  }
  for (const label of row.querySelectorAll("label")) label.htmlFor = label.htmlFor.replace(/-\d+-/, `-${place}-`);
  row.querySelector(".number").textContent = place + 1;
  last.after(row);
  return row;
}

function fill(list) {
  for (const [name, value] of list) {
    const reading = name.match(/^\/readings\/(\d{1,2})\/[a-z_]+$/);
    while (reading && rows().length <= Number(reading[1]) && rows().length < 50) addRow();
    const field = name.startsWith("/") && !reading ? null : form.elements.namedItem(name);
    if (field && "value" in field) {
      field.value = value;
    } else if (!reading) {
      const hidden = document.createElement("input");
      Object.assign(hidden, { type: "hidden", name, value });
      medium.append(hidden);
    }
  }
  const empty = document.getElementById("empty");
  if (empty) empty.hidden = true;
}

// What was entered before stands behind a line, so that the next row is near the advice.
function fold() {
  const all = rows(), filled = row => [...row.querySelectorAll("input")].some(each => each.value);
  const open = all.findIndex(row => !filled(row) || row.querySelector("[aria-invalid]"));
  const before = all.slice(0, open < 0 ? -1 : open);
  if (!before.length) return;
  const box = document.createElement("details"), line = document.createElement("summary"), next = all[before.length];
  box.className = "earlier";
  line.textContent = `${form.dataset.earlier} (${before.length})`;
  for (const select of all[0].querySelectorAll("select")) {
    const column = select.closest(".row").classList[1];
    next.querySelector(`.${column} .figure`).append(select);
  }
  all[0].before(box);
  box.append(line, ...before);
}

function advise(text) {
  const box = document.createElement("section"), title = document.createElement("h2"), now = document.createElement("p");
  box.className = "todo";
  title.textContent = form.dataset.now;
  now.textContent = text;
  box.append(title, now);
  document.querySelector("h1").after(box);
}

let waiting = 0;
async function send() {
  clearTimeout(waiting);
  keep();
  try {
    await fetch("/healthz", { cache: "no-store" });
    form.submit();
  } catch {
    remember(WAITING, "1");
    told.textContent = form.dataset.waiting;
    waiting = setTimeout(send, 15000);
  }
}

const here = location.hash.slice(1) || remembered(KEY);
const resumed = !form.dataset.given && isMedium(unpacked(here));
if (resumed) {
  fill(unpacked(here));
  if (here === remembered(KEY) && remembered(ADVICE)) advise(remembered(ADVICE));
}
fold();
keep();
if (form.dataset.given) {
  remember(WAITING, "");
  remember(ADVICE, document.querySelector(".todo p")?.textContent ?? "");
}
if (resumed && remembered(WAITING)) send();
form.addEventListener("input", keep);
form.addEventListener("submit", event => {
  if (event.submitter?.name) return;
  event.preventDefault();
  send();
});
addEventListener("online", () => waiting && send());
form.addEventListener("click", event => {
  if (!event.target.matches(".now")) return;
  const now = new Date();
  now.setMinutes(now.getMinutes() - now.getTimezoneOffset());
  event.target.closest(".figure").querySelector("input").value = now.toISOString().slice(0, 16);
  keep();
});
document.getElementById("more").addEventListener("click", () => addRow().querySelector("input").focus());
document.getElementById("clear").addEventListener("click", () => {
  if (!confirm(form.dataset.sure)) return;
  for (const each of [KEY, ADVICE, WAITING]) localStorage.removeItem(each);
  location.assign("/flush-log");
});
for (const button of form.querySelectorAll("button[hidden]")) button.hidden = false;
if ("serviceWorker" in navigator) {
  navigator.serviceWorker.register("/pages/flush-log-offline.js", { scope: "/flush-log" }).catch(() => {});
}
