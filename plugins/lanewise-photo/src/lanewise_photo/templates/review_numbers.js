// Numbers: Rf and its interval, as in the library

function curve(shared, y) {
  const { positions: p, shifts: s } = shared;
  const i = p.findIndex((one) => one > y);
  if (i === 0) return s[0];
  if (i < 0) return s[s.length - 1];
  return s[i - 1] + (s[i] - s[i - 1]) * (y - p[i - 1]) / (p[i] - p[i - 1]);
}
function cornerShift(sheet, y) { // of each corner by its standard uncertainty, along the run in the middle of the sheet
  const here = map(sheet), x = here.width / 2, [a, b, c, d] = here.slopes(x, y), [p, q] = here.pixels(x, y);
  return Array.from({ length: 8 }, (_, k) => {
    const values = sheet.values.map((one, i) => one + (i === k ? D.uCorner / D.unit : 0));
    const [u, v] = new Mapping(values, sizeOf(sheet)).pixels(x, y);
    return (a * (v - q) - c * (u - p)) / (a * d - b * c);
  });
}
const shifts = (sheet, y) => sheet.byHand ? cornerShift(sheet, y) : sheet.shared.map((one) => curve(one, y));
const uHand = (sheet) => Math.hypot(accuracy(), 1 / map(sheet).scale / Math.sqrt(12));
const usualAccuracy = () => round2(Math.hypot(D.accuracy, Math.max(0, ...S.sheets.map((one) => one.blur / map(one).scale))));
const accuracy = () => { const given = parseFloat($("accuracy").value); return given >= 0 ? given : usualAccuracy(); };
const NOTHING = { lanes: [], origin: null, front: null };
const before = (sheet) => D.sheets.find((one) => one.label === sheet.label && one.byHand === sheet.byHand) || NOTHING;
const laneBefore = (sheet, lane) => before(sheet).lanes.find((one) => one.label === lane.label && !lane.added);
const spotBefore = (sheet, lane, spot) => laneBefore(sheet, lane)?.spots.find((one) => one.was === spot.was && spot.was);
const isMoved = (was, spot) => !was || ["trailing", "centre", "leading"].some((one) => !same(was[one], spot[one]));

function ratio(sheet, lane, spot) {
  if (lane.origin === null || lane.front === null || spot.state === "unread") return null;
  const run = lane.front - lane.origin, rf = (spot.centre - lane.origin) / run;
  if (!(run > 0)) return null;
  const old = laneBefore(sheet, lane), was = spotBefore(sheet, lane, spot), moved = isMoved(was, spot), hand = uHand(sheet);
  const sigma = moved ? (spot.leading - spot.trailing) / 2 / D.tenth : was.sigma;
  const away = Math.max(0, spot.centre - lane.origin) + sigma, left = lane.front - spot.trailing;
  if (spot.state === "at origin") return { low: 0, high: Math.min(1, Math.max(D.censored, away) / run) };
  if (spot.state === "with front") return { low: Math.max(0, 1 - Math.max(D.censored, left) / run), high: 1 };
  const share = (y) => clamp((y - lane.origin) / run, 0, 1);
  if (spot.state === "streak") return { rf, low: share(spot.trailing), high: share(spot.leading) };
  const line = (name, i) => old && same(old[name], lane[name]) ? old[`u_${name}`] : Math.hypot(hand, D.definitions[i]);
  const vo = line("origin", 0) ** 2, vf = line("front", 1) ** 2, vs = (moved ? hand : was.u) ** 2;
  const [at, o, f] = [spot.centre, lane.origin, lane.front].map((y) => shifts(sheet, y));
  const far = at.map((one, i) => one - o[i]), along = f.map((one, i) => one - o[i]);
  const sum = (g) => far.reduce((total, one, i) => total + g(one, along[i]), 0);
  const vn = vs + vo + sum((a) => a * a), vd = vo + vf + sum((_, b) => b * b), c = vo + sum((a, b) => a * b);
  const u = Math.sqrt(Math.max(0, vn - 2 * rf * c + rf * rf * vd)) / run;
  const part = 1.959964 ** 2 / run ** 2, scale = 1 / (1 - part * vd), middle = (rf - part * c) * scale;
  const half = 1.959964 * Math.sqrt(Math.max(0, u * u - part / run ** 2 * (vn * vd - c * c))) * scale;
  return { rf, u, low: clamp(middle - half, 0, 1), high: clamp(middle + half, 0, 1) };
}

function follow(spot, lane, byHand) { // the state that follows from the place
  if (spot.state === "unread" && !byHand) return spot.state;
  if (spot.centre - lane.origin < D.censored) return "at origin";
  if (lane.front !== null && lane.front - spot.centre < D.censored) return "with front";
  return spot.state === "streak" ? "streak" : "measured";
}
