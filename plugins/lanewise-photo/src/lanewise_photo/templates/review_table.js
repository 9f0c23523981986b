// What is seen: the numbers

function rfText(r) {
  if (!r) return ["no Rf", ""];
  if (r.rf === undefined) return r.low === 0 ? [`Rf below ${r.high.toFixed(2)}`, ""] : [`Rf above ${r.low.toFixed(2)}`, ""];
  return [`Rf ${r.rf.toFixed(3)}`, `${r.low.toFixed(3)} to ${r.high.toFixed(3)}`];
}
let live = []; // what brings each number that is shown up to date
const kept = (made, refresh) => { live.push(refresh); refresh(); return made; };
function field(id, name, get, set, more = {}) {
  const number = more.type === "number";
  const kind = number ? { step: "0.1", min: "0", inputmode: "decimal" } : {};
  const made = node("input", { id, type: "text", autocomplete: "off", "aria-label": name, ...kind, ...more });
  const refresh = () => {
    const value = get();
    made.value = number ? (value === null ? "" : mm(round2(value))) : value;
  };
  made.addEventListener("change", () => {
    const given = number ? (made.value === "" ? null : parseFloat(made.value)) : made.value.trim();
    if (!Number.isNaN(given)) change(number ? id : null, null, () => set(given));
    refresh();
  });
  return kept(made, refresh);
}
const numberField = (id, name, get, set, more) => field(id, name, get, set, { type: "number", ...more });
function cell(name, title, ...inside) {
  return node("div", { role: "cell", class: `cell-${name}` }, node("span", { class: "lab", "aria-hidden": "true" }, title), ...inside);
}
const CORNERS = ["Lower left", "Lower right", "Upper right", "Upper left"];
const GUIDE = "By hand: give the size of the sheet with the front up, see that the four crosses lie on its corners, set the origin "
  + "and the front, add a lane where each drop was applied, then add the spots.";
const HEADS = ["Spot", "Rf", "95 % interval", "Trailing edge", "Darkest point", "Leading edge", "State", "Colour", "Take away"];

function spotRow(sheet, lane, spot) {
  const who = `${laneName(sheet, lane).toLowerCase()}, spot ${spot.label}`, id = `f-${spot.id}`;
  const number = (part, name) => numberField(`${id}-${part}`, `${name} of ${who}, mm`, () => spot[part],
    (to) => { if (to !== null) moveSpot(sheet, lane, spot, part, to); });
  const state = node("select", {
    id: `${id}-state`, "aria-label": `State of ${who}`,
    onchange: (event) => change(null, null, () => { spot.state = event.target.value; }),
  }, ...Object.keys(D.shapes).map((one) => node("option", { value: one }, one)));
  const back = (event) => { if (event.key === "Enter") { event.target.blur(); $(`m-${spot.id}`)?.focus(); } };
  const label = field(`${id}-label`, `Name of ${who}`, () => spot.label, (to) => rename(lane, spot, to), { onkeydown: back });
  const colour = field(`${id}-colour`, `Colour of ${who}`, () => spot.colour, (to) => { spot.colour = to; });
  const [rf, interval] = [node("span", { id: `${id}-rf` }), node("span", { id: `${id}-interval` })];
  const away = node("button", { type: "button", "aria-label": `Drop ${who}`, onclick: () => drop(sheet, lane, spot) }, "Drop");
  const row = node("div", { role: "row", id: `r-${spot.id}`, class: chosen === spot.id ? "chosen" : null },
    cell("name", HEADS[0], label), cell("rf num", HEADS[1], rf), cell("interval num", HEADS[2], interval),
    cell("low", HEADS[3], number("trailing", HEADS[3])), cell("at", HEADS[4], number("centre", HEADS[4])),
    cell("high", HEADS[5], number("leading", HEADS[5])), cell("state", HEADS[6], state), cell("colour", HEADS[7], colour),
    cell("drop", HEADS[8], away));
  kept(row, () => {
    const now = rfText(ratio(sheet, lane, spot));
    rf.textContent = now[0].replace(/^Rf /, "");
    interval.textContent = now[1] || "–";
    state.value = spot.state;
  });
  if (!spot.flags.length) return [row];
  const flags = node("div", { role: "cell", "aria-colspan": 9, class: "flags" }, `${spot.label}: ${spot.flags.join("; ")}.`);
  return [row, node("div", { role: "row", class: "flags" }, flags)];
}

