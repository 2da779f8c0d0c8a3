// The page follows the show on disk. The server tells over an event stream when the show was worked
// out anew; the page is fetched again and its main part put in place of the old one.
//
// A browser keeps six connections to one host, and a stream holds one for as long as it is open. So
// of all pages that are open one leads: it holds the stream and passes on what it hears. When it is
// closed, the next one leads.

const SILENT_MS = 10000; // The server is heard every 4 s; a dead link raises no error by itself.
let source = null;
let heard = Date.now();
let since = document.body.dataset.since;
let wanted = false;
let busy = false;
let far = ""; // How far the server is with what takes minutes.
let started = () => {};
const others = "BroadcastChannel" in window ? new BroadcastChannel("follow") : null;

export function follow(start) {
  started = start;
  others?.addEventListener("message", (event) => hear(event.data));
  setInterval(() => {
    if (Date.now() - heard < SILENT_MS) return;
    told("");
    if (source) lead();
  }, 1000);
  // Held until the page is closed; whoever waits for it leads next.
  if (navigator.locks && others) navigator.locks.request("follow", () => new Promise(lead));
  else lead();
}

function lead() {
  source?.close();
  heard = Date.now();
  source = new EventSource("/events?since=" + encodeURIComponent(since));
  const pass = (id, stage, far) => { others?.postMessage({ id, stage, far }); hear({ id, stage, far }); };
  source.addEventListener("beat", (event) => pass(event.lastEventId, ""));
  source.addEventListener("worked", (event) => pass(event.lastEventId, JSON.parse(event.data).stage));
  source.addEventListener("far", (event) => pass(event.lastEventId, "", JSON.parse(event.data)));
  source.addEventListener("error", () => pass("", ""));
}

// What the leading page hears: which value is the newest, or "" that the server is gone. A page about
// the network or faults stays as it is until these are worked out, rather than stand empty.
function hear({ id, stage, far: now }) {
  told(id);
  if (!id) return;
  heard = Date.now();
  if (now !== undefined) { far = now; toldFar(); }
  if (id === since) return;
  since = id;
  if (stage === "spots" && document.querySelector("main [data-needs]")) return;
  wanted = true;
  renew();
}

function told(id) {
  said(id ? "" : "The server is not heard; this page shows what was last known.");
}

function toldFar() {
  const told = document.getElementById("far");
  if (told) told.textContent = far && `(${far})`;
}

function said(text) {
  const line = document.getElementById("line");
  line.textContent = text;
  line.hidden = !text;
}

async function renew() {
  if (busy) return;
  busy = true;
  while (wanted) {
    wanted = false;
    try {
      const answer = await fetch(location.href, { signal: AbortSignal.timeout(20000) });
      put(new DOMParser().parseFromString(await answer.text(), "text/html"));
    } catch (error) {
      said("The page could not be renewed; it shows what was last known.");
    }
  }
  busy = false;
}

// Where people are: what they typed, what they opened, how far they scrolled, where the keys go.
function place() {
  const focus = document.activeElement?.id || "";
  return {
    focus,
    at: [window.scrollX, window.scrollY],
    fields: [...document.querySelectorAll("main input[id], main select[id]")].map((e) => [e.id, e.value]),
    open: [...document.querySelectorAll("details[open][id]")].map((e) => e.id),
    sheet: ["sheet"].map((id) => document.getElementById(id)).filter(Boolean).map((e) => [e.id, e.scrollLeft, e.scrollTop]),
    plan: document.getElementById("plan")?.getAttribute("width"),
    selection: document.activeElement?.selectionStart ?? null,
  };
}

function back(was) {
  for (const [id, value] of was.fields) {
    const field = document.getElementById(id);
    if (field) field.value = value;
  }
  for (const id of was.open) document.getElementById(id)?.setAttribute("open", "");
}

function settle(was) {
  for (const [id, left, top] of was.sheet) document.getElementById(id)?.scrollTo(left, top);
  window.scrollTo(...was.at);
  const field = was.focus && document.getElementById(was.focus);
  if (field && field !== document.activeElement) {
    field.focus({ preventScroll: true });
    if (was.selection !== null && field.setSelectionRange && field.type !== "number") {
      try { field.setSelectionRange(was.selection, was.selection); } catch { /* a field without text */ }
    }
  }
}

function put(fresh) {
  const was = place();
  document.title = fresh.title;
  document.querySelector(".show").replaceWith(fresh.querySelector(".show"));
  document.getElementById("main").replaceWith(fresh.getElementById("main"));
  back(was);
  if (was.plan) document.getElementById("plan")?.setAttribute("data-width", was.plan);
  started();
  toldFar();
  settle(was);
  document.body.dataset.renewed = String(Number(document.body.dataset.renewed || 0) + 1);
}
