// Each phase's screen, filled from the state. Nothing here asks the program for
// anything; what a person does goes through `act`.

import { by, items, make, show, text } from './dom.js';
import { plan } from './gauge.js';
import { cell, counts, force, heading, left, lostLine, mount, place, steps } from './words.js';
import { sign } from './actions.js';

const where = { // phases in which each section is shown
  tag: ['mounting', 'settling', 'ready', 'pulling', 'judging', 'typing'],
  checks: ['checks'],
  mount: ['mounting'],
  force: ['settling', 'ready', 'weighing', 'pulling'],
  weighing: ['weighing'],
  judge: ['judging'],
  typed: ['typing'],
  over: ['over', 'done'],
  saved: ['mounting', 'typing', 'done', 'over'],
  news: ['checks', 'mounting', 'settling', 'ready', 'weighing', 'judging', 'typing', 'done', 'over'],
};

/** Shows the state. `app` has role, page and over. */
export function screen(s, app) {
  document.body.dataset.phase = s.phase;
  document.body.dataset.mode = s.mode;
  document.body.dataset.step = s.step;
  for (const [id, phases] of Object.entries(where)) show(by(id), phases.includes(s.phase));
  text(by('study'), (s.practice ? 'Practice, nothing is kept – ' : '') + s.study);
  text(by('pull'), place(s));
  text(by('left'), left(s));
  show(by('watching'), app.page === 'live' || app.role === 'watcher');
  document.title = `${place(s)} – ${s.study} – grip trial`;
  plan(s);
  title(s, app.live);
  if (s.next) tag(s.next, s.phase);
  else show(by('tag'), false);
  if (s.phase === 'checks') checks(s, app);
  if (s.phase === 'mounting') items(by('mount-steps'), steps(s));
  if (s.phase === 'typing') text(by('typed-unit'), s.unit);
  if (s.phase === 'over' || s.phase === 'done') over(s, app);
  saved(s.last);
  news(s.notices);
}

/** The headline; a slip in mid-pull changes it too. */
export function title(s, live) { text(by('heading'), heading(s, live)); }

/** What is mounted: in full while it is to be mounted, else in a line. */
function tag(n, phase) {
  by('tag').dataset.full = String(phase === 'mounting' || phase === 'typing');
  text(by('tag-facing'), n.facing);
  by('tag-facing').style.setProperty('--letters', String(Math.max(8, n.facing.length)));
  const facts = mount(n);
  const key = JSON.stringify(facts);
  if (by('tag-facts').dataset.key === key) return;
  by('tag-facts').dataset.key = key;
  by('tag-facts').replaceChildren(...facts.map((f) => make('div', { className: `${f.changed ? 'changed' : ''} ${f.minor ? 'minor' : ''}` },
    make('dt', {}, f.name, f.changed ? make('span', { className: 'change' }, ' change') : ''), make('dd', {}, f.value))));
}

function checks(s, app) {
  items(by('first-cautions'), s.cautions);
  const list = by('check-list');
  if (list.children.length !== s.checks.length) {
    list.replaceChildren(...s.checks.map((c, n) => {
      const box = make('input', { type: 'checkbox', id: `check-${n}` });
      box.addEventListener('change', () => app.act({ does: 'tick', n, on: box.checked }));
      return make('li', {}, make('label', { className: 'tick' }, box, make('span', {}, c.text), n < 9 ? make('kbd', { 'aria-hidden': 'true' }, String(n + 1)) : ''));
    }));
  }
  s.checks.forEach((c, n) => {
    const box = by(`check-${n}`);
    if (!app.ticking(n)) box.checked = c.done;
    box.disabled = app.role !== 'writer';
  });
}

function over(s, app) {
  const o = s.over;
  text(by('over-why'), o || app.ended ? [o?.error, o?.text ?? app.ended].filter(Boolean).join(' ') : 'Nothing is left to pull. If the last one was wrong, undo it; else end the session.');
  text(by('over-counts'), counts(s));
  text(by('over-next'), s.phase === 'over' && s.progress.done < s.progress.planned ? 'Start the program again to go on with the next pull; this page finds it by itself.' : '');
}

const signs = { slipped: 'ring', held: 'arrow', void: 'cross' };

function saved(last) {
  const line = by('saved-words');
  show(by('saved'), !by('saved').hidden && last !== null);
  if (!last || line.dataset.key === last.text) return;
  line.dataset.key = last.text;
  line.replaceChildren(...(signs[last.outcome] ? [sign(signs[last.outcome])] : []), last.text);
}

const newsShown = 4;

function news(notices) {
  const latest = notices.slice(-newsShown).reverse();
  const key = latest.map((n) => n.id).join();
  show(by('news'), !by('news').hidden && latest.length > 0);
  if (by('notices').dataset.key === key) return;
  by('notices').dataset.key = key;
  by('notices').replaceChildren(...latest.map((n) => make('li', { className: n.grave ? 'grave' : '' },
    make('time', { dateTime: n.at }, new Date(n.at).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' })), ` ${n.text}`)));
}

/** Grave notices stand until something newer has happened. */
function latestGrave(s, app) {
  const calm = s.notices.findLastIndex((n) => !n.grave);
  return s.notices.slice(calm + 1).filter((n) => app.graveAt.get(n.id) === s.step);
}

/** The alarms that stand now, the worst first; mild ones look milder. */
export function alarms(s, app, seconds) {
  const list = [];
  const add = (words, mild = false) => list.push({ words, mild });
  if (app.line === false && !app.ended) add(lostLine(app.lineWords, seconds));
  if (app.replaced) add('This page was opened a second time, and the newer one goes on. Close this one.');
  if (s && app.line !== false) {
    const c = s.mode === 'cell' ? cell(s) : '';
    if (c && s.phase !== 'over') add(c, s.cell.state === 'waiting');
    if (app.overload) add(app.overload, app.live?.load === 'high');
    for (const n of latestGrave(s, app)) if (n.text !== c && !(app.overload && n.text.includes('rated load'))) add(n.text);
  }
  if (app.said) add(app.said, true);
  const bar = by('alarms');
  const key = JSON.stringify(list);
  if (bar.dataset.key === key) return;
  bar.dataset.key = key;
  show(bar, list.length > 0);
  bar.replaceChildren(...list.map((a) => make('p', { className: a.mild ? 'alarm mild' : 'alarm' }, a.words)));
}

/** The force, its peak and the time of the pull. */
export function numbers(s, live) {
  const places = s.places;
  text(by('digits'), live?.force === null || live?.force === undefined ? '–' : live.force.toFixed(places));
  text(by('unit'), s.unit);
  const pulling = s.phase === 'pulling';
  text(by('beside'), pulling && live?.peak !== null && live?.peak !== undefined ? `Peak ${live.peak.toFixed(places)} ${s.unit}${live.elapsed === null ? '' : ` · ${live.elapsed.toFixed(1)} s`}` : '');
}

/** How many letters the number may take, so that it fills the width and does not jump. */
export function numberWidth(s) {
  const whole = Math.floor(Math.abs(s.capacity ?? 999)).toString().length;
  by('number').style.setProperty('--letters', String(whole + (s.places > 0 ? s.places + 0.5 : 0) + 0.3));
}

/** The force in words, for whoever asks by key. */
export function spoken(s, live) {
  if (!live || live.force === null) return 'No force yet';
  return `${force(s, live.force)}${live.peak === null ? '' : `, peak ${force(s, live.peak)}`}`;
}