const labelled = (title, input) => { input.removeAttribute("aria-label"); return node("label", {}, title, input); };
function lanePart(sheet, lane) {
  const id = `f-${sheet.label}-${lane.label}`, old = laneBefore(sheet, lane);
  const line = (name, title) => labelled(title,
    numberField(`${id}-${name}`, "", () => lane[name], (to) => setLaneLine(sheet, lane, name, to)));
  const across = (to) => {
    if (to === null) return;
    lane.x = clamp(round2(to), 0, map(sheet).width);
    for (const spot of lane.spots) spot.x = lane.x;
    for (const name of ["origin", "front"]) lane[name] = usual(sheet, lane, name);
    restate(lane);
  };
  const away = () => {
    change(null, `Lane ${lane.label} dropped`, () => sheet.lanes.splice(sheet.lanes.indexOf(lane), 1));
    $(`lane-${sheet.label}`).focus();
  };
  const middle = () => ((lane.origin ?? 0) + (lane.front ?? map(sheet).height)) / 2;
  const parts = [node("h3", {}, laneName(sheet, lane)), node("div", { class: "bar" },
    labelled("What was applied", field(`${id}-sample`, "", () => lane.sample, (to) => { lane.sample = to || (old ? old.sample : ""); })),
    ...(old ? [] : [labelled("From the left edge, mm", numberField(`${id}-x`, "", () => lane.x, across))]),
    line("origin", "Origin here, mm"), line("front", "Front here, mm"),
    node("button", { type: "button", id: `add-${sheet.label}-${lane.label}`, onclick: () => addSpot(sheet, lane, middle()) },
      `Add a spot to ${laneName(sheet, lane).toLowerCase()}`),
    node("button", { type: "button", onclick: away }, `Drop ${laneName(sheet, lane).toLowerCase()}`))];
  if (lane.flags.length) parts.push(node("p", { class: "flags" }, lane.flags.join(" ")));
  const heads = node("div", { role: "row" }, ...HEADS.map((one) => node("div", { role: "columnheader" }, one)));
  const rows = lane.spots.flatMap((spot) => spotRow(sheet, lane, spot));
  if (rows.length) parts.push(node("div", { role: "table", "aria-label": `Spots of ${laneName(sheet, lane).toLowerCase()}` },
    node("div", { role: "rowgroup", class: "heads" }, heads), node("div", { role: "rowgroup" }, ...rows)));
  return node("div", { class: "lane" }, ...parts);
}
function sheetPart(sheet) {
  const id = `f-${sheet.label}`, heads = sheet.flags.map((flag) => node("p", { class: "flags" }, flag));
  if (S.sheets.length > 1) heads.unshift(node("h3", {}, `Sheet ${sheet.label}`));
  const line = (name, title) => labelled(`${title}, middle of the sheet, mm`,
    numberField(`${id}-${name}`, "", () => sheet[name]?.mid ?? null, (to) => setLine(sheet, name, to)));
  const size = (title, i) => labelled(`${title} of the sheet, mm`, numberField(`${id}-size${i}`, "", () => sheet.size[i] || null,
    (to) => setSize(sheet, i, to === null ? 0 : clamp(round2(to), 10, 1000))));
  const corner = (title, i, axis) => {
    const set = (to) => { const [x, y] = cornersOf(sheet)[i]; if (to !== null) setCorner(sheet, i, axis ? [x, to] : [to, y]); };
    const made = numberField(`${id}-corner${i}${axis}`, "", () => cornersOf(sheet)[i][axis], set, { step: "1" });
    return labelled(`${title}, px ${axis ? "down" : "across"}`, made);
  };
  const bar = node("div", { class: "bar" });
  if (sheet.byHand) heads.push(node("p", {}, GUIDE));
  if (sheet.byHand) bar.append(size("Width", 0), size("Height", 1), ...CORNERS.map((one, i) => node("div", { class: "pair" }, corner(one, i, 0), corner(one, i, 1))));
  const more = node("button", { type: "button", id: `lane-${sheet.label}`, onclick: () => addLane(sheet, freePlace(sheet)) }, "Add a lane");
  bar.append(line("origin", "Origin"), line("front", "Front"), more);
  if (!sheet.byHand) {
    bar.append(node("button", { type: "button", id: `${id}-hand`, onclick: () => byHand(sheet) }, "Measure it all by hand"));
    const sure = node("input", { type: "checkbox", id: `${id}-sure`, onchange: () => change(null, null, () => { sheet.sure = sure.checked; }) });
    const told = " The front is where it is marked, and not at the other end";
    if (sheet.label === "1") heads.push(node("p", {}, node("label", { class: "check" }, kept(sure, () => { sure.checked = sheet.sure; }), told)));
  }
  return node("div", {}, ...heads, bar, ...inOrder(sheet).map((lane) => lanePart(sheet, lane)));
}
const inOrder = (sheet) => sheet.lanes.slice().sort((a, b) => a.x - b.x);
function freePlace(sheet) { // the middle of the widest gap between lanes
  const at = [0, ...sheet.lanes.map((one) => one.x).sort((a, b) => a - b), map(sheet).width];
  const gaps = at.slice(1).map((one, i) => one - at[i]), i = gaps.indexOf(Math.max(...gaps));
  return at[i] + gaps[i] / 2;
}
function setSize(sheet, i, to) { // the marks stay where they are in the picture
  const old = sizeOf(sheet)[i];
  sheet.size[i] = to;
  sheet.assumed = false;
  const scaled = (one) => one === null ? null : round2(one * sizeOf(sheet)[i] / old);
  for (const lane of sheet.lanes) {
    if (i === 0) lane.x = scaled(lane.x);
    for (const name of i ? ["origin", "front"] : []) lane[name] = scaled(lane[name]);
    for (const spot of lane.spots) for (const name of i ? ["trailing", "centre", "leading"] : ["x"]) spot[name] = scaled(spot[name]);
  }
  for (const name of i ? ["origin", "front"] : []) {
    if (sheet[name]) sheet[name] = { mid: scaled(sheet[name].mid), course: sheet[name].course.map(scaled) };
  }
}
function setCorner(sheet, i, [x, y]) {
  sheet.values[2 * i] = (clamp(Math.round(x), 0, D.width - 1) - D.centre[0]) / D.unit;
  sheet.values[2 * i + 1] = (clamp(Math.round(y), 0, D.height - 1) - D.centre[1]) / D.unit;
  sheet.cornersSet = true;
}
let built = null, builtOf = null; // rows are made anew only when there are others, so that the focus stays
function show() {
  const lanes = (sheet) => inOrder(sheet).map((lane) => [lane.label, lane.spots.map((spot) => [spot.id, spot.label])]);
  const plan = JSON.stringify(S.sheets.map((sheet) => [sheet.byHand, lanes(sheet)]));
  if (plan !== built || builtOf !== S) {
    const held = $("sheets").contains(document.activeElement) ? document.activeElement.id : "";
    [built, builtOf, live] = [plan, S, []];
    $("sheets").replaceChildren(...S.sheets.map(sheetPart));
    if (held) $(held)?.focus({ preventScroll: true });
  } else live.forEach((refresh) => refresh());
  draw();
  if (!stated) $("accuracy").value = usualAccuracy();
  $("undo").disabled = !past.length;
  $("redo").disabled = !future.length;
  $("text").value = fileText();
  const wanted = missing();
  $("missing").hidden = !wanted.length;
  $("missing").textContent = wanted.length ? `Still to be said: ${wanted.join("; ")}.` : "";
}
