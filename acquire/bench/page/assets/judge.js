// The record of a pull with its slip point, and the person's mark on it.

import { by, items, show, text } from './dom.js';
import { Picture, nearest, roundStep } from './trace.js';
import { digits, force, mark as markWords } from './words.js';

const closeBefore = 0.4, closeAfter = 0.4; // s around the mark

export class Judge {
  /** `send` sends a mark; `record` fetches readings; `may` tells whether this page may move it, `unsent` whether a move is still on its way. */
  constructor({ send, record, may, unsent }) {
    this.send = send;
    this.unsent = unsent;
    this.record = record;
    this.may = may;
    this.whole = new Picture(by('whole'));
    this.close = new Picture(by('close'));
    this.slider = by('mark');
    this.state = null;
    this.mine = null; // {t, force}: where the person moved the mark, before the program has said so
    this.key = '';
    for (const [canvas, picture] of [[by('whole'), this.whole], [by('close'), this.close]]) this.drag(canvas, picture);
    this.drag(this.slider, this.whole);
    this.slider.addEventListener('keydown', (e) => this.press(e));
    by('mark-back').addEventListener('click', () => this.step(-1));
    by('mark-forth').addEventListener('click', () => this.step(1));
    by('mark-home').addEventListener('click', () => this.home());
    new ResizeObserver(() => this.draw()).observe(by('judge'));
  }

  /** Takes a state of the judging phase; the record is fetched once for each. */
  show(s) {
    const key = `${s.next?.order}/${s.proposal.samples}/${s.proposal.span}`;
    this.state = s;
    if (this.key !== key) {
      this.key = key;
      this.mine = null;
      this.whole.record.set([], []);
      this.close.record.set([], []);
      this.closeAt = null;
      this.load(key);
    } else if (!this.moving && !this.unsent()) this.mine = null;
    this.write();
    this.draw();
  }

  hide() {
    this.state = null;
    this.key = '';
  }

  async load(key) {
    let r = await this.record();
    while (!r && this.key === key) {
      await new Promise((done) => { setTimeout(done, 500); });
      r = await this.record();
    }
    if (this.key !== key) return;
    this.whole.record.set(r.t, r.force);
    this.write();
    this.draw();
  }

  /** Where the mark stands: the person's, the tool's, or the peak. */
  at() {
    const p = this.state.proposal;
    if (this.mine) return this.mine;
    if (p.person) return p.person;
    if (p.tool) return p.tool;
    const { t, high } = this.whole.record;
    let top = 0;
    for (let i = 1; i < high.length; i++) if (high[i] > high[top]) top = i;
    return { t: t[top] ?? p.span[0], force: p.peak };
  }

  /** Whether a person has moved the mark. */
  moved() { return this.mine !== null || this.state?.proposal.person !== null; }

  write() {
    const s = this.state, p = s.proposal, m = this.at();
    text(by('mark-words'), markWords(s, this.moved() ? m : null));
    items(by('doubts'), p.doubts);
    items(by('why'), p.why);
    show(by('mark-home'), this.moved());
    show(this.slider, this.whole.record.t.length > 0);
    this.slider.setAttribute('aria-valuemin', p.span[0]);
    this.slider.setAttribute('aria-valuemax', p.span[1]);
    this.slider.setAttribute('aria-valuenow', m.t);
    this.slider.setAttribute('aria-valuetext', `${force(s, m.force)} at ${m.t.toFixed(3)} seconds, ${this.moved() ? 'moved by you' : p.tool ? 'found by the tool' : 'at the peak'}`);
    this.slider.setAttribute('aria-readonly', String(!this.may()));
    show(by('nudges'), this.may());
    const seen = p.tool ? `the tool’s slip point ${force(s, p.tool.force)} at ${digits(p.tool.t, 3)} seconds` : 'no slip point found';
    by('whole').setAttribute('aria-label', `The whole pull: force over ${digits(p.span[1], 2)} seconds, peak ${force(s, p.peak)}, ${seen}.`);
    by('close').setAttribute('aria-label', `Close up around the mark at ${m.t.toFixed(3)} seconds.`);
    text(by('close-words'), `Close up: ${closeBefore + closeAfter} s`);
  }

