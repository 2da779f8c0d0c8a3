// The rescue from what is broken: asked for after it is shown what that does, and drawn.

const NS = "http://www.w3.org/2000/svg";
const LONGEST_MS = 120000;
let waiting = null;

// What was asked for before is not waited for any more.
export function forget() {
  waiting?.abort();
  waiting = null;
}

export async function rescue(query) {
  forget();
  walk();
  const part = document.getElementById("rescue");
  if (part?.dataset.state !== "waiting") return;
  const mine = (waiting = new AbortController());
  const late = setTimeout(() => mine.abort(), LONGEST_MS);
  try {
    const answer = await fetch("/room/rescue?" + query, { signal: mine.signal });
    if (!answer.ok) throw new Error(answer.statusText);
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("rescue");
    if (!fresh) throw new Error("no rescue in the answer");
    if (mine !== waiting) return;
    document.getElementById("rescue")?.replaceWith(fresh);
    walk();
  } catch (error) {
    if (mine !== waiting) return;
    const told = document.querySelector("#rescue p");
    if (told) told.textContent = "The server did not answer: no rescue is known. Try again.";
  } finally {
    clearTimeout(late);
  }
}

// Marks the places to walk to, by their numbers in the list.
function walk() {
  for (const old of document.querySelectorAll("#plan .walk")) old.remove();
  const places = (document.getElementById("rescue")?.dataset.walk || "").split(" ").filter(Boolean);
  for (const each of places) {
    const [name, number] = each.split("=");
    const place = [...document.querySelectorAll("#plan .place")].find((box) => box.dataset.name === name);
    const ground = place?.querySelector(".ground");
    if (!ground) continue;
    const mark = document.createElementNS(NS, "g");
    mark.setAttribute("class", "walk");
    mark.setAttribute("transform", `translate(${ground.getAttribute("width")} 0)`);
    const ring = document.createElementNS(NS, "circle");
    ring.setAttribute("r", "10");
    const text = document.createElementNS(NS, "text");
    text.setAttribute("y", "4.5");
    text.textContent = number;
    mark.append(ring, text);
    place.append(mark);
  }
}
