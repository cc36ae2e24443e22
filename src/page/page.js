"use strict";
// Links between rules and their places: hover or focus shows a place, a click or Enter goes there and keeps it.
const set = JSON.parse(document.getElementById("set").textContent);
let chosen = null;
let shown = null;
let space = null; // The 3D view, once there is one.

function shape(name, attributes) {
  const e = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  return e;
}

// One mark twice: a pale halo below, the mark itself above.
function drawMark(group, mark) {
  const [x, y, a, b] = mark.slice(1).split(",").map(Number);
  for (const kind of ["halo", "spot"]) {
    if (mark[0] === "p") group.append(shape("circle", { class: kind, cx: x, cy: y, r: 3.2 }));
    if (mark[0] === "c") group.append(shape("circle", { class: kind, cx: x, cy: y, r: a }));
    if (mark[0] === "l") group.append(shape("path", { class: kind, d: `M${x} ${y}L${a} ${b}` }));
  }
}

function clear() {
  document.querySelectorAll("svg .hi").forEach((g) => g.remove());
  document.querySelectorAll(".picture.lit").forEach((f) => f.classList.remove("lit"));
}

// Shows the place of a link, or nothing.
function show(link) {
  if (link === shown) return;
  shown = link;
  clear();
  const places = link && link.dataset.s ? link.dataset.s.split(";") : [];
  for (const place of places) {
    const cut = place.indexOf(":");
    const figure = document.getElementById(place.slice(0, cut));
    if (!figure) continue;
    figure.classList.add("lit");
    const marks = place.slice(cut + 1).split(" ").filter(Boolean);
    const svg = figure.querySelector("svg");
    if (!svg || !marks.length) continue;
    const group = shape("g", { class: "hi" });
    marks.forEach((m) => drawMark(group, m));
    svg.append(group);
  }
  const parts = link && link.dataset.p ? link.dataset.p.split(",").map(Number) : [];
  const points = link && link.dataset.x ? link.dataset.x.split(" ").map((p) => p.split(",").map(Number)) : [];
  if (parts.length) document.getElementById("space").classList.add("lit");
  document.querySelectorAll("[data-row]").forEach((l) =>
    l.classList.toggle("lit", parts.includes(Number(l.dataset.row))));
  if (space) space.light(parts, points);
}

// Goes to the place of a link and keeps it shown.
function choose(link) {
  if (chosen) chosen.removeAttribute("aria-current");
  chosen = link;
  const back = document.getElementById("back");
  back.hidden = !link;
  show(link);
  if (!link) return;
  link.setAttribute("aria-current", "true");
  const figure = document.getElementById(link.getAttribute("href").slice(1));
  const mark = figure.querySelector("svg .hi .spot");
  figure.scrollIntoView({ block: figure.offsetHeight > innerHeight ? "start" : "nearest" });
  if (mark) bring(figure.querySelector(".paper"), mark);
  const title = figure.querySelector("h3");
  document.getElementById("said").textContent = `Shown on: ${title ? title.textContent : "the picture"}`;
}

// Scrolls an enlarged picture so that the mark is in the middle of its box.
function bring(box, mark) {
  const b = box.getBoundingClientRect();
  const m = mark.getBoundingClientRect();
  box.scrollBy({ left: (m.left + m.right - b.left - b.right) / 2, top: (m.top + m.bottom - b.top - b.bottom) / 2 });
}

document.addEventListener("click", (e) => {
  const link = e.target.closest("a.go");
  if (link) {
    e.preventDefault();
    choose(link);
  }
});
// A page that scrolls under a pointer at rest must not change what is shown: only a pointer that moves does.
let pointer = "";
function rests(e) {
  if (e.type === "focusin") return false;
  const before = pointer;
  pointer = `${e.screenX},${e.screenY}`;
  return e.type === "mouseover" && pointer === before;
}
document.addEventListener("mousemove", rests);
for (const [enter, leave] of [["mouseover", "mouseout"], ["focusin", "focusout"]]) {
  document.addEventListener(enter, (e) => {
    const link = e.target.closest("a.go");
    if (link && !rests(e)) show(link);
  });
  document.addEventListener(leave, (e) => {
    if (e.target.closest("a.go")) show(chosen);
  });
}
function back() {
  const link = chosen;
  choose(null);
  if (link) {
    link.focus();
    link.scrollIntoView({ block: "center" });
  }
}
document.getElementById("back").addEventListener("click", back);
document.addEventListener("keydown", (e) => {
  if (e.key === "Escape" && chosen) back();
});

// Pictures larger and smaller.
document.querySelectorAll("[data-zoom]").forEach((button) => button.addEventListener("click", () => {
  const paper = button.closest(".picture").querySelector(".paper");
  const now = Number(paper.style.getPropertyValue("--zoom") || 1);
  const next = Math.min(6, Math.max(0.5, now * (button.dataset.zoom === "1" ? 1.5 : 1 / 1.5)));
  paper.style.setProperty("--zoom", next.toFixed(3));
}));
