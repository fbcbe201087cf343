// A record of force against time, and its drawing.
//
// However many readings fall on one column of the picture, the column spans from
// the least to the greatest of them: no peak is lost by drawing.

/**
 * What each of `n` columns from `from` to `to` shows of the readings: first,
 * least, greatest and last. A column without readings is undefined.
 */
export function columns(t, f, from, to, n) {
  const out = new Array(n);
  if (!(to > from)) return out;
  for (let i = firstAt(t, from); i < t.length && t[i] <= to; i++) {
    const at = Math.min(n - 1, Math.floor((t[i] - from) / (to - from) * n));
    const v = f[i];
    const c = out[at];
    if (!c) out[at] = { first: v, least: v, greatest: v, last: v };
    else {
      if (v < c.least) c.least = v;
      if (v > c.greatest) c.greatest = v;
      c.last = v;
    }
  }
  return out;
}

/** The index of the first time that is not before `at`. */
export function firstAt(t, at) {
  let low = 0, high = t.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if (t[mid] < at) low = mid + 1; else high = mid;
  }
  return low;
}

/** The index of the reading nearest to a time. */
export function nearest(t, at) {
  const i = firstAt(t, at);
  if (i === 0) return 0;
  if (i === t.length || at - t[i - 1] <= t[i] - at) return i - 1;
  return i;
}

/** A round step of which about `n` fit into a range. */
export function roundStep(range, n) {
  const rough = range / n;
  const ten = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((m) => m * ten).find((s) => s >= rough * 0.999);
}

const mostKept = 60000; // readings of a live record; then every pair is thinned

/** A record that grows. */
export class Record {
  constructor() { this.clear(); }

  clear() {
    this.t = [];
    this.f = [];
    this.top = 0;
  }

  /** Takes readings; those that are not later than the last are known already. */
  add(t, f) {
    for (let i = 0; i < t.length; i++) {
      if (this.t.length && t[i] <= this.t[this.t.length - 1]) continue;
      this.t.push(t[i]);
      this.f.push(f[i]);
      if (f[i] > this.top) this.top = f[i];
    }
    if (this.t.length > mostKept) this.thin();
  }

  set(t, f) {
    this.clear();
    this.add(t, f);
  }

  /** Halves the readings; of each four the least and the greatest stay. */
  thin() {
    const t = [], f = [];
    for (let i = 0; i < this.t.length; i += 4) {
      const end = Math.min(i + 4, this.t.length);
      let least = i, greatest = i;
      for (let j = i + 1; j < end; j++) {
        if (this.f[j] < this.f[least]) least = j;
        if (this.f[j] > this.f[greatest]) greatest = j;
      }
      for (const j of new Set([Math.min(least, greatest), Math.max(least, greatest)])) {
        t.push(this.t[j]);
        f.push(this.f[j]);
      }
    }
    this.t = t;
    this.f = f;
  }
}

/** A picture of a record on a canvas. */
export class Picture {
  /** `scale` turns newtons into the study's unit. */
  constructor(canvas) {
    this.canvas = canvas;
    this.record = new Record();
    this.from = 0;
    this.to = 10;
    this.top = 1;
    this.scale = 1;
    this.rings = []; // {t, f, words}
    this.lines = []; // {f, words}
    this.unit = 'N';
    this.area = { left: 0, top: 0, width: 1, height: 1 };
  }

  /** Takes the colours of the page as it looks now. */
  colours() {
    const style = getComputedStyle(this.canvas);
    const get = (name) => style.getPropertyValue(name).trim();
    this.ink = get('--fig-ink');
    this.mid = get('--fig-mid');
    this.faint = get('--fig-faint');
    this.trace = get('--trace');
    this.ring = get('--ring');
    this.paper = get('--fig-paper');
    this.font = `${style.fontSize} ${style.fontFamily}`;
    this.size = parseFloat(style.fontSize);
  }

  x(t) { return this.area.left + (t - this.from) / (this.to - this.from) * this.area.width; }

  y(f) { return this.area.top + (1 - f / this.top) * this.area.height; }

  time(x) { return this.from + (x - this.area.left) / this.area.width * (this.to - this.from); }

