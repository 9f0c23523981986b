// The corrections file

const mm = (x) => String(parseFloat(x.toFixed(3)));
const flat = (text) => text.trim().split(/\s+/).join(" ");
const quoted = (text) => /^[\p{L}\p{N}_.+-]+$/u.test(text) ? text : `"${flat(text).replace(/(["\\])/g, "\\$1")}"`;
const named = (text) => /^\s*"|#/.test(text) ? quoted(text) : flat(text);

let places = true; // whether lines say where the mark stood that they are about
const near = (place) => places ? ` near ${mm(round2(place))}` : "";

function sheetLines(sheet) {
  const was = before(sheet), lines = [...(sheet.kept || [])], later = [];
  if (sheet.byHand) {
    lines.push("measure: by hand");
    if (sized(sheet)) lines.push(`size: ${mm(sheet.size[0])} x ${mm(sheet.size[1])}`);
    const corners = cornersOf(sheet).map(([x, y]) => `${mm(x)},${mm(y)}`).join("; ");
    if (sheet.cornersSet) lines.push(`corners: ${corners}`);
  } else if (sheet.sure && sheet.label === "1") lines.push(`orientation: ${sheet.side}`);
  for (const name of ["origin", "front"]) {
    if (sheet[name] && (!was[name] || !same(was[name].mid, sheet[name].mid))) lines.push(`move ${name} to ${mm(sheet[name].mid)}`);
    else if (!sheet[name] && was[name]) lines.push("drop front");
  }
  for (const lane of was.lanes) {
    if (!sheet.lanes.some((one) => !one.added && one.label === lane.label)) lines.push(`drop lane ${quoted(lane.label)}${near(lane.x)}`);
  }
  for (const lane of sheet.lanes) laneLines(sheet, lane, lines, later);
  return [...lines, ...later];
}
function laneLines(sheet, lane, lines, later) {
  const was = before(sheet), old = laneBefore(sheet, lane), l = `lane ${quoted(lane.label)}`, here = old ? l + near(old.x) : l;
  if (!old) lines.push(`new ${l} across ${mm(lane.x)}`);
  for (const name of ["origin", "front"]) {
    if (lane[name] !== null && !same(usual(sheet, lane, name), lane[name])) lines.push(`move ${here} ${name} to ${mm(lane[name])}`);
  }
  if (lane.sample !== (old ? old.sample : "") && lane.sample) lines.push(`name ${here} ${quoted(lane.sample)}`);
  for (const spot of old ? old.spots : []) {
    if (!lane.spots.some((one) => one.was === spot.was)) lines.push(`drop ${l} spot ${quoted(spot.was)}${near(spot.centre)}`);
  }
  const lined = old && !(same(old.origin, lane.origin) && same(old.front, lane.front));
  for (const spot of lane.spots) {
    const first = spotBefore(sheet, lane, spot), s = `${l} spot ${quoted(spot.was || spot.label)}${first ? near(first.centre) : ""}`;
    const edges = `from ${mm(spot.trailing)} to ${mm(spot.leading)}`, colour = spot.colour ? ` colour ${quoted(spot.colour)}` : "";
    const expected = { ...spot, state: first ? first.state : "measured" };
    if (first && lined) expected.state = follow({ ...first, state: expected.state }, lane, false);
    if (isMoved(first, spot)) {
      expected.state = follow(expected, lane, true);
      lines.push(first ? `move ${s} to ${mm(spot.centre)} ${edges}` : `add ${s} at ${mm(spot.centre)} ${edges}${colour}`);
    }
    if (first && colour && spot.colour !== first.colour) lines.push(`colour ${s} ${quoted(spot.colour)}`);
    if (spot.state !== expected.state) lines.push(`state ${s} ${spot.state}`);
    if (first && spot.label !== spot.was) later.push(`name ${s} ${quoted(spot.label)}`);
  }
}
function usual(sheet, lane, name) { // height of a line at a lane that has none of its own
  const was = before(sheet)[name], old = laneBefore(sheet, lane), now = sheet[name];
  if (!now) return name === "origin" && old ? old.origin : null;
  if (old && was && old[name] !== null) return old[name] + (now.mid - was.mid);
  return level(now, lane.x / map(sheet).width);
}
function level(line, share) {
  const at = clamp(share, 0, 1) * (line.course.length - 1), i = Math.min(Math.floor(at), line.course.length - 2);
  return line.course[i] + (line.course[i + 1] - line.course[i]) * (at - i);
}
function today() {
  const now = new Date(), two = (n) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
function allLines() { // each with its sheet, and without the places, by which a line of an earlier file is known again
  const made = S.sheets.flatMap((sheet) => sheetLines(sheet).map((line) => ({ sheet: sheet.label, line })));
  places = false;
  const plain = S.sheets.flatMap(sheetLines);
  places = true;
  return made.map((one, i) => ({ ...one, plain: plain[i] }));
}
function fileText() { // what this person did comes first, then what others did before; the order does not matter
  const lines = [`picture: ${named(D.name)}`, `sha256: ${D.sha256}`, `accuracy: ${mm(accuracy())}`];
  const now = { by: $("by").value.trim(), on: today(), lines: [] }, others = new Map();
  for (const one of allLines()) {
    const known = (D.earlier || []).find(([sheet, line]) => sheet === one.sheet && line === one.plain);
    if (!known) { now.lines.push(one); continue; }
    const [, , by, on] = known, key = JSON.stringify([by, on]);
    if (!others.has(key)) others.set(key, { by, on, lines: [] });
    others.get(key).lines.push(one);
  }
  let sheetNow = "1";
  for (const who of [now, ...others.values()]) {
    if (who.by && (who !== now || who.lines.length || !others.size)) lines.push(`by: ${named(who.by)}`);
    if (who.on && who.lines.length) lines.push(`on: ${who.on}`);
    for (const one of who.lines) {
      if (one.sheet !== sheetNow) lines.push(`sheet: ${sheetNow = one.sheet}`);
      lines.push(one.line);
    }
  }
  return lines.join("\n") + "\n";
}
function missing() {
  const wanted = $("by").value.trim() ? [] : ["who corrects (in the field above)"];
  for (const sheet of S.sheets.filter((one) => one.byHand)) {
    if (!sized(sheet)) wanted.push("the size of the sheet");
    if (!sheet.cornersSet) wanted.push("its corners: draw the four crosses to them in the picture");
    if (!sheet.origin) wanted.push("the origin");
    if (!sheet.front) wanted.push("the front, or no Rf is given");
    if (!sheet.lanes.length) wanted.push("lanes and spots");
  }
  for (const sheet of S.sheets) for (const lane of sheet.lanes) {
    const near = 3 * Math.hypot(uHand(sheet), uHand(sheet)), top = lane.front ?? map(sheet).height;
    if (top <= lane.origin) wanted.push(`a front above the origin in lane ${lane.label}`);
    for (const spot of lane.spots) {
      const inside = spot.state === "unread" || (spot.centre >= lane.origin - near && spot.centre <= top + near);
      if (!inside) wanted.push(`a place between origin and front for lane ${lane.label}, spot ${spot.label}`);
    }
  }
  return wanted;
}
