// The room: breaking things by a click or by name, the drawing's size and place, looking for a name.
import { forget, rescue } from "./rescue.js";

const NEAR_PX = 12; // A cable is thin: the nearest one within so many pixels is meant.
const MOSTLY_WHITE = 160;
const NS = "http://www.w3.org/2000/svg";
let asked = 0;

export function room() {
  const plan = document.getElementById("plan");
  if (!plan) return;
  const sheet = document.getElementById("sheet");
  const form = document.getElementById("break");
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const field = document.getElementById("cut");
    if (field.value.trim()) change([...cuts(), field.value.trim()]);
    field.value = "";
  });
  document.getElementById("result").addEventListener("click", (event) => {
    const mend = event.target.closest("[data-mend]");
    const all = event.target.closest("#right");
    if (!mend && !all) return;
    event.preventDefault();
    change(all ? [] : cuts().filter((name) => name !== mend.dataset.mend));
  });
  // On a phone what is broken stands right under the drawing.
  if (matchMedia("(max-width: 760px)").matches) document.getElementById("others")?.removeAttribute("open");
  document.getElementById("others")?.addEventListener("click", (event) => {
    const other = event.target.closest("[data-break]");
    if (!other) return;
    event.preventDefault();
    toggle(other.dataset.break);
  });
  picture(plan);
  sizes(plan, sheet);
  drags(sheet, plan);
  const look = document.getElementById("look");
  look.addEventListener("submit", (event) => { event.preventDefault(); seek(document.getElementById("search").value); });
  document.getElementById("search").addEventListener("input", (event) => seek(event.target.value, true));
  show();
  rescue(asks(cuts()));
  const find = document.querySelector(".roompage").dataset.find;
  if (find && !plan.dataset.width) seek(find);
}

// The picture behind the room, hidden by whoever wants to; it stays so while this window is open.
function picture(plan) {
  const button = document.getElementById("backdrop");
  if (!button) return;
  const put = (hidden) => {
    plan.classList.toggle("bare", hidden);
    button.setAttribute("aria-pressed", String(!hidden));
  };
  put(sessionStorage.getItem("picture") === "hidden");
  button.addEventListener("click", () => {
    const hidden = !plan.classList.contains("bare");
    sessionStorage.setItem("picture", hidden ? "hidden" : "shown");
    put(hidden);
  });
  lightness(document.querySelector("#plan .backdrop").getAttribute("href")).then(
    (light) => plan.classList.toggle("onwhite", light > MOSTLY_WHITE),
    () => {}, // A picture that can't be drawn is none.
  );
}

// How light a picture is on the whole, 0 to 255: a drawing on white paper is turned round in the dark.
async function lightness(href) {
  const seen = new Image();
  seen.src = href;
  await seen.decode();
  const small = new OffscreenCanvas(24, 24).getContext("2d");
  small.fillStyle = "white"; // Where nothing is drawn, paper shows.
  small.fillRect(0, 0, 24, 24);
  small.drawImage(seen, 0, 0, 24, 24);
  const { data } = small.getImageData(0, 0, 24, 24);
  return data.reduce((sum, value, n) => sum + (n % 4 < 3 ? value : 0), 0) / (3 * 24 * 24);
}

const state = () => document.getElementById("broken");
const cuts = () => state().dataset.cuts.split(" ").filter(Boolean);

// What one fault does is known already, but for gaps and reasons: that is shown until all is there.
async function change(names) {
  const query = asks(names);
  const mine = ++asked;
  forget();
  let whole = false;
  history.replaceState(null, "", "/room" + (query ? "?" + query : ""));
  const put = async (more, last) => {
    const answer = await fetch("/room/broken?" + query + more, { signal: AbortSignal.timeout(20000) });
    const text = await answer.text();
    if (mine !== asked || (whole && !last)) return;
    whole ||= last;
    const fresh = new DOMParser().parseFromString(text, "text/html");
    state().replaceWith(fresh.getElementById("broken"));
    document.getElementById("choose").hidden = true;
    show();
  };
  try {
    if (names.length === 1) await put("&soon=1", false);
    await put("", true);
    if (mine === asked) afterPaint(() => mine === asked && rescue(query));
  } catch (error) {
    if (mine !== asked) return;
    const told = document.createElement("p");
    told.className = "loud";
    told.textContent = "The server did not answer: nothing is known of this fault. Try again.";
    state().prepend(told);
  }
}

