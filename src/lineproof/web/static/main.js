// What every page does: follow the show on disk without losing its place, and start the parts.
import { filters } from "./filter.js";
import { room } from "./room.js";
import { follow } from "./follow.js";

document.documentElement.classList.add("lively");

function start() {
  filters();
  room();
}

start();
follow(start);