  draw() {
    if (!this.state) return;
    const s = this.state, p = s.proposal, m = this.at();
    const top = Math.max(p.peak, m.force, 1e-9) * 1.12;
    for (const picture of [this.whole, this.close]) {
      picture.unit = s.unit;
      picture.top = top;
      picture.rings = [];
      picture.mark = null;
      if (p.tool) picture.rings.push({ t: p.tool.t, f: p.tool.force, words: picture === this.whole ? `${force(s, p.tool.force)}` : 'tool' });
      if (this.moved()) picture.mark = { t: m.t, f: m.force, words: 'you' };
    }
    [this.whole.from, this.whole.to] = p.span;
    this.whole.draw();
    this.slider.style.left = `${this.whole.x(m.t)}px`;
    this.close.from = m.t - closeBefore;
    this.close.to = m.t + closeAfter;
    this.closeScale(m);
    this.close.draw();
    this.fetchClose(m.t);
  }

  /** The close-up's scale: the readings that are in it. */
  closeScale(m) {
    const { t, low, high } = this.close.record;
    let least = m.force, greatest = m.force;
    for (let i = 0; i < t.length; i++) {
      if (t[i] < this.close.from || t[i] > this.close.to) continue;
      least = Math.min(least, low[i]);
      greatest = Math.max(greatest, high[i]);
    }
    const step = roundStep(Math.max(greatest - least, greatest * 0.05, 1e-9), 4);
    this.close.bottom = Math.max(0, Math.floor(least / step - 0.5) * step);
    this.close.top = (Math.floor(greatest / step) + 1) * step;
  }

  /** Fetches the readings around the mark, every one of them. */
  async fetchClose(t) {
    if (this.closeAt !== null && Math.abs(t - this.closeAt) < closeBefore) return;
    this.closeAt = t;
    const key = this.key;
    const r = await this.record(t - 2 * closeBefore, t + 2 * closeAfter);
    if (this.key !== key) return;
    if (!r) {
      this.closeAt = null;
      return;
    }
    this.close.record.set(r.t, r.force);
    this.draw();
  }

  /** Moves the mark to the reading nearest to a time, and tells the program. */
  move(t) {
    if (!this.may() || !this.state) return;
    const near = this.close.record.t.length && t >= this.close.record.t[0] && t <= this.close.record.t.at(-1);
    const r = near ? this.close.record : this.whole.record;
    if (!r.t.length) return;
    this.put(r, nearest(r.t, t));
  }

  put(r, i) {
    this.mine = { t: r.t[i], force: r.high[i] };
    this.send({ do: 'mark', t: r.t[i] });
    this.write();
    this.draw();
  }

  /** Moves by so many readings. */
  step(by) {
    if (!this.may() || !this.state) return;
    const r = this.close.record;
    if (!r.t.length) return;
    this.put(r, Math.min(r.t.length - 1, Math.max(0, nearest(r.t, this.at().t) + by)));
  }

  home() {
    if (!this.may() || !this.state) return;
    this.mine = null;
    this.state.proposal.person = null;
    this.send({ do: 'mark', reset: true });
    this.write();
    this.draw();
  }

  /** Keys that move the mark; true if this was one. */
  press(e) {
    const by = { ArrowLeft: -1, ArrowRight: 1, ArrowDown: -1, ArrowUp: 1, PageDown: -25, PageUp: 25 }[e.key];
    if (by) this.step(e.shiftKey ? by * 10 : by);
    else if (e.key === '0' || e.key === 'Home') this.home();
    else return false;
    e.preventDefault();
    e.stopPropagation();
    return true;
  }

  drag(element, picture) {
    const to = (e) => this.move(picture.time(e.clientX - picture.canvas.getBoundingClientRect().left));
    element.addEventListener('pointerdown', (e) => {
      if (e.button !== 0 || !this.may()) return;
      this.moving = true;
      element.setPointerCapture(e.pointerId);
      if (element !== this.slider) to(e);
    });
    element.addEventListener('pointermove', (e) => { if (this.moving && element.hasPointerCapture(e.pointerId)) to(e); });
    for (const end of ['pointerup', 'pointercancel']) element.addEventListener(end, () => { this.moving = false; });
  }

  /** Takes the colours anew. */
  look() {
    for (const picture of [this.whole, this.close]) picture.colours();
    this.draw();
  }
}
