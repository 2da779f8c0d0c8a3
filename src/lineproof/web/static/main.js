// What every page does: follow the show on disk without losing its place, and start the parts.
import { filters } from "./filter.js";
import { room } from "./room.js";
import { follow } from "./follow.js";

document.documentElement.classList.add("lively");

function start() {
  filters();
  room();
  listed();
}

// In a long list of sheets the one that is shown is brought into view.
function listed() {
  const list = document.querySelector(".sheets nav");
  const here = list?.querySelector("[aria-current]");
  if (here && !list.scrollTop) list.scrollTop = here.offsetTop - list.offsetTop - list.clientHeight / 2;
}

start();
follow(start);