const asks = (names) => [...new Set(names)].map((name) => "cut=" + encodeURIComponent(name)).join("&");

// What it does is seen before the rescue is asked for.
function afterPaint(then) {
  requestAnimationFrame(() => setTimeout(then, 0));
}

// Marks in the drawing what the result says: dead, cut, and how many lines each unit misses.
function show() {
  const { dead, cut, ends } = state().dataset;
  const gone = new Set(dead.split(" "));
  const broken = new Set(cut.split(" "));
  const mine = new Set(cuts());
  const silent = new Map();
  for (const pair of ends.split(" ").filter(Boolean)) {
    const [end, lines] = pair.split("=");
    const unit = end.split(/[:|?]/)[0];
    silent.set(unit, Math.max(silent.get(unit) || 0, Number(lines)));
  }
  for (const old of document.querySelectorAll("#plan .tell")) old.remove();
  for (const unit of document.querySelectorAll("#plan .unit")) {
    const name = unit.dataset.name;
    unit.classList.toggle("dead", gone.has(name));
    unit.classList.toggle("hit", mine.has(name));
    const lines = gone.has(name) ? 0 : silent.get(name) || 0;
    unit.classList.toggle("deaf", lines > 0);
    if (lines) unit.append(tell(unit, `${lines} silent`));
  }
  for (const other of document.querySelectorAll("#others [data-break]")) {
    other.classList.toggle("dead", mine.has(other.dataset.break));
  }
  for (const place of document.querySelectorAll("#plan .place")) {
    place.classList.toggle("dead", broken.has("place:" + place.dataset.name));
  }
  for (const line of document.querySelectorAll("#plan line[data-cut]")) {
    const names = line.dataset.cut.split(" ").filter(Boolean);
    line.classList.toggle("dead", names.length > 0 && names.every((name) => broken.has(name) || mine.has(name)));
  }
}

function tell(unit, words) {
  const text = document.createElementNS(NS, "text");
  text.setAttribute("class", "tell");
  text.setAttribute("x", "5");
  text.setAttribute("y", "28.5");
  text.textContent = words;
  return text;
}

// What a click means: a unit or place under it, else the nearest cable or duct.
function meant(event, plan) {
  const direct = event.target.closest("#plan .unit[data-cut], #plan .place .title");
  if (direct) return direct.closest("[data-cut]");
  if (event.target.closest("#plan .place")) return null;
  const matrix = plan.getScreenCTM().inverse();
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
  const near = NEAR_PX / (plan.getBoundingClientRect().width / plan.viewBox.baseVal.width);
  let best = null;
  let least = near;
  for (const line of plan.querySelectorAll("line[data-cut]")) {
    if (!line.dataset.cut) continue;
    const away = distance(at, line) - (line.classList.contains("duct") ? 0 : 1);
    if (away < least) { best = line; least = away; }
  }
  return best;
}

function distance(at, line) {
  const [x1, y1, x2, y2] = ["x1", "y1", "x2", "y2"].map((key) => Number(line.getAttribute(key)));
  const [dx, dy] = [x2 - x1, y2 - y1];
  const part = Math.min(1, Math.max(0, ((at.x - x1) * dx + (at.y - y1) * dy) / (dx * dx + dy * dy || 1)));
  return Math.hypot(at.x - x1 - part * dx, at.y - y1 - part * dy);
}

function toggle(name) {
  const now = cuts();
  change(now.includes(name) ? now.filter((each) => each !== name) : [...now, name]);
}

function pick(thing) {
  const names = thing?.dataset.cut.split(" ").filter(Boolean) || [];
  if (names.length === 1) toggle(names[0]);
  if (names.length > 1) choose(names, thing.dataset.says);
}

// Several runs lie there: which one is meant is asked.
function choose(names, says) {
  const box = document.getElementById("choose");
  box.replaceChildren(`${says}. Break `);
  for (const name of names) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = name;
    button.addEventListener("click", () => toggle(name));
    box.append(button);
  }
  box.hidden = false;
}

