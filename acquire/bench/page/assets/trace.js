// A record of force against time, and its drawing.
//
// However many readings fall on one column of the picture, the column spans from
// the least to the greatest of them: no peak is lost by drawing.

/**
 * The least and the greatest of the readings in each of `n` columns from `from`
 * to `to`. Reading i spans from `low[i]` to `high[i]`. A column without readings
 * is undefined.
 */
export function columns({ t, low, high }, from, to, n) {
  const out = new Array(n);
  if (!(to > from)) return out;
  for (let i = firstAt(t, from); i < t.length && t[i] <= to; i++) {
    const at = Math.min(n - 1, Math.floor((t[i] - from) / (to - from) * n));
    const c = out[at];
    if (!c) out[at] = { least: low[i], greatest: high[i] };
    else {
      if (low[i] < c.least) c.least = low[i];
      if (high[i] > c.greatest) c.greatest = high[i];
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

/** A record: times, and what was read at each, or the span of what was read in a bucket of time. */
export class Record {
  constructor() {
    this.era = 0; // grows when what was there is replaced
    this.t = [];
    this.low = [];
    this.high = [];
  }

  /** Puts buckets [t, least, greatest] at their place; what stood there and after it is replaced. */
  put(place, buckets) {
    if (place < this.t.length - 1) this.era++;
    this.t.length = this.low.length = this.high.length = Math.min(place, this.t.length);
    for (const [t, least, greatest] of buckets) {
      this.t.push(t);
      this.low.push(least);
      this.high.push(greatest);
    }
  }

  /** Takes single readings in place of all before. */
  set(t, force) {
    this.era++;
    this.t = t;
    this.low = this.high = force;
  }
}

/** A picture of a record on a canvas. */
export class Picture {
  constructor(canvas) {
    this.canvas = canvas;
    this.record = new Record();
    this.from = 0;
    this.to = 10;
    this.bottom = 0;
    this.top = 1;
    this.rings = []; // {t, f, words}
    this.limits = []; // {f, words}
    this.mark = null; // {t, f, words}: the person's
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

  y(f) { return this.area.top + (this.top - f) / (this.top - this.bottom) * this.area.height; }

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
    let taken = Infinity; // y of the words above
    for (const line of this.limits) taken = this.limit(g, line, taken);
    this.curve(g);
    for (const ring of this.rings) this.circle(g, ring);
    if (this.mark) this.diamond(g, this.mark);
    this.drawn = { key: this.frame(), to: this.record.t.length };
  }

  /** What must be as it was for a growing record to be drawn on. */
  frame() {
    return [this.from, this.to, this.bottom, this.top, this.unit, this.ink, this.record.era, this.canvas.clientWidth, this.canvas.clientHeight, window.devicePixelRatio].join();
  }

  /** Draws what is new of a growing record, or all of it where anything else has changed. */
  grow() {
    const { t, low, high } = this.record;
    if (this.drawn?.key !== this.frame() || t.length < this.drawn.to) {
      this.draw();
      return;
    }
    const begin = Math.max(0, this.drawn.to - 2); // the last bucket may have grown
    if (begin >= t.length - 1) return;
    const g = this.canvas.getContext('2d');
    this.pen(g);
    g.beginPath();
    for (let i = begin; i < t.length; i++) {
      const x = this.x(t[i]);
      g.lineTo(x, this.y(low[i]));
      if (high[i] !== low[i]) g.lineTo(x, this.y(high[i]));
    }
    g.stroke();
    this.drawn.to = t.length;
  }

  pen(g) {
    g.strokeStyle = this.trace;
    g.lineWidth = 2;
    g.lineJoin = 'round';
  }

  grid(g) {
    const { left, top, width, height } = this.area;
    g.lineWidth = 1;
    g.strokeStyle = this.faint;
    g.fillStyle = this.mid;
    g.textBaseline = 'bottom';
    g.textAlign = 'left';
    const step = roundStep(this.top - this.bottom, Math.min(5, Math.max(2, Math.floor(height / (this.size * 3)))));
    const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    for (let i = Math.ceil(this.bottom / step - 1e-9); i * step <= this.top + step * 1e-9; i++) {
      const y = Math.round(this.y(i * step)) + 0.5;
      g.beginPath();
      g.moveTo(left, y);
      g.lineTo(left + width, y);
      g.stroke();
      if (y < top + height - this.size) g.fillText(`${(i * step).toFixed(places)} ${this.unit}`, left, y);
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

  /** A dotted line with its words, unless those of the line above stand there; the higher line comes first. */
  limit(g, line, taken) {
    if (line.f > this.top) return Infinity;
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
    if (taken !== Infinity && y - taken < this.size * 1.2) return taken;
    g.fillText(line.words, this.area.left + this.area.width, y);
    return y;
  }

  curve(g) {
    const n = Math.max(1, Math.round(this.area.width));
    this.pen(g);
    g.beginPath();
    let before = null; // the value drawn last
    const edge = (this.top - this.bottom) * 0.03;
    const dot = (x, v) => {
      const y = this.y(Math.min(Math.max(v, this.bottom - edge), this.top + edge));
      if (before === null) g.moveTo(x, y); else g.lineTo(x, y);
      before = v;
    };
    columns(this.record, this.from, this.to, n).forEach((c, i) => {
      const x = this.area.left + (i + 0.5) * this.area.width / n;
      const upward = before === null || Math.abs(c.least - before) <= Math.abs(c.greatest - before);
      dot(x, upward ? c.least : c.greatest);
      if (c.greatest !== c.least) dot(x, upward ? c.greatest : c.least);
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
    this.label(g, ring.words, x, y);
  }

  diamond(g, mark) {
    if (mark.t < this.from || mark.t > this.to) return;
    const x = this.x(mark.t), y = this.y(mark.f);
    g.lineWidth = 3;
    g.strokeStyle = this.ink;
    g.beginPath();
    for (const [dx, dy] of [[0, -10], [10, 0], [0, 10], [-10, 0]]) g.lineTo(x + dx, y + dy);
    g.closePath();
    g.stroke();
    this.label(g, mark.words, x, y + this.size * 1.6);
  }

  /** Words beside a point, with the paper's colour around them. */
  label(g, words, x, y) {
    const width = g.measureText(words).width;
    const right = x + 14 + width <= this.area.left + this.area.width;
    const at = right ? x + 14 : x - 14;
    g.textAlign = right ? 'left' : 'right';
    g.textBaseline = 'middle';
    g.lineWidth = 4;
    g.strokeStyle = this.paper;
    g.strokeText(words, at, y);
    g.fillStyle = this.ink;
    g.fillText(words, at, y);
  }
}
