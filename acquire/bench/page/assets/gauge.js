// Two rules as on a steel scale: one for the plan, a division for each pull, and
// one for the load, up to what the cell is rated for.

import { by, draw } from './dom.js';

/** Draws the plan's rule: divisions done are filled, a pointer stands at the one at hand. */
export function plan(s) {
  const svg = by('rule');
  const { done, planned } = s.progress;
  const width = svg.clientWidth || 1000;
  const key = `${done}/${planned}/${width}`;
  if (svg.dataset.drawn === key) return;
  svg.dataset.drawn = key;
  svg.setAttribute('viewBox', `0 0 ${width} 24`);
  svg.setAttribute('aria-label', planned ? `${done} of ${planned} pulls done` : 'No plan yet');
  const parts = [];
  if (planned) {
    const w = (width - 2) / planned;
    const x = (i) => 1 + i * w;
    if (done > 0) parts.push(draw('rect', { x: x(0), y: 13, width: done * w, height: 10, class: 'fill' }));
    const every = [1, 5, 10, 50, 100].find((n) => planned / n <= 60) ?? planned;
    for (let i = 0; i <= planned; i += every) {
      parts.push(draw('line', { x1: x(i), y1: i % (every * 5) === 0 ? 5 : 13, x2: x(i), y2: 23, class: 'tick' }));
    }
    if (done < planned) {
      const at = x(done + 0.5);
      parts.push(draw('path', { d: `M${at - 8} 1h16l-8 15z`, class: 'pointer' }));
    }
  }
  parts.push(draw('line', { x1: 0, y1: 23, x2: width, y2: 23, class: 'edge' }));
  svg.replaceChildren(...parts);
}

const past = 1.1; // of the rated load is where the load's rule ends

/** The rule of the load. */
export class Gauge {
  constructor(svg) {
    this.svg = svg;
    this.capacity = undefined;
  }

  /** Draws what stands still. */
  scale(capacity) {
    if (this.capacity === capacity) return;
    this.capacity = capacity;
    this.svg.parentElement.hidden = capacity === null;
    if (capacity === null) return;
    this.fill = draw('rect', { x: 0, y: 6, width: 0, height: 13, class: 'fill' });
    this.peak = draw('line', { x1: 0, y1: 0, x2: 0, y2: 19, class: 'peak' });
    const parts = [draw('rect', { x: 800 / past, y: 6, width: 200 / past, height: 13, class: 'high' }),
      draw('rect', { x: 1000 / past, y: 6, width: 1000 - 1000 / past, height: 13, class: 'over' }), this.fill];
    for (let i = 0; i <= 11; i++) {
      const x = i * 100 / past;
      parts.push(draw('line', { x1: x, y1: i === 10 || i === 8 ? 0 : i === 5 ? 4 : 10, x2: x, y2: 19, class: i === 10 ? 'rated' : 'tick' }));
    }
    parts.push(draw('line', { x1: 0, y1: 19, x2: 1000, y2: 19, class: 'edge' }), this.peak);
    this.svg.replaceChildren(...parts);
  }

  /** Moves with the force. */
  show(force, peak) {
    if (!this.capacity) return;
    const x = (v) => Math.min(1000, Math.max(0, Math.abs(v ?? 0) / this.capacity / past * 1000)).toFixed(1);
    this.fill.setAttribute('width', x(force));
    this.peak.setAttribute('x1', x(peak));
    this.peak.setAttribute('x2', x(peak));
  }
}
