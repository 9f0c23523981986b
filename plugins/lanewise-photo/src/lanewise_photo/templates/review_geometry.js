"use strict";
// Geometry: from millimetres on the sheet to pixels of the picture, and back

const D = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);
const round2 = (x) => Math.round(x * 100) / 100;
const clamp = (x, low, high) => Math.min(Math.max(x, low), high);
const same = (a, b) => a === b || (a !== null && b !== null && Math.abs(a - b) < 1e-9);

function homography(from, to) {
  const rows = [];
  from.forEach(([x, y], i) => {
    const [u, v] = to[i];
    rows.push([x, y, 1, 0, 0, 0, -u * x, -u * y, u], [0, 0, 0, x, y, 1, -v * x, -v * y, v]);
  });
  for (let c = 0; c < 8; c++) {
    let best = c;
    for (let r = c + 1; r < 8; r++) if (Math.abs(rows[r][c]) > Math.abs(rows[best][c])) best = r;
    [rows[c], rows[best]] = [rows[best], rows[c]];
    for (let r = 0; r < 8; r++) {
      if (r === c) continue;
      const share = rows[r][c] / rows[c][c];
      for (let k = c; k < 9; k++) rows[r][k] -= share * rows[c][k];
    }
  }
  return [...rows.map((row, i) => row[8] / row[i]), 1];
}

function mapped(m, x, y) {
  const w = m[6] * x + m[7] * y + m[8];
  return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
}

class Mapping {
  constructor(values, size) {
    [this.values, this.width, this.height] = [values, ...size];
    const [w, h] = size;
    const rim = [[0, 0], [w, 0], [w, h], [0, h]];
    const corners = [0, 2, 4, 6].map((i) => [values[i], values[i + 1]]);
    this.m = homography(rim, corners);
    this.back = homography(corners, rim);
    const [ha, hb, , , he, hf] = values.slice(10);
    const [lower, upper, left, right] = [ha - he, ha + he, hb - hf, hb + hf].map((bow) => Math.max(0, -bow));
    this.twist = Math.min(upper, right) - Math.min(upper, left) + Math.min(lower, left) - Math.min(lower, right);
    const f = Math.exp(values[9]);
    const a = [this.m[0] / f, this.m[3] / f, this.m[6]], b = [this.m[1] / f, this.m[4] / f, this.m[7]];
    const long = Math.sqrt(Math.hypot(...a) * Math.hypot(...b));
    this.lift = [(a[1] * b[2] - a[2] * b[1]) / long * f, (a[2] * b[0] - a[0] * b[2]) / long * f, (a[0] * b[1] - a[1] * b[0]) / long];
  }
  pixels(x, y) {
    const m = this.m, [ha, hb, hc, hd, he, hf] = this.values.slice(10);
    const u = 2 * x / this.width - 1, v = 2 * y / this.height - 1;
    const h = (ha + hc * u + he * v) * (1 - u * u) + (hb + hd * v + hf * u) * (1 - v * v) + this.twist * u * v;
    const w = m[6] * x + m[7] * y + m[8] + h * this.lift[2];
    const p = (m[0] * x + m[1] * y + m[2] + h * this.lift[0]) / w, q = (m[3] * x + m[4] * y + m[5] + h * this.lift[1]) / w;
    const bent = (1 + this.values[8] * (p * p + q * q)) * D.unit;
    return [p * bent + D.centre[0], q * bent + D.centre[1]];
  }
  slopes(x, y) {
    const e = 0.01, [a, b] = this.pixels(x + e, y), [c, d] = this.pixels(x - e, y);
    const [i, j] = this.pixels(x, y + e), [k, l] = this.pixels(x, y - e);
    return [(a - c) / 2 / e, (i - k) / 2 / e, (b - d) / 2 / e, (j - l) / 2 / e];
  }
  sheet(px, py) {
    let [x, y] = mapped(this.back, (px - D.centre[0]) / D.unit, (py - D.centre[1]) / D.unit);
    for (let round = 0; round < 6; round++) {
      const [p, q] = this.pixels(x, y), [a, b, c, d] = this.slopes(x, y), det = a * d - b * c;
      x += (d * (px - p) - b * (py - q)) / det;
      y += (a * (py - q) - c * (px - p)) / det;
    }
    return [x, y];
  }
  get scale() {
    const [a, b, c, d] = this.slopes(this.width / 2, this.height / 2);
    return Math.sqrt(Math.abs(a * d - b * c));
  }
}

const maps = new Map();
const sizeOf = (sheet) => sheet.size.map((one) => one > 0 ? one : 100);
const sized = (sheet) => !sheet.assumed && sheet.size.every((one) => one > 0);
function map(sheet) {
  const key = JSON.stringify([sheet.values, sheet.size]);
  if (!maps.has(key)) {
    if (maps.size > 60) maps.clear();
    maps.set(key, new Mapping(sheet.values, sizeOf(sheet)));
  }
  return maps.get(key);
}
const cornersOf = (sheet) => [0, 2, 4, 6].map((i) => [sheet.values[i] * D.unit + D.centre[0], sheet.values[i + 1] * D.unit + D.centre[1]]);
