// What is done: pointer, touch and keys

function place(event) { // of a pointer, in pixels of the picture
  const box = view.getBoundingClientRect(), [x, y, w, h] = frame();
  return [x + (event.clientX - box.left) / box.width * w, y + (event.clientY - box.top) / box.height * h];
}
function nearest([x, y]) {
  const far = marks.map((one) => Math.hypot(one.at[0] - x, one.at[1] - y)), i = far.indexOf(Math.min(...far));
  return i >= 0 && far[i] <= 22 * css() ? marks[i] : null;
}
function choose(mark) {
  if (held === mark.id) return;
  held = mark.id;
  chosen = mark.spot ? mark.spot.id : null;
  document.querySelectorAll("[role=row].chosen").forEach((one) => one.classList.remove("chosen"));
  $(`r-${chosen}`)?.classList.add("chosen");
  draw();
}
const grips = (mark) => mark.id === held || (mark.part && mark.spot.id === chosen); // what a finger can draw
let drag = null;
view.addEventListener("pointerdown", (event) => {
  const at = place(event), mark = nearest(at);
  if (!mark || event.button || tool !== "move") return;
  if (event.pointerType === "touch" && !grips(mark)) return; // a swipe over marks scrolls; a tap takes hold of one
  event.preventDefault();
  choose(mark);
  $(mark.id).focus({ preventScroll: true });
  const along = mark.corner === undefined;
  drag = { id: mark.id, key: `drag${performance.now()}`, from: at, start: along ? mark.get() : mark.at, mm: along ? map(mark.sheet).sheet(...at)[1] : 0 };
  view.setPointerCapture(event.pointerId);
});
view.addEventListener("pointermove", (event) => {
  if (!drag) return;
  const mark = marks.find((one) => one.id === drag.id), at = place(event);
  if (!mark) return;
  const corner = () => setCorner(mark.sheet, mark.corner, [0, 1].map((axis) => drag.start[axis] + at[axis] - drag.from[axis]));
  if (mark.corner !== undefined) change(drag.key, null, corner);
  else change(drag.key, null, () => mark.set(drag.start + map(mark.sheet).sheet(...at)[1] - drag.mm));
});
for (const end of ["pointerup", "pointercancel"]) view.addEventListener(end, () => {
  if (!drag) return;
  const mark = marks.find((one) => one.id === drag.id);
  if (mark) say(mark.spot ? words(mark.sheet, mark.lane, mark.spot) : `${mark.g.getAttribute("aria-label")}: ${mark.told}`);
  drag = null;
  draw();
});
view.addEventListener("touchmove", (event) => { if (drag) event.preventDefault(); }, { passive: false });
view.addEventListener("click", (event) => {
  const at = place(event), tapped = tool === "move" && nearest(at);
  if (tapped) {
    choose(tapped);
    $(tapped.id)?.focus({ preventScroll: true });
  }
  if (tool === "move") return;
  const within = ([sheet, [x, y]]) => x >= 0 && y >= 0 && x <= map(sheet).width && y <= map(sheet).height;
  const on = S.sheets.map((sheet) => [sheet, map(sheet).sheet(...at)]).find(within);
  if (!on) return say("That is beside the sheet.");
  const [sheet, [x, y]] = on;
  if (tool === "lane") return addLane(sheet, x);
  const sloping = sheet[tool] ? level(sheet[tool], x / map(sheet).width) - sheet[tool].mid : 0;
  if (tool !== "spot") return change(null, `The ${tool} is set here.`, () => setLine(sheet, tool, y - sloping));
  const lane = sheet.lanes.slice().sort((a, b) => Math.abs(a.x - x) - Math.abs(b.x - x))[0];
  return lane ? addSpot(sheet, lane, y) : say("Add a lane first.");
});
$("pane").addEventListener("focusin", (event) => {
  const mark = marks.find((one) => one.id === event.target.id);
  if (mark) choose(mark);
});
const ARROWS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };
view.addEventListener("keydown", (event) => {
  const mark = marks.find((one) => one.id === event.target.id), way = ARROWS[event.key];
  if (!mark || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Enter" && mark.name) { event.preventDefault(); mark.name(); }
  if ((event.key === "Delete" || event.key === "Backspace") && mark.drop) { event.preventDefault(); mark.drop(); }
  if (!way) return;
  event.preventDefault();
  if (mark.corner !== undefined) return nudgeCorner(mark, way, event.shiftKey ? 10 : 1);
  const [, b, , d] = map(mark.sheet).slopes(mark.x, clamp(mark.get(), 0, map(mark.sheet).height));
  const along = (b * way[0] + d * way[1]) / Math.hypot(b, d); // of the arrow, towards the front
  if (Math.abs(along) >= 0.5) nudge(mark, Math.sign(along) * (event.shiftKey ? 1 : 0.1));
});
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || /^(text|number)$/.test(event.target.type || "")) return;
  const key = event.key.toLowerCase();
  if (key === "z" && !event.shiftKey) { event.preventDefault(); goBack(past, future, "Undone"); }
  if (key === "y" || (key === "z" && event.shiftKey)) { event.preventDefault(); goBack(future, past, "Done again"); }
});
$("undo").addEventListener("click", () => goBack(past, future, "Undone"));
$("redo").addEventListener("click", () => goBack(future, past, "Done again"));
function enlarge(by) { zoom = clamp(zoom * by, 0.4, 8); view.style.width = `${zoom * 100}%`; draw(); say(`Picture at ${Math.round(zoom * 100)} %`); }
$("larger").addEventListener("click", () => enlarge(1.5));
$("smaller").addEventListener("click", () => enlarge(1 / 1.5));
$("tools").addEventListener("change", (event) => { tool = event.target.value; view.classList.toggle("adds", tool !== "move"); });
$("by").addEventListener("input", () => show());
$("accuracy").addEventListener("input", () => { stated = $("accuracy").value !== ""; show(); });
$("save").addEventListener("click", () => {
  const href = URL.createObjectURL(new Blob([$("text").value], { type: "text/plain" }));
  const link = node("a", { href, download: `${D.name.replace(/\.[^.]*$/, "")}.corrections.txt` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  say(missing().length ? `Saved; ${$("missing").textContent}` : "Saved.");
});
$("copy").addEventListener("click", async () => {
  $("text").select();
  try {
    await navigator.clipboard.writeText($("text").value);
    say("Copied.");
  } catch {
    say(document.execCommand("copy") ? "Copied." : "Selected: copy it with Control C.");
  }
});
for (const [state, d] of Object.entries(D.shapes)) {
  const shape = node("svg:path", { d, fill: "none", stroke: "currentColor", "stroke-width": 0.3 });
  const icon = node("svg:svg", { viewBox: "-1.6 -1.6 3.2 3.2", width: 20, height: 20, "aria-hidden": "true" }, shape);
  $("shapes").append(node("li", {}, icon, ` ${D.meanings[state]}`));
}
$("shapes").append(node("li", {}, "a dot within: set by hand; an exclamation mark: the numbers say what is the matter"));
let stated = D.given !== undefined && D.given !== null; // whether a person stated the accuracy
if (stated) $("accuracy").value = D.given;
$("by").value = D.by || "";
drawPhoto();
show();
new ResizeObserver(() => draw()).observe(view);
