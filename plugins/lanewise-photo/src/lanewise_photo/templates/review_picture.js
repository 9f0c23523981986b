// What is seen: the picture

const SVG = "http://www.w3.org/2000/svg";
function node(tag, attributes, ...inside) {
  const made = tag.startsWith("svg:") ? document.createElementNS(SVG, tag.slice(4)) : document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== null && value !== undefined && value !== false) made.setAttribute(name, value);
  }
  made.append(...inside);
  return made;
}
const view = $("view");
let marks = []; // everything that can be taken hold of: its element, where it is, and how it moves

function frame() { // the part of the picture that is shown: all of it by hand, else the sheets and what is round them
  if (S.sheets.some((one) => one.byHand)) return [-0.5, -0.5, D.width, D.height];
  const ends = [0, 1].map((axis) => {
    const at = S.sheets.flatMap((one) => one.corners.map((corner) => corner[axis]));
    const low = Math.min(...at), high = Math.max(...at), rim = 0.1 * (high - low) + 10;
    return [Math.max(-0.5, low - rim), Math.min((axis ? D.height : D.width) - 0.5, high + rim)];
  });
  return [ends[0][0], ends[1][0], ends[0][1] - ends[0][0], ends[1][1] - ends[1][0]];
}
const css = () => frame()[2] / Math.max(1, view.clientWidth); // pixels of the picture in one of the screen
function sizeOfMarks(sheet) { // smaller where lanes lie close on the screen
  const at = inOrder(sheet).map((one) => one.x), gaps = at.slice(1).map((one, i) => one - at[i]);
  return clamp(Math.min(...gaps, 1000) * map(sheet).scale / css() / 48, 0.5, 1);
}
const path = (points) => "M" + points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L");
const stroke = (d, name = "", transform = null) => node("svg:g", { class: name, transform }, node("svg:path", { class: "under", d }), node("svg:path", { class: "over", d }));
const text = ([x, y], word, size, anchor) => node("svg:text", { x, y, dy: ".35em", "font-size": size, "text-anchor": anchor }, word);

function handle(id, name, at, value, range, shape, act) {
  const k = css(), ring = 15 * k, circle = (kind, r) => node("svg:circle", { class: kind, r, cx: at[0], cy: at[1] });
  const g = node("svg:g", {
    id, class: "mark", tabindex: 0, role: "slider", "aria-label": name, "aria-orientation": act.flat ? "horizontal" : "vertical",
    "aria-valuemin": range[0].toFixed(2), "aria-valuemax": range[1].toFixed(2), "aria-valuenow": value.toFixed(2), "aria-valuetext": act.told,
  }, circle("ring", ring), circle("ring", ring), shape, circle("hit", 22 * k));
  g.classList.toggle("chosen", held === id);
  marks.push({ g, id, at, ...act });
  return g;
}

