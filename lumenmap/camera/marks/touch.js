// Points of the house are marked on its photograph, one after another. What is marked is kept by the
// browser, and saved as a file of marks; places are in pixels of the whole photograph.

/** @typedef {{ name: string, words: string, x: number, y: number }} Point */
/** @type {{ house: string, file: string, head: string, size: [number, number], photo: string, model: string, enough: number, better: number, points: Point[] }} */
const D = JSON.parse(/** @type {HTMLElement} */ (document.getElementById("data")).textContent ?? "");
/** @param {string} id */
const $ = id => /** @type {any} */ (document.getElementById(id));
const SVG = "http://www.w3.org/2000/svg";
/** The lens shows the photograph this many times as large. */
const LARGER = 4;
/** Points asked for at first: more marks help little. */
const ASKED = 16;

/** The marks by name: pixels, or null for what the photograph doesn't show. @type {Record<string, [number, number] | null>} */
let marks = {};
let at = 0;
const key = `marks ${D.file} ${D.size} ${D.house}`;

function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(key) ?? "{}");
    for (const { name } of D.points) {
      const place = found[name];
      if (place === null || Array.isArray(place) && place.length === 2 && place.every(Number.isFinite)) marks[name] = place;
    }
  } catch { /* a browser that keeps nothing; the page works without */ }
}

function keep() {
  try {
    localStorage.setItem(key, JSON.stringify(marks));
  } catch { /* as above */ }
}

const marked = () => D.points.filter(p => marks[p.name]);

function text() {
  const rows = marked().map(p => `${JSON.stringify(p.name)} = [${marks[p.name]?.map(v => v.toFixed(1)).join(", ")}]`);
  return `${D.head.trimEnd()}\n${rows.join("\n")}\n`;
}

/** @param {SVGElement} svg @param {number} x @param {number} y @param {string} colour @param {number} size @param {string} [label] */
function ring(svg, x, y, colour, size, label) {
  const circle = document.createElementNS(SVG, "circle");
  for (const [name, value] of Object.entries({ cx: x, cy: y, r: size, fill: "none", stroke: colour, "stroke-width": size / 4 })) circle.setAttribute(name, String(value));
  svg.append(circle);
  if (!label) return;
  const words = document.createElementNS(SVG, "text");
  for (const [name, value] of Object.entries({ x: x + 1.4 * size, y: y - 0.8 * size, fill: colour, "font-size": 2.2 * size })) words.setAttribute(name, String(value));
  words.textContent = label;
  svg.append(words);
}

/** What is open next: the first point of the list that was neither marked nor left out. */
function onward() {
  const found = D.points.findIndex((p, i) => i > at && marks[p.name] === undefined);
  at = found >= 0 ? found : Math.min(at + 1, D.points.length - 1);
  draw();
}

function draw() {
  const point = D.points[at], [w, h] = D.size, count = marked().length, size = Math.max(w, h) / 130;
  $("name").textContent = `${at + 1}. ${point.name}`;
  $("words").textContent = `${point.words[0].toUpperCase()}${point.words.slice(1)}.`;
  $("marks").setAttribute("viewBox", `0 0 ${w} ${h}`);
  $("marks").replaceChildren();
  D.points.forEach((p, i) => {
    const place = marks[p.name];
    if (place) ring($("marks"), place[0], place[1], i === at ? "#ffbe6b" : "#19c37d", size, String(i + 1));
  });
  $("spot").setAttribute("viewBox", "0 0 1000 563");
  $("spot").replaceChildren();
  ring($("spot"), point.x * 1000, point.y * 563, "#ff4d4d", 16);
  ring($("spot"), point.x * 1000, point.y * 563, "#ffffff", 4);
  const lack = D.enough - count;
  const more = lack > 0 ? `${lack} more ${lack > 1 ? "are" : "is"} needed` : count < D.better ? `enough; with ${D.better} the camera is found better` : "enough";
  $("count").textContent = `${count} marked: ${more}`;
  $("save").disabled = count < D.enough;
  $("back").disabled = at === 0;
  $("next").disabled = at === D.points.length - 1;
  $("text").value = text();
  $("list").replaceChildren(...D.points.slice(0, Math.max(ASKED, at + 1)).map((p, i) => {
    const item = document.createElement("li"), button = document.createElement("button"), place = marks[p.name];
    button.type = "button";
    button.setAttribute("aria-current", String(i === at));
    button.textContent = `${i + 1}. ${p.name}: ${place ? "marked" : place === null ? "not in the photograph" : "open"}`;
    button.addEventListener("click", () => { at = i; draw(); $("photo").scrollIntoView({ block: "nearest" }); });
    item.append(button);
    return item;
  }));
}

/** @param {number} x @param {number} y */
function put(x, y) {
  const [w, h] = D.size;
  marks[D.points[at].name] = [Math.min(Math.max(x, 0), w), Math.min(Math.max(y, 0), h)];
  keep();
  draw();
}

/** The lens stands beside the finger, so that the hand doesn't hide what it shows. @param {PointerEvent} event */
function look(event) {
  const box = $("photo").getBoundingClientRect(), lens = $("lens"), half = 66;
  const x = event.clientX - box.left, y = event.clientY - box.top;
  lens.hidden = false;
  lens.style.left = `${x < box.width / 2 ? Math.min(x + 40, box.width - 2 * half) : Math.max(x - 40 - 2 * half, 0)}px`;
  lens.style.top = `${Math.min(Math.max(y - half, 0), Math.max(box.height - 2 * half, 0))}px`;
  lens.style.backgroundSize = `${box.width * LARGER}px ${box.height * LARGER}px`;
  lens.style.backgroundPosition = `${half - x * LARGER}px ${half - y * LARGER}px`;
  put(x / box.width * D.size[0], y / box.height * D.size[1]);
}

$("photo").addEventListener("pointerdown", (/** @type {PointerEvent} */ event) => {
  $("photo").setPointerCapture(event.pointerId);
  look(event);
});
$("photo").addEventListener("pointermove", (/** @type {PointerEvent} */ event) => { if ($("photo").hasPointerCapture(event.pointerId)) look(event); });
for (const end of ["pointerup", "pointercancel"]) $("photo").addEventListener(end, () => { $("lens").hidden = true; });
$("photo").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
  const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (event.key === "Enter") onward();
  if (!step) return;
  event.preventDefault();
  const [x, y] = marks[D.points[at].name] ?? [D.size[0] / 2, D.size[1] / 2], far = event.shiftKey ? 20 : 1;
  put(x + far * step[0], y + far * step[1]);
});
$("next").addEventListener("click", onward);
$("skip").addEventListener("click", () => { marks[D.points[at].name] = null; keep(); onward(); });
$("back").addEventListener("click", () => { at = Math.max(at - 1, 0); draw(); });
$("clear").addEventListener("click", () => { marks = {}; at = 0; keep(); draw(); });
$("save").addEventListener("click", () => {
  const link = document.createElement("a");
  link.href = `data:application/toml;charset=utf-8,${encodeURIComponent(text())}`;
  link.download = D.file;
  link.click();
});

document.title = $("title").textContent = `Points of ${D.house}`;
$("picture").src = D.photo;
$("lens").style.backgroundImage = `url(${D.photo})`;
$("model").src = D.model;
$("picture").alt = `Photograph of ${D.house}`;
$("model").alt = "The model of the house; a ring shows the point";
$("then").textContent = `Put ${D.file} next to the photograph, then: lumenmap marks ${D.file}`;
kept();
at = Math.max(D.points.findIndex(p => marks[p.name] === undefined), 0);
draw();
