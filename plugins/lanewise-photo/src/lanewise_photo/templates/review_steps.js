// What can be done: each change is one step that can be undone

let S = { sheets: structuredClone(D.start || D.sheets) };
let chosen = null, held = null, tool = "move", zoom = 1, lastKey = null, uid = 1;
const past = [], future = [];
for (const sheet of S.sheets) for (const lane of sheet.lanes) lane.spots.forEach((spot) => { spot.id = uid++; });

function change(key, say_, what) {
  const now = JSON.stringify(S);
  what();
  if (JSON.stringify(S) === now) return;
  if (key === null || key !== lastKey) past.push(now);
  lastKey = key;
  future.length = 0;
  show();
  if (say_) say(typeof say_ === "function" ? say_() : say_);
}
function goBack(from, to, word) {
  if (!from.length) return;
  to.push(JSON.stringify(S));
  S = JSON.parse(from.pop());
  lastKey = null;
  show();
  say(word);
}
function say(text) {
  $("live").textContent = text;
  clearTimeout(say.timer);
  say.timer = setTimeout(() => { $("live").textContent = ""; }, 6000);
}
const nameIt = (spot) => { $(`f-${spot.id}-label`)?.focus(); $(`f-${spot.id}-label`)?.select(); };
const laneName = (sheet, lane) => (S.sheets.length > 1 ? `Sheet ${sheet.label}, lane ` : "Lane ") + lane.label;
const words = (sheet, lane, spot) => `${laneName(sheet, lane)}, spot ${spot.label}: ${mm(round2(spot.centre))} mm, ${rfText(ratio(sheet, lane, spot)).filter(Boolean).join(", ")}`;

function setMarks(sheet, lane, spot, marks) {
  const high = map(sheet).height, [t, c, l] = marks.map((one) => clamp(round2(one), 0, Math.floor(high * 100) / 100));
  if (!(t <= c && c <= l && t < l)) return say("The darkest point lies between the two edges: not changed.");
  Object.assign(spot, { trailing: t, centre: c, leading: l });
  spot.state = follow(spot, lane, true);
}
function moveSpot(sheet, lane, spot, part, value) {
  const by = round2(value) - spot.centre;
  if (part === "centre") setMarks(sheet, lane, spot, [spot.trailing + by, round2(value), spot.leading + by]);
  else setMarks(sheet, lane, spot, part === "trailing" ? [value, spot.centre, spot.leading] : [spot.trailing, spot.centre, value]);
}
function setLine(sheet, name, value) {
  const high = map(sheet).height, old = sheet[name];
  if (value === null) {
    if (name === "origin") return say("A sheet keeps its origin.");
    sheet.front = null;
    for (const lane of sheet.lanes) lane.front = null;
  } else {
    const mid = clamp(round2(value), 0, high), by = old ? mid - old.mid : 0;
    const was = before(sheet)[name]; // a front that was taken away and is set again runs as it ran
    if (old) sheet[name] = { mid, course: old.course.map((one) => one + by) };
    else sheet[name] = { mid, course: was ? was.course.map((one) => one + mid - was.mid) : [mid, mid] };
    for (const lane of sheet.lanes) lane[name] = lane[name] !== null && old ? lane[name] + by : usual(sheet, lane, name);
  }
  for (const lane of sheet.lanes) restate(lane);
}
const restate = (lane) => lane.spots.forEach((spot) => { spot.state = follow(spot, lane, false); });
function setLaneLine(sheet, lane, name, value) {
  lane[name] = value === null ? usual(sheet, lane, name) : clamp(round2(value), 0, map(sheet).height);
  restate(lane);
}
const taken = (lane, live) => new Set(lane.spots.filter((one) => one !== live).flatMap((one) => [one.label, one.was]));
const free = (used) => { let n = 1; while (used.has(String(n))) n++; return String(n); };
function addSpot(sheet, lane, at) {
  if (lane.origin === null) return say("Set the origin first.");
  const high = map(sheet).height, centre = clamp(round2(at), 2, high - 2);
  const edges = { trailing: round2(centre - 2), centre, leading: round2(centre + 2) };
  const spot = { id: uid++, label: free(taken(lane)), was: "", x: lane.x, ...edges, state: "measured", colour: "", flags: [] };
  change(null, () => `Added. ${words(sheet, lane, spot)}`, () => {
    spot.state = follow(spot, lane, true);
    lane.spots.push(spot);
    chosen = spot.id;
  });
  $(`m-${spot.id}`)?.focus();
}
function addLane(sheet, x) {
  if (!sheet.origin) return say("Set the origin first, then add lanes.");
  const label = free(new Set([...sheet.lanes, ...before(sheet).lanes].map((one) => one.label)));
  const across = clamp(round2(x), 0, map(sheet).width), share = across / map(sheet).width;
  const lines = { origin: level(sheet.origin, share), front: sheet.front ? level(sheet.front, share) : null };
  change(null, `Lane ${label} added`, () => sheet.lanes.push({ label, sample: "", x: across, added: true, ...lines, spots: [], flags: [] }));
  $(`f-${sheet.label}-${label}-sample`)?.focus();
}
function drop(sheet, lane, spot) {
  change(null, `Lane ${lane.label}, spot ${spot.label} dropped`, () => { lane.spots.splice(lane.spots.indexOf(spot), 1); chosen = null; });
  ($(`m-${lane.spots[0]?.id}`) || $(`add-${sheet.label}-${lane.label}`))?.focus();
}
function rename(lane, spot, text) {
  if (!text || taken(lane, spot).has(text)) return say(text ? `There is a spot ${text} in this lane already.` : "A spot keeps a name.");
  spot.label = text;
}
function byHand(sheet) {
  change(null, "This sheet is measured by hand now: all its marks go into the file.", () => {
    sheet.size = sheet.size.map(round2);
    const corners = sheet.corners.flatMap(([x, y]) => [(x - D.centre[0]) / D.unit, (y - D.centre[1]) / D.unit]);
    Object.assign(sheet, { byHand: true, cornersSet: true, values: [...corners, 0, sheet.values[9], 0, 0, 0, 0, 0, 0] });
    for (const name of ["origin", "front"]) {
      if (sheet[name]) sheet[name] = { mid: round2(sheet[name].mid), course: [round2(sheet[name].mid), round2(sheet[name].mid)] };
      for (const lane of sheet.lanes) lane[name] = lane[name] === null ? null : round2(lane[name]);
    }
    for (const lane of sheet.lanes) {
      Object.assign(lane, { added: true, x: round2(lane.x) });
      for (const spot of lane.spots) {
        const { state } = spot;
        Object.assign(spot, { was: "", x: lane.x });
        setMarks(sheet, lane, spot, [spot.trailing, spot.centre, spot.leading]);
        spot.state = state;
      }
    }
  });
}