function drawSheet(sheet, into) {
  const [left, above, wide, tall] = frame();
  const m = map(sheet), k = css(), w = m.width, h = m.height, t = Array.from({ length: 13 }, (_, i) => i / 12);
  const at = (x, y) => m.pixels(x, clamp(y, 0, h));
  const rim = [...t.map((s) => [s * w, 0]), ...t.map((s) => [w, s * h]), ...t.map((s) => [w - s * w, h]), ...t.map((s) => [0, h - s * h])];
  into.append(stroke(path(rim.map(([x, y]) => m.pixels(x, y))) + "Z", "thin dashed"));
  for (const name of ["origin", "front"]) {
    const line = sheet[name];
    if (!line) continue;
    into.append(stroke(path(t.map((s) => at(s * w, level(line, s)))), name === "front" ? "dashed" : ""));
    const start = at(0, level(line, 0)), [a, b] = at(0.02 * w, level(line, 0.02)), away = Math.hypot(a - start[0], b - start[1]) || 1;
    const out = [clamp(start[0] - (a - start[0]) / away * 12 * k, left + 12 * k, left + wide - 12 * k),
      clamp(start[1] - (b - start[1]) / away * 12 * k, above + 12 * k, above + tall - 12 * k)];
    const beside = [out[0] + 10 * k, out[1] - 16 * k], room = boxOf(beside, name, 14 * k, "end")[0] > left;
    const [written, anchor] = room ? [beside, "end"] : [[Math.max(out[0] - 12 * k, left), beside[1]], "start"];
    const word = text(written, name, 14 * k, anchor);
    const shape = node("svg:g", {}, stroke("M-1-.8L1 0L-1 .8Z", "", `translate(${out}) scale(${9 * k})`), word);
    occupied.push(boxOf(written, name, 14 * k, anchor));
    const takeAway = () => change(null, "The front is taken away: no Rf.", () => setLine(sheet, "front", null));
    into.append(handle(`m-${sheet.label}-${name}`, S.sheets.length > 1 ? `${name}, sheet ${sheet.label}` : name, out, line.mid, [0, h], shape, {
      sheet, told: `${mm(round2(line.mid))} mm in the middle of the sheet`, x: w / 2,
      get: () => sheet[name]?.mid, set: (y) => setLine(sheet, name, y), drop: name === "front" ? takeAway : null,
    }));
  }
  const small = k * sizeOfMarks(sheet);
  for (const lane of sheet.lanes) for (const spot of lane.spots) {
    const [x, y] = at(spot.x, spot.centre), r = 9 * small;
    occupied.push([x - r, y - r, x + r, y + r]);
  }
  for (const lane of sheet.lanes) drawLane(sheet, lane, into, at, k);
  if (sheet.byHand) CORNERS.forEach((name, i) => {
    const [x, y] = cornersOf(sheet)[i];
    const [cx, cy] = at(w / 2, h / 2), place = [x, y + (y < cy ? -20 : 20) * k], outward = x < cx ? "end" : "start", cornerWord = name.toLowerCase();
    const box = boxOf(place, cornerWord, 13 * k, outward), inside = box[0] > left && box[2] < left + wide;
    const word = text(place, cornerWord, 13 * k, inside ? outward : { end: "start", start: "end" }[outward]);
    const cross = node("svg:g", {}, stroke("M-1.2 0H1.2M0-1.2V1.2", "", `translate(${x} ${y}) scale(${11 * k})`), word);
    into.append(handle(`m-${sheet.label}-corner${i}`, `${name} corner of the sheet`, [x, y], x, [0, D.width], cross, {
      sheet, corner: i, flat: true, told: `${Math.round(x)} across, ${Math.round(y)} down, in pixels`,
    }));
  });
}
function drawLane(sheet, lane, into, at, k) {
  const h = map(sheet).height, low = lane.origin ?? 0, top = lane.front ?? h;
  into.append(stroke(path([at(lane.x, low), at(lane.x, (low + top) / 2), at(lane.x, top)]), "thin dotted"));
  const foot = at(lane.x, low), below = at(lane.x, low - 1), far = Math.hypot(below[0] - foot[0], below[1] - foot[1]) || 1;
  const under = foot.map((one, axis) => one + (below[axis] - one) / far * 24 * k);
  const whole = `${lane.label} ${lane.sample}`.trim(), word = whole.length > 24 ? `${whole.slice(0, 23)}…` : whole;
  const stairs = [0, 1, 2].map((step) => [under[0], under[1] + 18 * step * k]); // names that would meet go in stairs
  const free = (one, name) => !occupied.some((other) => meet(other, boxOf(one, name, 14 * k, "middle")));
  const wholePlace = stairs.find((one) => free(one, word)), name = wholePlace ? word : lane.label;
  const placed = wholePlace || stairs.find((one) => free(one, name)) || under;
  into.append(text(placed, name, 14 * k, "middle"));
  occupied.push(boxOf(placed, name, 14 * k, "middle"));
  for (const spot of lane.spots) {
    const c = at(spot.x, spot.centre), [a, b1, b, b2] = map(sheet).slopes(spot.x, clamp(spot.centre, 0, h)), across = Math.hypot(a, b);
    const small = k * sizeOfMarks(sheet), bar = 13 * small / across, ends = ["trailing", "leading"].map((one) => [one, spot[one]]);
    const shape = node("svg:g", {}), bars = ends.map(([, y]) => path([at(spot.x - bar, y), at(spot.x + bar, y)]));
    const stem = path([at(spot.x, spot.trailing), at(spot.x, spot.leading)]);
    if (spot.state !== "unread") shape.append(stroke([...bars, stem].join(""), "thin"));
    shape.append(stroke(D.shapes[spot.state], "", `translate(${c}) scale(${8 * small})`));
    if (isMoved(spotBefore(sheet, lane, spot), spot)) shape.append(node("svg:circle", { class: "dot", cx: c[0], cy: c[1], r: 3 * small }));
    shape.append(label(c, spot.label + (spot.flags.length ? " !" : ""), 17 * small, Math.max(13 * small, 11 * k)));
    const rf = rfText(ratio(sheet, lane, spot)), who = `${laneName(sheet, lane)}, spot ${spot.label}`;
    const range = [0, h], common = { sheet, lane, spot, x: spot.x };
    const mark = handle(`m-${spot.id}`, `${who}${spot.colour ? `, ${spot.colour}` : ""}, ${spot.state}`, c, spot.centre, range, shape, {
      ...common, told: `${mm(round2(spot.centre))} mm, ${rf.filter(Boolean).join(", ")}`, get: () => spot.centre, set: (y) => moveSpot(sheet, lane, spot, "centre", y),
      drop: () => drop(sheet, lane, spot), name: () => nameIt(spot),
    });
    mark.classList.toggle("chosen", chosen === spot.id);
    into.append(mark);
    if (chosen !== spot.id || spot.state === "unread") continue;
    for (const [part, y] of ends) { // so far out that a finger finds each of the three
      const e = at(spot.x - 1.9 * bar, y), side = part === "leading" ? 1 : -1, px = Math.abs(y - spot.centre) * Math.hypot(b1, b2);
      const out = side * Math.max(0, 32 * k - px) / Math.hypot(b1, b2), h = [e[0] + b1 * out, e[1] + b2 * out];
      const shape = node("svg:g", {}, stroke(path([at(spot.x - bar, y), h]), "thin"), node("svg:circle", { class: "dot", cx: h[0], cy: h[1], r: 6 * k }));
      into.append(handle(`m-${spot.id}-${part}`, `${who}, ${part} edge`, h, y, range, shape, {
        ...common, part, told: `${mm(round2(y))} mm`, get: () => spot[part], set: (to) => moveSpot(sheet, lane, spot, part, to),
        drop: () => drop(sheet, lane, spot), name: () => nameIt(spot),
      }));
    }
  }
}
let occupied = []; // boxes in which something is written or marked already
const meet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
function boxOf([x, y], word, size, anchor) {
  const wide = 0.62 * size * word.length, left = x - { start: 0, middle: wide / 2, end: wide }[anchor];
  return [left, y - 0.55 * size, left + wide, y + 0.55 * size];
}
function label([x, y], word, far, size) { // beside its mark, where nothing else is
  const up = 0.9 * size, free = [[1, 0], [-1, 0], [1, -up], [1, up], [-1, -up], [-1, up]].map(([side, dy]) => {
    const at = [x + side * far, y + dy], anchor = side > 0 ? "start" : "end";
    return { at, anchor, box: boxOf(at, word, size, anchor) };
  });
  const best = free.find(({ box }) => !occupied.some((one) => meet(one, box))) || free[0];
  occupied.push(best.box);
  return text(best.at, word, size, best.anchor);
}
const layer = node("svg:g"), fingers = node("svg:g"); // under a finger nothing may be replaced: the touch would end
function draw() {
  const focused = view.contains(document.activeElement) ? document.activeElement.id : "";
  [marks, occupied] = [[], []];
  const made = node("svg:g"), k = css();
  for (const sheet of S.sheets) drawSheet(sheet, made);
  view.setAttribute("viewBox", frame().join(" "));
  layer.replaceChildren(made);
  const grip = ({ at: [cx, cy] }) => node("svg:circle", { class: "hit grip", cx, cy, r: 22 * k });
  if (!drag) fingers.replaceChildren(...marks.filter(grips).map(grip));
  if (focused && document.activeElement.id !== focused) $(focused)?.focus({ preventScroll: true });
  showChosen();
}
function drawPhoto() {
  const [x, y, width, height] = D.photo.box;
  const photo = { href: D.photo.href, x, y, width, height, preserveAspectRatio: "none", "aria-hidden": "true" };
  view.replaceChildren(node("svg:image", photo), layer, fingers);
}
