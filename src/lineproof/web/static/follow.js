// The page follows the show on disk. The server tells over an event stream when the show was worked
// out anew; the page is fetched again and its main part put in place of the old one.

const SILENT_MS = 10000; // The server is heard every 4 s; a dead link raises no error by itself.
let source = null;
let heard = Date.now();
let since = document.body.dataset.since;
let wanted = false;
let busy = false;

export function follow(started) {
  const open = () => {
    source?.close();
    heard = Date.now();
    source = new EventSource("/events?since=" + encodeURIComponent(since));
    source.addEventListener("beat", () => said(""));
    source.addEventListener("worked", (event) => {
      said("");
      since = event.lastEventId;
      wanted = true;
      renew(started);
    });
    source.addEventListener("error", () => said("The server is not heard; this page shows what was last known."));
  };
  // A browser keeps six connections to one host; a page nobody sees must not hold one.
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) { source?.close(); source = null; } else open();
  });
  setInterval(() => { if (source && Date.now() - heard > SILENT_MS) open(); }, 1000);
  if (!document.hidden) open();
}

function said(text) {
  if (!text) heard = Date.now();
  const line = document.getElementById("line");
  line.textContent = text;
  line.hidden = !text;
}

async function renew(started) {
  if (busy) return;
  busy = true;
  while (wanted) {
    wanted = false;
    try {
      const answer = await fetch(location.href, { signal: AbortSignal.timeout(20000) });
      put(new DOMParser().parseFromString(await answer.text(), "text/html"), started);
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

function put(fresh, started) {
  const was = place();
  document.title = fresh.title;
  document.querySelector(".show").replaceWith(fresh.querySelector(".show"));
  document.getElementById("main").replaceWith(fresh.getElementById("main"));
  back(was);
  if (was.plan) document.getElementById("plan")?.setAttribute("data-width", was.plan);
  started();
  settle(was);
  document.body.dataset.renewed = String(Number(document.body.dataset.renewed || 0) + 1);
}