  draw() {
    if (!this.ink) this.colours();
    const ratio = Math.min(2, window.devicePixelRatio || 1);
    const width = this.canvas.clientWidth, height = this.canvas.clientHeight;
    if (!width || !height) return;
    if (this.canvas.width !== Math.round(width * ratio) || this.canvas.height !== Math.round(height * ratio)) {
      this.canvas.width = Math.round(width * ratio);
      this.canvas.height = Math.round(height * ratio);
    }
    const g = this.canvas.getContext('2d');
    g.setTransform(ratio, 0, 0, ratio, 0, 0);
    g.clearRect(0, 0, width, height);
    g.font = this.font;
    this.area = { left: 4, top: this.size * 1.4, width: width - 8, height: height - this.size * 3 };
    this.grid(g);
    for (const line of this.lines) this.limit(g, line);
    this.curve(g, ratio);
    for (const ring of this.rings) this.circle(g, ring);
  }

  grid(g) {
    const { left, top, width, height } = this.area;
    g.lineWidth = 1;
    g.strokeStyle = this.faint;
    g.fillStyle = this.mid;
    g.textBaseline = 'bottom';
    g.textAlign = 'left';
    const shown = this.top * this.scale;
    const step = roundStep(shown, Math.max(2, Math.floor(height / (this.size * 3))));
    const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    for (let i = 0; i * step <= shown * 1.0001; i++) {
      const y = Math.round(top + (1 - i * step / shown) * height) + 0.5;
      g.beginPath();
      g.moveTo(left, y);
      g.lineTo(left + width, y);
      g.stroke();
      if (i > 0) g.fillText(`${(i * step).toFixed(places)} ${this.unit}`, left, y);
    }
    g.textBaseline = 'top';
    g.textAlign = 'center';
    const range = this.to - this.from;
    const stepT = roundStep(range, Math.max(2, Math.floor(width / (this.size * 5))));
    const placesT = Math.max(0, -Math.floor(Math.log10(stepT) + 1e-9));
    for (let i = Math.ceil(this.from / stepT); i * stepT <= this.to; i++) {
      const x = this.x(i * stepT);
      g.beginPath();
      g.moveTo(x, top + height);
      g.lineTo(x, top + height + 5);
      g.stroke();
      const label = `${(i * stepT).toFixed(placesT)} s`;
      const half = g.measureText(label).width / 2;
      if (x - half >= left && x + half <= left + width) g.fillText(label, x, top + height + 6);
    }
  }

  limit(g, line) {
    if (line.f > this.top) return;
    const y = this.y(line.f);
    g.strokeStyle = this.ink;
    g.setLineDash([2, 5]);
    g.beginPath();
    g.moveTo(this.area.left, y);
    g.lineTo(this.area.left + this.area.width, y);
    g.stroke();
    g.setLineDash([]);
    g.fillStyle = this.ink;
    g.textAlign = 'right';
    g.textBaseline = 'bottom';
    g.fillText(line.words, this.area.left + this.area.width, y);
  }

  curve(g, ratio) {
    const { t, f } = this.record;
    const n = Math.max(1, Math.round(this.area.width * Math.min(ratio, 1)));
    const cols = columns(t, f, this.from, this.to, n);
    g.strokeStyle = this.trace;
    g.lineWidth = 2;
    g.lineJoin = 'round';
    g.beginPath();
    let begun = false;
    const dot = (x, v) => {
      const y = this.y(Math.min(Math.max(v, -0.05 * this.top), this.top * 1.05));
      if (begun) g.lineTo(x, y); else g.moveTo(x, y);
      begun = true;
    };
    cols.forEach((c, i) => {
      const x = this.area.left + (i + 0.5) * this.area.width / n;
      dot(x, c.first);
      if (c.greatest !== c.least) {
        dot(x, c.least);
        dot(x, c.greatest);
        dot(x, c.last);
      }
    });
    g.stroke();
  }

  circle(g, ring) {
    if (ring.t < this.from || ring.t > this.to) return;
    const x = this.x(ring.t), y = this.y(ring.f);
    g.lineWidth = 3;
    g.strokeStyle = this.ring;
    g.beginPath();
    g.arc(x, y, 8, 0, 2 * Math.PI);
    g.stroke();
    if (!ring.words) return;
    const width = g.measureText(ring.words).width;
    const right = x + 14 + width <= this.area.left + this.area.width;
    g.textAlign = right ? 'left' : 'right';
    g.textBaseline = 'middle';
    const at = right ? x + 14 : x - 14;
    g.lineWidth = 4;
    g.strokeStyle = this.paper;
    g.strokeText(ring.words, at, y);
    g.fillStyle = this.ink;
    g.fillText(ring.words, at, y);
  }
}