function sizes(plan, sheet) {
  const [, , wide, high] = plan.getAttribute("viewBox").split(" ").map(Number);
  // The whole room, unless its letters would be too small to read.
  const fit = () => Math.max(Math.min(sheet.clientWidth - 4, (window.innerHeight * 0.74 * wide) / high), Math.min(sheet.clientWidth - 4, wide), 320);
  const set = (width) => {
    const middle = [(sheet.scrollLeft + sheet.clientWidth / 2) / plan.clientWidth, (sheet.scrollTop + sheet.clientHeight / 2) / plan.clientHeight];
    const now = Math.min(Math.max(width, 200), wide * 6);
    plan.setAttribute("width", String(Math.round(now)));
    plan.setAttribute("height", String(Math.round((now * high) / wide)));
    sheet.scrollTo(middle[0] * plan.clientWidth - sheet.clientWidth / 2, middle[1] * plan.clientHeight - sheet.clientHeight / 2);
  };
  const by = (factor) => set(Number(plan.getAttribute("width")) * factor);
  document.getElementById("larger").addEventListener("click", () => by(1.35));
  document.getElementById("smaller").addEventListener("click", () => by(1 / 1.35));
  document.getElementById("whole").addEventListener("click", () => set(fit()));
  sheet.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: [-60, 0], ArrowRight: [60, 0], ArrowUp: [0, -60], ArrowDown: [0, 60] }[event.key];
    if (step) { event.preventDefault(); sheet.scrollBy(...step); }
    if (event.key === "+" || event.key === "=") by(1.35);
    if (event.key === "-") by(1 / 1.35);
    if (event.key === "0") set(fit());
  });
  sheet.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    by(event.deltaY < 0 ? 1.15 : 1 / 1.15);
  }, { passive: false });
  // On a phone letters stay at three quarters, and the room is moved about.
  const readable = fit() >= wide * 0.62;
  set(Number(plan.dataset.width) || (readable ? fit() : wide * 0.75));
  if (!plan.dataset.width && plan.classList.contains("pictured")) middle(plan, sheet);
}

// A picture may be larger than the room: places are what is looked at first.
function middle(plan, sheet) {
  const boxes = [...plan.querySelectorAll(".place")].map((place) => place.getBoundingClientRect());
  if (!boxes.length) return;
  const [left, top] = ["left", "top"].map((side) => Math.min(...boxes.map((box) => box[side])));
  const [right, bottom] = ["right", "bottom"].map((side) => Math.max(...boxes.map((box) => box[side])));
  const view = sheet.getBoundingClientRect();
  sheet.scrollBy((left + right) / 2 - view.left - view.width / 2, (top + bottom) / 2 - view.top - view.height / 2);
}

// Dragging moves the drawing; a press that hardly moved is a click.
function drags(sheet, plan) {
  let from = null;
  let moved = 0;
  sheet.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || event.pointerType !== "mouse") { moved = 0; return; }
    from = [event.clientX, event.clientY];
    moved = 0;
  });
  sheet.addEventListener("pointermove", (event) => {
    if (!from) return;
    const [dx, dy] = [event.clientX - from[0], event.clientY - from[1]];
    moved += Math.abs(dx) + Math.abs(dy);
    if (moved < 5) return;
    sheet.classList.add("moving");
    sheet.scrollBy(-dx, -dy);
    from = [event.clientX, event.clientY];
  });
  const end = () => { from = null; sheet.classList.remove("moving"); };
  for (const name of ["pointerup", "pointerleave", "pointercancel"]) sheet.addEventListener(name, end);
  plan.addEventListener("click", (event) => { if (moved < 5) pick(meant(event, plan)); });
}

function seek(text, typing = false) {
  const name = text.trim().toLowerCase().replace(/^(place|unit):/, "");
  for (const old of document.querySelectorAll("#plan .sought")) old.classList.remove("sought");
  if (!name) return;
  const all = [...document.querySelectorAll("#plan .unit, #plan .place")];
  const found = all.find((each) => each.dataset.name.toLowerCase() === name)
    || all.find((each) => each.dataset.name.toLowerCase().startsWith(name))
    || (typing ? all.find((each) => each.dataset.name.toLowerCase().includes(name)) : null);
  if (!found) return;
  found.classList.add("sought");
  const sheet = document.getElementById("sheet");
  const box = found.getBoundingClientRect();
  const view = sheet.getBoundingClientRect();
  sheet.scrollBy(box.left - view.left - view.width / 2, box.top - view.top - view.height / 2);
}
